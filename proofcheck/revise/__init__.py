"""The revise: a later proof laid on an earlier one, slug by slug."""

from proofcheck.revise.compare import compare_proofs
from proofcheck.revise.shown import Correction, Finding, Made, Move, Revise, Slug, Standing

__all__ = [
    "Correction",
    "Finding",
    "Made",
    "Move",
    "Revise",
    "Slug",
    "Standing",
    "compare_proofs",
]
