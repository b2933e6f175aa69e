"""White on black: panels with lettering left white in them, turned so that they can be read.

A black place may have windows in it, too, with matter black on white; its lettering may be set
sideways.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from proofcheck.base.errors import SheetUnfitError
from proofcheck.base.units import pt_to_px
from proofcheck.base.values import Box, Panel
from proofcheck.sheet.again import are_sure, is_lone, rows_left
from proofcheck.sheet.block_initials import places_of_initials
from proofcheck.sheet.letterlike import are_letterlike
from proofcheck.sheet.lifted import meet
from proofcheck.sheet.light import PAPER
from proofcheck.sheet.lines import lay_lines
from proofcheck.sheet.panel_grain import POINT, without_grain, without_specks
from proofcheck.sheet.pieces import find_pieces, ink_mask
from proofcheck.sheet.solid_places import PANEL_PT, solid_places
from proofcheck.sheet.windows import find_windows

if TYPE_CHECKING:
    from collections.abc import Callable, Container, Sequence

    from numpy.typing import NDArray

    from proofcheck.base.values import Grey, Line, Reading, Sheet
    from proofcheck.sheet.lines import Laid

__all__ = ["open_known", "open_panels"]

_EDGE_PX: Final = 13
"""Within half of this of its outline a panel's edge may be worn."""
_FRINGE_PX: Final = 5
"""The edge of a window is grey so far, half of it at either side."""
_LEAST_X_HEIGHT_PX: Final = 6.0
_SURE: Final = 0.75
"""Mean certainty of the letters from which on a panel's lettering is type."""
_LIKELY: Final = 0.6
"""The same of lettering that looks like it in every row besides, as in a face that is hard to read:
pictures in books that fell into such rows were read with 0.53 at most."""
_OF_STARVED: Final = 6
"""Letters by which a starved panel is known at least."""
_FILLED: Final = 0.08
"""Share of such a panel that its matter takes at least; of a picture its labels take less."""
_CAPTION: Final = 6
"""Letters of a row in a picture that is type: fewer come of its lights too."""
_LETTERLIKE: Final = 0.7
"""Share of such a row, by width, that has the look of letters."""
_VARIED: Final = 1.5
"""How many times as wide its wide letters are as its narrow ones; lit windows are of one width."""
_WHITE_READ: Final = 0.5
"""Least share of the white in a panel that is in its lines; of a picture it is less."""


@dataclass(frozen=True, slots=True, eq=False)
class _Way:
    """A panel by itself, turned to black on white, and its lines."""

    quarters: int
    """How often it was turned to the left to lie level."""
    trial: Sheet
    laid: Laid
    starved: bool
    """It was looked at without its specks."""


def open_panels(
    sheet: Sheet,
    read: Callable[[Sheet, Sequence[Line]], Sequence[Reading]],
    copy_text: str = "",
) -> Sheet:
    """The sheet with each panel of white lettering turned to black on white.

    Args:
        sheet: the cleaned sheet.
        read: reads lines; a cut in white lines does not read.
        copy_text: the copy as loaded: a number that it has by itself may stand alone in a panel.

    Returns:
        The sheet; `panels` holds what is really printed there.
    """
    words = frozenset(copy_text.split())

    def reads(box: Box, way: _Way) -> bool:
        laid = way.laid
        readings = read(way.trial, laid.lines)
        sure = _is_lettered(laid) and are_sure(readings, least=_SURE)
        alone = len(readings) == 1 and _is_lettered(laid, least=1) and is_lone(readings[0], words)
        if way.starved:
            # What is left of a picture without its small lights may read as a few letters.
            known = alone or (sure and sum(len(one.text) for one in readings) >= _OF_STARVED)
            known = known and _fills(way)
        else:
            known = sure or alone or _is_likely(laid, readings) or _is_captioned(laid, readings)
        if not known:
            return False
        return not any(meet(box, initial) for initial in places_of_initials(sheet))

    return _opened(sheet, reads)


def open_known(sheet: Sheet, boxes: Container[Box]) -> Sheet:
    """The sheet as `open_panels` gave it when it found panels in these boxes."""
    return _opened(sheet, lambda box, _: box in boxes)


def _opened(sheet: Sheet, is_panel: Callable[[Box, _Way], bool]) -> Sheet:
    opened = sheet.image
    panels: list[Panel] = []
    for found in solid_places(sheet):
        printed = sheet.image[_window(found.box)]
        inside, windows = _grounds(printed, found.mask, pt_to_px(PANEL_PT[0], sheet.dpi))
        patch = _inverted(printed, inside)
        # As it is first; only of what is no panel so the specks are taken away.
        ways = _ways(sheet, patch)
        known = next((way for way in ways if is_panel(found.box, way)), None)
        if known is None:
            ways += (starved := _ways(sheet, without_specks(patch), starved=True))
            known = next((way for way in starved if is_panel(found.box, way)), None)
        if known is None:
            continue
        if not panels:
            opened = opened.copy()
        # By the first way, whichever it was known by: so a record's sheet is made again the same.
        panels.append(Panel(found.box, np.ascontiguousarray(printed), ways[0].quarters > 0))
        kept = _bays(found.mask, pt_to_px(PANEL_PT[1], sheet.dpi)) | (windows > 0)
        opened[_window(found.box)] = np.where(kept, printed, _cleared(patch, known))
    return replace(sheet, image=opened, panels=(*sheet.panels, *panels)) if panels else sheet


def _cleared(patch: Grey, way: _Way) -> Grey:
    """A turned panel as it stands on the sheet, without its grain."""
    if way.starved:
        return without_specks(patch, but=POINT)
    clear = without_grain(way.trial.image, way.laid, rows_left(way.trial, way.laid))
    return np.rot90(clear, -way.quarters)


def _ways(sheet: Sheet, patch: Grey, *, starved: bool = False) -> list[_Way]:
    """A turned panel as it stands; or on either side, where its lettering stands in lines so."""
    upright = _way(sheet, patch, 0, starved)
    if upright is not None and _is_lettered(upright.laid):
        return [upright]
    sideways = [_way(sheet, patch, quarters, starved) for quarters in (1, 3)]
    lettered = [way for way in sideways if way is not None and _is_lettered(way.laid)]
    return [*lettered, *([upright] if upright is not None else [])]


def _way(sheet: Sheet, patch: Grey, quarters: int, starved: bool) -> _Way | None:
    """A panel turned so many quarters to the left, and its lines; None where it has none."""
    image = np.ascontiguousarray(np.rot90(patch, quarters))
    trial = replace(sheet, image=image, panels=())
    try:
        return _Way(quarters, trial, lay_lines(trial, tallest=1.0), starved)
    except SheetUnfitError:
        return None


def _window(box: Box) -> tuple[slice, slice]:
    return slice(box.y, box.bottom), slice(box.x, box.right)


def _grounds(
    printed: Grey, outline: NDArray[np.uint8], least_px: float
) -> tuple[NDArray[np.bool_], NDArray[np.uint8]]:
    """What of a solid place is black with white in it, and the windows in it, as masks."""
    inner = cv2.erode(outline, np.ones((5, 5), np.uint8), borderValue=0)
    # White that is joined to the paper outside is no lettering but a worn edge.
    white = np.asarray(1 - ink_mask(printed), np.uint8)
    _, labels = find_pieces(white)
    outside = np.isin(labels, np.unique(labels[(outline == 0) & (labels > 0)]))
    deep = cv2.erode(inner, np.ones((_EDGE_PX, _EDGE_PX), np.uint8), borderValue=0)
    inner[outside & (deep == 0)] = 0
    white[outside | (inner == 0)] = 0
    windows = find_windows(white, least_px)
    fringe = np.ones((_FRINGE_PX, _FRINGE_PX), np.uint8)
    inner[cv2.dilate(windows, fringe) > 0] = 0
    return inner > 0, np.asarray(cv2.erode(windows, fringe), np.uint8)


def _bays(outline: NDArray[np.uint8], least_px: float) -> NDArray[np.bool_]:
    """What of a panel's box is none of it and so large that matter may stand there."""
    out = np.asarray(1 - cv2.dilate(outline, np.ones((_EDGE_PX, _EDGE_PX), np.uint8)), np.uint8)
    size = max(int(least_px), 1)
    return np.asarray(cv2.morphologyEx(out, cv2.MORPH_OPEN, np.ones((size, size), np.uint8)) > 0)


def _inverted(printed: Grey, inside: NDArray[np.bool_]) -> Grey:
    """The place in negative: its lettering black; its ground, its rim and all round it, paper."""
    if not inside.any():
        return np.full_like(printed, 255)
    return np.where(inside, _stretched(255 - printed, inside), np.uint8(255)).astype(np.uint8)


def _stretched(negative: Grey, inside: NDArray[np.bool_]) -> Grey:
    """The negative with its ground as white as paper, however thin the ink lay there."""
    held = negative[inside]
    level, _ = cv2.threshold(held[None], 0, 1, cv2.THRESH_BINARY + cv2.THRESH_OTSU)
    dark, light = held[held <= level], held[held > level]
    if not len(dark) or not len(light):
        return negative
    ink, ground = float(np.median(dark)), float(np.percentile(light, 10))
    table = np.clip((np.arange(256) - ink) / max(ground - ink, 1.0), 0, 1) * PAPER
    return np.asarray(table[negative], np.uint8)


def _is_lettered(laid: Laid, least: int = 2) -> bool:
    """Whether most of the ink of a turned panel stands in lines of so many letters at least."""
    lines = [
        members
        for line, members in zip(laid.lines, laid.members, strict=True)
        if line.x_height_px >= _LEAST_X_HEIGHT_PX and len(members) >= least
    ]
    if not lines:
        return False
    inked = float(laid.pieces.area[laid.pieces.area > 4].sum())
    return float(laid.pieces.area[np.concatenate(lines)].sum()) > _WHITE_READ * inked


def _fills(way: _Way) -> bool:
    """Whether the lines of a turned panel take a fair part of it."""
    matter = sum(line.box.width * line.box.height for line in way.laid.lines)
    return matter >= _FILLED * way.trial.image.size


def _is_likely(laid: Laid, readings: Sequence[Reading]) -> bool:
    """Whether all of a turned panel are rows with the look of letters, in a face hard to read."""
    rows = all(_is_row(laid, members) for members in laid.members)
    return rows and _is_lettered(laid) and are_sure(readings, least=_LIKELY)


def _is_captioned(laid: Laid, readings: Sequence[Reading]) -> bool:
    """Whether a turned picture has type in it: rows of letters, and all that reads is sure."""
    heard = [
        (reading, members)
        for reading, members in zip(readings, laid.members, strict=True)
        if reading.text
    ]
    return bool(heard) and all(
        are_sure([reading], least=_SURE) and _is_row(laid, members) for reading, members in heard
    )


def _is_row(laid: Laid, members: NDArray[np.intp]) -> bool:
    width = laid.pieces.width[members]
    narrow, wide = np.percentile(width, (5, 95))
    if len(members) < _CAPTION or wide < _VARIED * narrow:
        return False
    like = are_letterlike(laid.pieces, laid.labels, members)
    return bool(width[like].sum() > _LETTERLIKE * width.sum())
