"""What came back on a paper: each thing said on it is recorded once, with the paper kept by it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from proofcheck.docket.docket_errors import DocketError

if TYPE_CHECKING:
    from proofcheck.docket.job import Job
    from proofcheck.docket.originals import Original

__all__ = ["CameBack", "TakenBeforeError", "taken_data"]


class TakenBeforeError(DocketError):
    """It is on the record already, from the same paper."""


@dataclass(frozen=True, slots=True)
class CameBack:
    """One thing said on a paper that came back."""

    said: str
    """Its digest: the same thing said by the same person has the same."""
    sheet: Original
    """The paper itself."""

    @property
    def originals(self) -> tuple[Original, ...]:
        """What is kept with the entry."""
        return (self.sheet,)


def taken_data(job: Job | None, paper: CameBack | None) -> dict[str, str]:
    """What an entry says of the paper it was taken from.

    Raises:
        TakenBeforeError: it was taken before.
    """
    if paper is None:
        return {}
    if job is not None and any(entry.data.get("taken") == paper.said for entry in job.entries):
        msg = "taken before, and on the record already"
        raise TakenBeforeError(msg)
    return {"taken": paper.said}
