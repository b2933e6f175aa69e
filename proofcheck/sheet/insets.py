"""Type set sideways laid upright, in paper added at the foot of its sheet.

All that reads, judges and marks goes by level lines. So a block that is set sideways gets a place
of its own below the matter, where it lies as a reader turns the sheet to see it; `Sheet.insets`
has the way back. The sheet stays one sheet, and what stands upright on it stays as it is.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from proofcheck.base.values import Box, Inset

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.base.values import Grey, Lifted, Sheet

__all__ = ["alone_upright", "as_pulled", "sideways_parts", "where_printed", "with_insets"]

_APART_IN: Final = 0.4
"""White above an inset: more than there is between lines of one matter."""
_MARGIN_IN: Final = 0.25
"""White round it otherwise."""


def sideways_parts(sheet: Sheet) -> list[Lifted]:
    """The type set sideways that was lifted off a sheet."""
    return [part for part in sheet.lifted if part.look == "sideways"]


def alone_upright(sheet: Sheet, part: Lifted, turned_deg: int) -> tuple[Sheet, Box]:
    """A sheet of its own with nothing but one part on it, turned clockwise; and the part's box.

    It serves to find lines and to try whether they read; no place of it is one of the scan.
    """
    upright, margin = _turned(part, turned_deg), round(_MARGIN_IN * sheet.dpi)
    image = np.pad(upright, margin, constant_values=_paper(sheet.image))
    height, width = upright.shape
    scan = replace(sheet.scan, width_px=image.shape[1], height_px=image.shape[0])
    alone = replace(sheet, image=image, scan=scan, to_scan=np.eye(3), panels=(), lifted=())
    return alone, Box(margin, margin, width, height)


def with_insets(sheet: Sheet, homes: Sequence[tuple[Box, int]]) -> Sheet:
    """The sheet with type set sideways laid upright below all else, one under another.

    Args:
        sheet: the sheet; it has none yet.
        homes: where each is printed (the box of one of `sideways_parts`), and how far it is to be
            turned clockwise: 90 or 270.
    """
    parts = {part.box: part for part in sideways_parts(sheet)}
    uprights = [_turned(parts[home], turned_deg) for home, turned_deg in homes]
    if not uprights:
        return sheet
    height, width = sheet.image.shape
    apart, margin = (round(share * sheet.dpi) for share in (_APART_IN, _MARGIN_IN))
    wide = max(width, *(upright.shape[1] + 2 * margin for upright in uprights))
    tall = height + sum(len(upright) + apart for upright in uprights) + margin
    image = np.full((tall, wide), _paper(sheet.image), np.uint8)
    image[:height, :width] = sheet.image
    insets, y = [], height
    for (home, turned_deg), upright in zip(homes, uprights, strict=True):
        y += apart
        box = Box((wide - upright.shape[1]) // 2, y, upright.shape[1], len(upright))
        image[y : box.bottom, box.x : box.right] = upright
        insets.append(Inset(box, home, turned_deg))
        y = box.bottom
    return replace(sheet, image=image, insets=tuple(insets))


def as_pulled(sheet: Sheet) -> Grey:
    """The picture as printed, with nothing added at its foot."""
    printed = sheet.as_printed()
    if not sheet.insets:
        return printed
    return printed[: sheet.insets[0].box.y - round(_APART_IN * sheet.dpi)]


def where_printed(sheet: Sheet, box: Box) -> Box:
    """Where on that picture a box of the sheet is printed: what is in an inset stands sideways."""
    inset = sheet.inset_at(box)
    if inset is None:
        return box
    # Its first and its last pixel: either may come first where they are printed.
    ends = np.array([(box.x, box.right - 1), (box.y, box.bottom - 1), (1, 1)])
    (x, right), (y, bottom), _ = np.sort(np.rint(inset.to_home() @ ends).astype(int)).tolist()
    return Box(x, y, right + 1 - x, bottom + 1 - y)


def _turned(part: Lifted, turned_deg: int) -> Grey:
    return np.ascontiguousarray(np.rot90(part.image, -turned_deg // 90))


def _paper(image: Grey) -> int:
    return int(np.percentile(image[::8, ::8], 90))
