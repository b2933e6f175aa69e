"""Letters of a proof that are judged together."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from proofcheck.sheet.shelf import looked_at
from proofcheck.weigh.discriminant import told_apart

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from numpy.typing import NDArray

    from proofcheck.weigh.discriminant import Discriminant

__all__ = ["Place", "Stretch"]

Place = tuple[int, int]
"""Number of a line, and which of its letters."""


class Stretch:
    """Letters that are judged together: a sheet, or as many as hold enough."""

    def __init__(self) -> None:
        self.labels: list[str] = []
        """What the copy has at each; "" where that can't be known."""
        self._lines: dict[int, tuple[int, list[int], NDArray[np.float16]]] = {}
        """By line: the number of its first letter, which of its letters are held, and what was
        made of all of them; as it lies on disk, where it does."""

    def take_in(self, line: int, seen: NDArray[np.float16], labels: Mapping[int, str]) -> None:
        """Take in letters of a line, each with its label; `seen` is of every letter of it."""
        self._lines[line] = len(self.labels), list(labels), seen
        self.labels += labels.values()

    def number_at(self, place: Place) -> int | None:
        """Which of the letters stands at a place."""
        line, at = place
        first, held, _ = self._lines.get(line, (0, [], None))
        return first + held.index(at) if at in held else None

    def places(self) -> Iterator[Place]:
        """The places of all letters, in their order."""
        return ((line, at) for line, (_, held, _) in self._lines.items() for at in held)

    def lay_out(self) -> Discriminant | None:
        """All of them laid out."""
        if not self.labels:
            return None
        seen = [looked_at(features)[held] for _, held, features in self._lines.values()]
        return told_apart(np.concatenate(seen).astype(np.float32), self.labels)
