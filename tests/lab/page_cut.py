"""The letters of one page as the comparer learns from them, and the file they are kept in."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

__all__ = ["PageCut", "book_of"]


def book_of(name: str) -> str:
    """The first letters in a page's name: what it is of."""
    found = re.search(r"[a-z]+", name)
    return found.group() if found else ""


@dataclass(frozen=True, slots=True, eq=False)
class PageCut:
    """The letters of a page that are surely what they were read as."""

    ink: NDArray[np.uint8]
    """(n, TALL, WIDE)"""
    half_width: NDArray[np.float32]
    text: NDArray[np.str_]
    x_height_px: float
    """As scanned."""

    @staticmethod
    def load(path: Path) -> PageCut:
        """From a file `save` wrote."""
        with np.load(path) as held:
            return PageCut(held["ink"], held["half_width"], held["text"], float(held["x_height"]))

    def save(self, path: Path) -> None:
        """Write it; ink is mostly paper, and packs well."""
        np.savez_compressed(
            path,
            ink=self.ink,
            half_width=self.half_width,
            text=self.text,
            x_height=self.x_height_px,
        )
