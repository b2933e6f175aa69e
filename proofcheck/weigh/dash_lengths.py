"""Dashes read as the copy has them that are as long as another dash.

Of one that is as long as the page's shorter dashes it is asked however sure the reader is, of any
other only where the reader doubts it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from proofcheck.base.values import Letter, Line, Reading

__all__ = ["DashLengths"]

_LONGER = {"-": "–", "–": "—"}
_SHORTER = {"–": "-", "—": "–"}
_DOUBTED = 0.95
"""Certainty under which a dash may be another: en dashes read as hyphens had 0.54 and 0.80."""
_OFF = 1.25
"""So many times longer or shorter than the page's own is another dash: in the face where one was
overlooked the en dash is 1.4 hyphens long (16 px, the hyphens 11 and 12)."""
_NO_LONGER = 1.15
"""One that is no longer than this beside the page's next shorter dashes is one of them, however
sure the reader is: an en dash for the only em dash of a sheet was as long as its other en dash."""
_LEAST = 2
"""Fellows without which nothing is said."""


class DashLengths:
    """How long the dashes of a proof are, in x-heights of their lines."""

    def __init__(self, lines: Mapping[int, Line], readings: Sequence[Reading]) -> None:
        self._x_height_px = {number: line.x_height_px for number, line in lines.items()}
        self._held: dict[str, list[float]] = {}
        for reading in readings:
            for letter in reading.letters:
                if letter.text in "-–—" and reading.line in lines:
                    self._held.setdefault(letter.text, []).append(self._long(reading.line, letter))

    def _long(self, line: int, letter: Letter) -> float:
        return letter.box.width / max(self._x_height_px[line], 1.0)

    def other(self, line: int, letter: Letter) -> str:
        """The dash it may be instead; "" for no other, or what is no dash."""
        if line not in self._x_height_px:
            return ""
        shorter = _SHORTER.get(letter.text, "")
        those = self._held.get(shorter, ())
        if those and self._long(line, letter) <= _NO_LONGER * float(np.median(those)):
            return shorter
        others = list(self._held.get(letter.text, ()))
        if letter.certainty >= _DOUBTED or len(others) <= _LEAST:
            return ""
        own = self._long(line, letter)
        others.remove(own)
        usual = float(np.median(others))
        if own >= _OFF * usual:
            return _LONGER.get(letter.text, "")
        return _SHORTER.get(letter.text, "") if own <= usual / _OFF else ""
