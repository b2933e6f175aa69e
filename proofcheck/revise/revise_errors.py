"""What can go wrong with a revise."""

from __future__ import annotations

from proofcheck.base.errors import ProofcheckError

__all__ = ["ReviseError"]


class ReviseError(ProofcheckError):
    """The two proofs can't be laid on each other: another job, pages in another order."""
