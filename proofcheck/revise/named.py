"""A revise told with its lines named as people name them: of several sheets by sheet and line.

Records keep the numbers: by them a later revise knows what an earlier one found.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from proofcheck.results.line_names import LineNames, line_names

if TYPE_CHECKING:
    from proofcheck.results.report import Report
    from proofcheck.revise.shown import Correction, Finding

__all__ = ["Named"]

_SWAPPED: Final = re.compile(r"slugs (\d+) and (\d+)(?= have changed places)")
_EARLIER: Final = re.compile(r"(?<=slug )\d+(?= of the earlier proof)|(?<=that stood at )\d+")


@dataclass(frozen=True, slots=True)
class Named:
    """The names of the lines of two proofs."""

    was: LineNames
    now: LineNames

    @classmethod
    def of(cls, earlier: Report, later: Report) -> Named:
        """Of an earlier proof and its revise."""
        return cls(line_names(earlier), line_names(later))

    def correction(self, correction: Correction) -> str:
        """What was asked for."""
        return self.was.words(correction.words)

    def finding(self, finding: Finding) -> str:
        """What happened unasked."""
        if finding.fault:
            return self.now.words(finding.words)
        # What a slug reads stands between quotes behind all of this.
        head, quote, matter = finding.words.partition("“")
        head = _SWAPPED.sub(self._both, head)
        head = _EARLIER.sub(lambda number: self.was.name(int(number[0])), head)
        return head + quote + matter

    def _both(self, said: re.Match[str]) -> str:
        one, other = (self.now.name(int(number)) for number in said.groups())
        return f"slugs {one} and {other}"
