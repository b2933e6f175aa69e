"""The marked proof: every mark in its place on the sheet, as pictures, PDF and page."""

from proofcheck.markup.layout import lay_out
from proofcheck.markup.parts import Heading, Layout
from proofcheck.markup.proof import draw_marked_proof, png_names

__all__ = ["Heading", "Layout", "draw_marked_proof", "lay_out", "png_names"]
