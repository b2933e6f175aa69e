"""Ink as connected components ("pieces"): the stuff that letters, points and rules are made of.

Everything here works on whole arrays; a page of three thousand pieces is no loop.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

import cv2
import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.base.values import Grey, Sheet

__all__ = [
    "MOST_PIECES",
    "Pieces",
    "count_pieces",
    "find_pieces",
    "group",
    "ink_mask",
    "joined",
    "linked",
    "without",
    "worked_on",
]

_T = TypeVar("_T")

MOST_PIECES = 400_000
"""Pieces of ink past which a picture is of noise: a cut of four by five inches in a screen of 133
lines to the inch has 350,000 dots (reckoned)."""
_FINE_DPI = 420
"""Above this a sheet is worked on at half scale: the letters are large enough."""

_LEAST_CONTRAST = 48
"""Grey levels between ink and paper below which a picture holds no ink at all."""


@dataclass(frozen=True, slots=True, eq=False)
class Pieces:
    """Connected components of ink, as arrays of equal length, pixels.

    `x`, `y` are the left and top edge, `right`, `bottom` the first column and row beyond.
    """

    x: NDArray[np.float64]
    y: NDArray[np.float64]
    right: NDArray[np.float64]
    bottom: NDArray[np.float64]
    area: NDArray[np.float64]
    """Ink pixels."""

    def __len__(self) -> int:
        return len(self.x)

    @property
    def width(self) -> NDArray[np.float64]:
        """Widths of the boxes."""
        return self.right - self.x

    @property
    def height(self) -> NDArray[np.float64]:
        """Heights of the boxes."""
        return self.bottom - self.y

    @property
    def middle(self) -> NDArray[np.float64]:
        """Horizontal centres of the boxes."""
        return (self.x + self.right) / 2

    @property
    def fill(self) -> NDArray[np.float64]:
        """Share of each box that is ink, 0 to 1."""
        return self.area / (self.width * self.height)

    def take(self, chosen: NDArray[np.bool_] | NDArray[np.intp]) -> Pieces:
        """The chosen pieces, by mask or by index, in that order."""
        return Pieces(
            self.x[chosen],
            self.y[chosen],
            self.right[chosen],
            self.bottom[chosen],
            self.area[chosen],
        )


def ink_mask(image: Grey, like: Grey | None = None) -> NDArray[np.uint8]:
    """Ink as 1, paper as 0, by Otsu's threshold; all 0 where there is no contrast to speak of.

    The threshold is that of `like`, where given: of the same sheet with more ink on it.

    Source of the method: N. Otsu, "A threshold selection method from gray-level histograms"
    (1979), as OpenCV has it.
    """
    if image.size == 0:
        return np.zeros(image.shape, np.uint8)
    whole = image if like is None else like
    level, mask = cv2.threshold(whole, 0, 1, cv2.THRESH_BINARY_INV | cv2.THRESH_OTSU)
    if like is not None:
        mask = (image <= level).astype(np.uint8)
    histogram = np.bincount(whole[::4, ::4].ravel(), minlength=256).astype(np.float64)
    cut = int(level) + 1
    dark, light = histogram[:cut], histogram[cut:]
    if dark.sum() and light.sum():
        ink = (dark * np.arange(cut)).sum() / dark.sum()
        paper = (light * np.arange(cut, 256)).sum() / light.sum()
        if paper - ink >= _LEAST_CONTRAST:
            return np.asarray(mask, np.uint8)
    return _one_tone(image)


def _one_tone(image: Grey) -> NDArray[np.uint8]:
    """For a picture of one tone: ink where it is darker than half-way, so black stays black."""
    return np.asarray(image < 96, np.uint8)


def worked_on(sheet: Sheet) -> tuple[Grey, int]:
    """The picture pieces are looked for in, and how many sheet pixels one of its is wide."""
    if sheet.dpi <= _FINE_DPI or min(sheet.image.shape) < 64:
        return sheet.image, 1
    height, width = sheet.image.shape
    half = cv2.resize(sheet.image, (width // 2, height // 2), interpolation=cv2.INTER_AREA)
    return np.asarray(half), 2


def find_pieces(
    mask: NDArray[np.uint8], *, connectivity: int = 8
) -> tuple[Pieces, NDArray[np.int32]]:
    """The connected components of a mask (8 neighbours, or 4), and the map of their numbers.

    Returns:
        The pieces, and a map the shape of the mask: 0 = paper, k = piece k − 1.
    """
    count, named = cv2.connectedComponents(mask, connectivity=connectivity, ltype=cv2.CV_32S)
    labels = np.asarray(named, np.int32)
    return _measured(mask, labels, count - 1), labels


def count_pieces(mask: NDArray[np.uint8]) -> int:
    """How many connected components a mask has, by 8 neighbours."""
    return int(cv2.connectedComponents(mask, connectivity=8, ltype=cv2.CV_32S)[0]) - 1


def _measured(mask: NDArray[np.uint8], labels: NDArray[np.int32], count: int) -> Pieces:
    """Boxes and areas of `count` pieces, from the runs of ink in each row.

    OpenCV measures them too, but pixel by pixel and the paper with them: six times the labelling.
    """
    height, width = mask.shape
    # Paper before the first row and at the end of each, so that no run goes on into the next.
    ink = np.zeros(height * (width + 1) + 1, np.bool_)
    ink[1:].reshape(height, width + 1)[:, :width] = mask
    ends = np.flatnonzero(ink[1:] != ink[:-1])
    row, left = np.divmod(ends[::2], width + 1)
    right = left + (ends[1::2] - ends[::2])
    piece = labels[row, left] - 1
    x, y, beyond, bottom = np.zeros((4, count), np.float64)
    x[:] = width
    # Of one kind of number with what it is put into, or it takes NumPy thirty times as long.
    np.minimum.at(x, piece, left.astype(np.float64))
    np.maximum.at(beyond, piece, right.astype(np.float64))
    # Of several values for one place the last is kept, and runs come row after row.
    y[piece[::-1]] = row[::-1]
    bottom[piece] = row + 1
    area = np.bincount(piece, weights=right - left, minlength=count).astype(np.float64)
    return Pieces(x, y, beyond, bottom, area)


def without(mask: NDArray[np.uint8], less: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """A mask less another."""
    return np.asarray(cv2.subtract(mask, less), np.uint8)


def joined(*several: Pieces) -> Pieces:
    """All pieces of several sets, one set after the other."""
    names = ("x", "y", "right", "bottom", "area")
    return Pieces(*(np.concatenate([getattr(each, name) for each in several]) for name in names))


def group(
    count: int, one: NDArray[np.intp], other: NDArray[np.intp]
) -> tuple[int, NDArray[np.intp]]:
    """Sets of things that are joined by links, straight or through others.

    Args:
        count: how many things there are.
        one: one end of each link.
        other: the other end of each link.

    Returns:
        How many sets, and for each thing the number of its set, from 0.
    """
    root = np.arange(count)
    while True:
        low = np.minimum(root[one], root[other])
        new = root.copy()
        np.minimum.at(new, root[one], low)
        np.minimum.at(new, root[other], low)
        new = np.minimum(new, new[new])
        new = new[new]
        if np.array_equal(new, root):
            break
        root = new
    names, sets = np.unique(root, return_inverse=True)
    return len(names), sets.astype(np.intp)


def linked(things: Sequence[_T], one: NDArray[np.intp], other: NDArray[np.intp]) -> list[list[_T]]:
    """The things of each set that links make, sets and things in order; see `group`."""
    count, sets = group(len(things), one, other)
    found: list[list[_T]] = [[] for _ in range(count)]
    for thing, place in zip(things, sets.tolist(), strict=True):
        found[place].append(thing)
    return found
