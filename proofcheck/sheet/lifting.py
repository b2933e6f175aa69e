"""Take rules, braces and ornamental borders off a sheet before its lines are looked for.

What stands among the lines and is no letter would be read as one. It is taken from the picture
that is read, kept as it is printed (`Sheet.lifted`), and named with all else that was taken for no
type. Letters that touch it stay whole.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from proofcheck.base.values import Box
from proofcheck.sheet.block_initials import BlockInitial, find_block_initials
from proofcheck.sheet.braces import find_braces
from proofcheck.sheet.cut_rules import find_cut_rules
from proofcheck.sheet.drawn_border import find_drawn_borders
from proofcheck.sheet.framed_cuts import find_framed_cuts
from proofcheck.sheet.lifted import at_step, boxes_of, in_box, lifted_off
from proofcheck.sheet.ornaments import find_border
from proofcheck.sheet.pieces import MOST_PIECES, find_pieces, ink_mask, without, worked_on
from proofcheck.sheet.rule_bits import with_bits
from proofcheck.sheet.rules import find_rules, stroke_candidates
from proofcheck.sheet.sideways import find_sideways
from proofcheck.sheet.sift import go_round, sift
from proofcheck.sheet.touching import part_rules

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.base.values import Sheet
    from proofcheck.sheet.pieces import Pieces
    from proofcheck.sheet.sift import Sifted

__all__ = ["lift"]

_BARS: Final = "|¦"
_BRACES: Final = "{}"
"""Signs that look like rules and braces: where the copy has them, no such ink is taken away."""
_BORDERS: Final = 3
"""Most borders of ornaments, one within the other."""


def lift(sheet: Sheet, copy_text: str = "") -> Sheet:
    """The sheet without its rules, braces and ornamental borders.

    Args:
        sheet: the cleaned sheet, upright.
        copy_text: the approved copy: what it holds as a character is not taken away.

    Returns:
        The sheet; `lifted` holds what is printed there and what it was taken for.
    """
    image, step = worked_on(sheet)
    ink = ink_mask(image)
    pieces, labels = find_pieces(ink)
    if len(pieces) > MOST_PIECES:
        return sheet
    sheet, ink = _without_borders(sheet, ink, pieces, labels, step)
    pieces, labels = find_pieces(ink)
    sifted = sift(pieces, labels, sheet.dpi / step)
    if not sifted.size_px:
        return sheet
    blocks = find_block_initials(ink, pieces, labels, sifted)
    if blocks:
        for block in blocks:
            sheet, ink = _with_plain_initial(sheet, ink, block, step)
        pieces, labels = find_pieces(ink)
        sifted = sift(pieces, labels, sheet.dpi / step)
    dashed = find_cut_rules(pieces, sifted.letter, sifted.size_px)
    if dashed:
        sheet, ink = _without_groups(sheet, ink, pieces, labels, dashed, "rule", step)
        pieces, labels = find_pieces(ink)
        sifted = sift(pieces, labels, sheet.dpi / step)
    drawn = find_framed_cuts(pieces, labels, sifted)
    if drawn:
        sheet, ink = _without_groups(sheet, ink, pieces, labels, drawn, "cut", step)
        pieces, labels = find_pieces(ink)
        sifted = sift(pieces, labels, sheet.dpi / step)
    sheet, ink = _without_sideways(sheet, ink, pieces, sifted, step)
    if not set(_BRACES) & set(copy_text):
        sheet = _without_braces(sheet, ink, pieces, labels, sifted, step)
    if not set(_BARS) & set(copy_text):
        sheet = _without_rules(sheet, ink, pieces, labels, sifted, step)
    return sheet


def _without_borders(
    sheet: Sheet, ink: NDArray[np.uint8], pieces: Pieces, labels: NDArray[np.int32], step: int
) -> tuple[Sheet, NDArray[np.uint8]]:
    for _ in range(_BORDERS):
        border = find_border(ink, labels, sheet.dpi / step)
        if border is None or not border.mask.any():
            break
        ink = without(ink, border.mask)
        sheet = lifted_off(sheet, border.mask, ink, border.sides, ("border",), step)
        pieces, labels = find_pieces(ink)
    drawn = find_drawn_borders(pieces, labels)
    if len(drawn):
        gone = np.isin(labels, drawn + 1).astype(np.uint8)
        ink = without(ink, gone)
        boxes = boxes_of(pieces.take(drawn))
        sheet = lifted_off(sheet, gone, ink, boxes, ("border",) * len(boxes), step)
    return sheet, ink


def _without_groups(
    sheet: Sheet, ink: NDArray[np.uint8], pieces: Pieces, labels: NDArray[np.int32],
    groups: Sequence[NDArray[np.intp]], look: str, step: int,
) -> tuple[Sheet, NDArray[np.uint8]]:  # fmt: skip
    """The sheet without dashed rules or pictures, each a group of pieces."""
    gone = np.isin(labels, np.concatenate(groups) + 1).astype(np.uint8)
    left = without(ink, gone)
    boxes = [Box.around(boxes_of(pieces.take(group))) for group in groups]
    return lifted_off(sheet, gone, left, boxes, (look,) * len(boxes), step), left


def _without_rules(
    sheet: Sheet, ink: NDArray[np.uint8], pieces: Pieces, labels: NDArray[np.int32],
    sifted: Sifted, step: int,
) -> Sheet:  # fmt: skip
    dpi = sheet.dpi / step
    upright = stroke_candidates(ink, dpi, upright=True)
    if not len(upright.pieces):
        return sheet
    level = stroke_candidates(ink, dpi, upright=False)
    frames = go_round(pieces, labels)
    ruled = find_rules(ink, upright, level, sifted, pieces, labels, frames)
    if ruled is None:
        return sheet
    ruled = with_bits(ruled, pieces, labels, sifted.size_px)
    gone, kept = part_rules(ink, ruled, sifted.size_px)
    touched = np.bincount(labels[gone > 0], minlength=len(pieces) + 1)[1:] > 0
    borders = np.count_nonzero(touched & frames)
    rules = min(int(np.count_nonzero(touched & ~frames)), len(ruled.pieces))
    names = ("border",) * int(borders) + ("rule",) * rules
    return lifted_off(sheet, gone, kept, boxes_of(ruled.pieces), names, step)


def _with_plain_initial(
    sheet: Sheet, ink: NDArray[np.uint8], block: BlockInitial, step: int
) -> tuple[Sheet, NDArray[np.uint8]]:
    """The sheet with the bare letter in place of a block initial, as high as the block."""
    box = block.box
    window = (slice(box.y, box.bottom), slice(box.x, box.right))
    gone = np.zeros_like(ink)
    gone[window] = ink[window]
    left = without(ink, gone)
    look = "ornament" if block.letter is None else "initial"
    bare = lifted_off(sheet, gone, left, [box], (look,), step)
    if block.letter is None:
        return bare, left
    share = min(box.height / block.letter.shape[0], box.width / block.letter.shape[1])
    tall, wide = (max(int(share * side), 1) for side in block.letter.shape)
    image = bare.image.copy()
    printed = sheet.image[box.y * step : box.bottom * step, box.x * step : box.right * step]
    dark = float(np.percentile(printed, 20))
    drawn = cv2.resize(
        block.letter * np.uint8(255), (wide * step, tall * step), interpolation=cv2.INTER_AREA
    )
    y, x = box.y * step, (box.right - wide) * step
    place = image[y : y + tall * step, x : x + wide * step]
    strength = drawn.astype(np.float32) / 255
    place[:] = (place * (1 - strength) + dark * strength).astype(np.uint8)
    left[box.y : box.y + tall, box.right - wide : box.right] = drawn[::step, ::step] > 127
    return replace(bare, image=image), left


def _without_sideways(
    sheet: Sheet, ink: NDArray[np.uint8], pieces: Pieces, sifted: Sifted, step: int
) -> tuple[Sheet, NDArray[np.uint8]]:
    """The sheet without type set sideways, which would be read letter by letter as junk.

    Its ink goes, too: what its letters have in line, side by side, would be a hatching's strokes.
    """
    boxes = [Box.around(boxes_of(pieces.take(run))) for run in find_sideways(ink, pieces, sifted)]
    # Display in a panel is larger than the letters that make a run.
    panels = at_step((panel.box for panel in sheet.panels if panel.sideways), step)
    panels = [panel for panel in panels if not any(in_box(box, panel) for box in boxes)]
    held = [[box for box in boxes_of(pieces) if in_box(box, panel)] for panel in panels]
    boxes += [Box.around(matter) for matter in held if matter]
    for box in boxes:
        gone = np.zeros_like(ink)
        window = (slice(box.y, box.bottom), slice(box.x, box.right))
        gone[window] = ink[window]
        ink = without(ink, gone)
        sheet = lifted_off(sheet, gone, ink, [box], ("sideways",), step)
    return sheet, ink


def _without_braces(
    sheet: Sheet, ink: NDArray[np.uint8], pieces: Pieces, labels: NDArray[np.int32],
    sifted: Sifted, step: int,
) -> Sheet:  # fmt: skip
    braces = find_braces(pieces, labels, sifted)
    if not braces:
        return sheet
    gone = np.isin(labels, np.concatenate(braces) + 1).astype(np.uint8)
    boxes = [Box.around(boxes_of(pieces.take(np.array(parts)))) for parts in braces]
    return lifted_off(sheet, gone, without(ink, gone), boxes, ("rule",) * len(boxes), step)
