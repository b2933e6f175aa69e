"""Ink taken off a sheet and kept as it is printed, and what of it others must know."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from proofcheck.base.values import Box, Lifted
from proofcheck.sheet.pieces import Pieces, find_pieces

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from proofcheck.base.values import Grey, Sheet

__all__ = [
    "at_step",
    "border_sides",
    "boxes_lifted",
    "boxes_of",
    "in_blocks",
    "in_box",
    "lifted_off",
    "meet",
    "pieces_of",
    "rules_apart",
    "with_lifted",
]

_FRINGE_PX: Final = 3
_ROUND_PX: Final = 12
"""How far round a place its paper is looked at."""


def rules_apart(sheet: Sheet, step: int = 1) -> Pieces:
    """Upright rules taken away that meet no level one: those that part columns.

    Args:
        sheet: the sheet.
        step: sheet pixels to one of the picture worked on.
    """
    boxes = [part.box for part in sheet.lifted]
    level = [box for box in boxes if box.width > 3 * box.height]
    apart = [
        box
        for box in boxes
        if box.height > 3 * box.width and not any(meet(box, other) for other in level)
    ]
    return pieces_of(apart, step)


def border_sides(sheet: Sheet) -> list[Box]:
    """The sides of the borders of ornaments that were lifted: four of each, corners in them."""
    sides: list[Box] = []
    for at, part in enumerate(sheet.lifted):
        four = [each.box for each in sheet.lifted[at : at + 4]]
        bare = all(not each.look for each in sheet.lifted[at + 1 : at + 4])
        # The sides of a border are named as one: its head and foot, then its left and right.
        ring = [box.width > box.height for box in four] == [True, True, False, False]
        if part.look == "border" and bare and ring and _are_sides(four):
            sides += four
    return sides


def _are_sides(four: Sequence[Box]) -> bool:
    """Whether each of four boxes goes along a whole side of the box round them all."""
    whole, spare = Box.around(four), 4 * _FRINGE_PX
    return all(box.width > whole.width - spare or box.height > whole.height - spare for box in four)


def boxes_lifted(sheet: Sheet, step: int = 1) -> list[Box]:
    """Boxes of all ink that was taken away, in pixels of the picture worked on."""
    spare = 2 * _FRINGE_PX
    inner = [
        Box(b.x + spare, b.y + spare, max(b.width - 2 * spare, 1), max(b.height - 2 * spare, 1))
        for b in (part.box for part in sheet.lifted)
    ]
    return at_step(inner, step)


def at_step(boxes: Iterable[Box], step: int) -> list[Box]:
    """Boxes of the sheet in pixels of the picture worked on, `step` of the sheet's each."""
    return [Box(*(round(side / step) for side in box)) for box in boxes]


def with_lifted(sheet: Sheet) -> Grey:
    """The picture with its rules and ornaments, panels as they are read."""
    return replace(sheet, panels=()).as_printed()


def in_blocks(sheet: Sheet, box: Box) -> bool:
    """Whether the middle of a box is in the place of a block initial."""
    return any(in_box(box, part.box) for part in sheet.lifted if part.look == "initial")


def in_box(box: Box, other: Box) -> bool:
    """Whether the middle of a box is in another."""
    x, y = box.x + box.width / 2, box.y + box.height / 2
    return other.x <= x < other.right and other.y <= y < other.bottom


def meet(one: Box, other: Box) -> bool:
    """Whether two boxes have any of their ground in common."""
    across = one.x < other.right and other.x < one.right
    return across and one.y < other.bottom and other.y < one.bottom


def boxes_of(pieces: Pieces) -> list[Box]:
    """The boxes round pieces."""
    return [
        Box(int(x), int(y), int(right - x), int(bottom - y))
        for x, y, right, bottom in zip(
            pieces.x, pieces.y, pieces.right, pieces.bottom, strict=True
        )
    ]  # fmt: skip


def pieces_of(boxes: Sequence[Box], step: int = 1) -> Pieces:
    """Boxes as pieces of ink that fill them, in pixels of `step` of theirs each."""
    sides = np.array([(b.x, b.y, b.right, b.bottom) for b in boxes], float).reshape(-1, 4).T / step
    x, y, right, bottom = sides
    return Pieces(x, y, right, bottom, (right - x) * (bottom - y))


def lifted_off(
    sheet: Sheet,
    gone: NDArray[np.uint8],
    kept: NDArray[np.uint8],
    boxes: Sequence[Box],
    names: tuple[str, ...],
    step: int,
) -> Sheet:
    """The sheet without some ink and its grey fringe; the ink that is kept has its own.

    Ink and boxes are in pixels of the picture worked on, `step` of the sheet's each.
    """
    boxes = [Box(*(step * side for side in box)) for box in (*boxes, *_others(gone, boxes))]
    gone, kept = (_at_full_size(mask, sheet.image.shape) for mask in (gone, kept))
    fringe = np.ones((2 * _FRINGE_PX + 1,) * 2, np.uint8)
    white = np.asarray(cv2.dilate(gone, fringe), np.uint8)
    white[cv2.dilate(kept, np.ones((3, 3), np.uint8)) > 0] = 0
    white |= gone
    held = np.zeros_like(white)
    parts: list[Lifted] = []
    for box in boxes:
        window = _window(box, sheet.image.shape)
        held[window] = 1
        look = names[len(parts)] if len(parts) < len(names) else ""
        place = Box(
            window[1].start, window[0].start,
            window[1].stop - window[1].start, window[0].stop - window[0].start,
        )  # fmt: skip
        parts.append(Lifted(place, sheet.image[window].copy(), look))
    white[held == 0] = 0
    image = np.where(white > 0, _paper(sheet.image, gone | kept, parts), sheet.image)
    return replace(sheet, image=image, lifted=(*sheet.lifted, *parts))


def _at_full_size(mask: NDArray[np.uint8], shape: tuple[int, ...]) -> NDArray[np.uint8]:
    if mask.shape == shape:
        return mask
    size = (shape[1], shape[0])
    return np.asarray(cv2.resize(mask, size, interpolation=cv2.INTER_NEAREST), np.uint8)


def _paper(image: Grey, ink: NDArray[np.uint8], parts: Sequence[Lifted]) -> Grey:
    """The paper as it is round the places: a white bar on grey paper would be read too."""
    paper = np.full_like(image, 255)
    for part in parts:
        box, spare = part.box, _ROUND_PX
        window = (
            slice(max(box.y - spare, 0), box.bottom + spare),
            slice(max(box.x - spare, 0), box.right + spare),
        )
        bare = cv2.dilate(ink[window], np.ones((5, 5), np.uint8)) == 0
        size = (2 * spare + 1,) * 2
        seen = cv2.boxFilter(bare.astype(np.float32), -1, size)
        tone = cv2.boxFilter(np.where(bare, image[window], 0).astype(np.float32), -1, size)
        usual = float(np.median(image[window][bare])) if bare.any() else 255.0
        level = np.where(seen > 0.01, tone / np.maximum(seen, 0.01), usual)
        paper[window] = np.minimum(paper[window], level.round().astype(np.uint8))
    return paper


def _window(box: Box, shape: tuple[int, ...]) -> tuple[slice, slice]:
    """A box with room for the fringe of its ink."""
    spare = 2 * _FRINGE_PX
    return (
        slice(max(box.y - spare, 0), min(box.bottom + spare, shape[0])),
        slice(max(box.x - spare, 0), min(box.right + spare, shape[1])),
    )


def _others(gone: NDArray[np.uint8], boxes: Sequence[Box]) -> list[Box]:
    """Boxes round ink that is in none of some boxes."""
    left = gone.copy()
    for box in boxes:
        left[_window(box, gone.shape)] = 0
    return boxes_of(find_pieces(left)[0])
