"""A fault is made here: what was found of the text and of the type, joined."""

from proofcheck.faults.joining import merge_metal
from proofcheck.faults.making import make_faults

__all__ = ["make_faults", "merge_metal"]
