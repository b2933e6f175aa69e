"""Rules of one measure: a bar that begins and ends where another of its sheet does is a rule."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from proofcheck.base.units import mm_to_px
from proofcheck.sheet.lifted import with_lifted
from proofcheck.sheet.ruling import rules_on

if TYPE_CHECKING:
    from collections.abc import Mapping

    from proofcheck.base.values import Box, Sheet
    from proofcheck.sheet.ruling import Rule

__all__ = ["LikeRules"]

_LIKE_MM: Final = 1.0
"""So near one another begin, and end, two rules of one measure."""


class LikeRules:
    """The level rules of a proof, looked for on a sheet when it is first asked about.

    Args:
        sheets: of the proof, by their numbers.
    """

    def __init__(self, sheets: Mapping[int, Sheet]) -> None:
        self._sheets = sheets
        self._level: dict[int, list[Rule]] = {}

    def has_like(self, number: int, bar: Box) -> bool:
        """Whether a bar is of a rule that begins and ends where another rule of its sheet does.

        Args:
            number: the sheet's.
            bar: round the ink, in pixels of the sheet.
        """
        level = self._level_on(number)
        near, middle = mm_to_px(_LIKE_MM, self._sheets[number].dpi), bar.x + bar.width / 2
        own = [rule for rule in level if bar.y <= rule.across(middle) <= bar.bottom]
        return any(
            abs(rule.start - other.start) < near and abs(rule.stop - other.stop) < near
            for rule in own
            for other in level
            if other is not rule and rule.start - near <= bar.x and bar.right <= rule.stop + near
        )

    def _level_on(self, number: int) -> list[Rule]:
        if number not in self._level:
            sheet = self._sheets[number]
            found = rules_on(with_lifted(sheet), sheet.dpi)
            self._level[number] = [rule for rule in found if not rule.upright]
        return self._level[number]
