"""Whether the slugs' new order alone cures a fault: two short slugs swapped, and put back.

Swapped slugs are not always told as such: of a short one at a paragraph's end the collation says
that a word is missing here and too much there. The metal is the same before and after, so what was
read of it on the earlier proof must read as the copy once it is taken in the new order; the later
reading is not asked.
"""

from __future__ import annotations

from functools import cached_property
from typing import TYPE_CHECKING, Final

from proofcheck.collate.same import compared
from proofcheck.revise.standing import KEPT

if TYPE_CHECKING:
    from proofcheck.base.values import Span
    from proofcheck.results.report import Report
    from proofcheck.revise.standing import Stood

__all__ = ["Reordered"]

_ROUND: Final = 16
"""Characters of the copy on either side of a fault that must read right with it."""


class Reordered:
    """What the earlier proof's metal says in the order of the revise."""

    def __init__(self, earlier: Report, later: Report, stood: Stood) -> None:
        self._earlier, self._later, self._stood = earlier, later, stood

    def cures(self, span: Span) -> bool:
        """Whether a place of the later copy reads right by the new order alone."""
        if not self._stood.moved:
            return False
        text = self._later.copy.text
        wanted = _bare(text[max(span.start - _ROUND, 0) : span.end + _ROUND])
        # The copy may say the same twice: it must stand there once more than it did.
        return bool(wanted) and self._now.count(wanted) > self._before.count(wanted)

    @cached_property
    def _now(self) -> str:
        return _bare(
            "".join(
                self._read(self._earlier, slug.earlier)
                if slug.standing in KEPT and slug.earlier is not None
                else self._read(self._later, slug.line)
                for slug in self._stood.slugs
            )
        )

    @cached_property
    def _before(self) -> str:
        """The same lines as they stood: of a part, those between its first and its last."""
        lines = [line.number for line in self._earlier.lines]
        if self._later.provenance.settings.get("part"):
            shown = [slug.earlier for slug in self._stood.slugs if slug.earlier is not None]
            lines = [n for n in lines if min(shown, default=0) <= n <= max(shown, default=0)]
        return _bare("".join(self._read(self._earlier, number) for number in lines))

    @staticmethod
    def _read(report: Report, line: int) -> str:
        reading = report.reading(line)
        return reading.text if reading is not None else ""


def _bare(text: str) -> str:
    """Letters and points as compared, without white and without the hyphens of divisions."""
    return "".join(c for c in compared(text, typed=True).text if not c.isspace() and c not in "-‐")
