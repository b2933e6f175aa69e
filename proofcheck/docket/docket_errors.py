"""What can go wrong with the record, each in one clear line."""

from __future__ import annotations

from proofcheck.base.errors import ProofcheckError

__all__ = ["ArchiveError", "DocketBusyError", "DocketError", "RecordBrokenError"]


class DocketError(ProofcheckError):
    """The docket can't do what was asked: no such job, nothing to decide, a folder read-only."""


class DocketBusyError(DocketError):
    """Somebody else was recording all the while; nothing was recorded. Try again."""


class RecordBrokenError(DocketError):
    """The record has been changed, or is damaged; what was found is named."""


class ArchiveError(DocketError):
    """An archive can't be taken in: damaged, tampered with, or at odds with the record here."""
