"""The marked proof: every mark in its place on the sheet, as pictures, PDF and page."""

from proofcheck.results.marked.layout import lay_out
from proofcheck.results.marked.marked_proof import draw_marked_proof, png_names
from proofcheck.results.marked.parts import Heading, Layout

__all__ = ["Heading", "Layout", "draw_marked_proof", "lay_out", "png_names"]
