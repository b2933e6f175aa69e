"""A fault is made here: what was found of the text and of the type, joined."""

from proofcheck.faults.joining import merge_metal

__all__ = ["merge_metal"]
