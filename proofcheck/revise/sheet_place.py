"""Places on no slug: rules and borders, found again by the slugs that stood round them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

from proofcheck.base.found import Status
from proofcheck.base.kinds import Group, of_group
from proofcheck.base.units import mm_to_px
from proofcheck.base.values import Box
from proofcheck.sheet.lifted import with_lifted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.base.found import Fault
    from proofcheck.base.values import Grey, Line
    from proofcheck.results.report import Report
    from proofcheck.revise.pairing import Pairing

__all__ = ["OF_NO_SLUG", "SheetPlaces", "changed_ink"]

OF_NO_SLUG = of_group(Group.RULES)
"""Faults whose place is on the sheet, whatever line they are told at."""
_NEAREST: Final = 8
"""Slugs by which a place is found again."""
_REACH_MM: Final = 1.5
"""How far off it is sought, for what the paper gave way."""
_EDGE_MM: Final = 0.17
"""What heavier or lighter inking moves an edge by, at most."""
_CHANGED: Final = 0.4
"""Ink come or gone beyond that, of 1, for a place to be another now."""


class SheetPlaces:
    """The places of an earlier proof's sheets on a later one's."""

    def __init__(self, earlier: Report, later: Report, pairing: Pairing) -> None:
        pairs = [(earlier.lines[early], later.lines[late]) for late, early in pairing.same.items()]
        self._laid = _Laid(earlier, later, pairs)
        self._back = _Laid(later, earlier, [(late, early) for early, late in pairs])

    def still(self, fault: Fault) -> list[Fault]:
        """The faults of rules and borders that the later proof has at a place of the earlier."""
        return self._laid.at(fault)

    def changed(self, fault: Fault) -> bool:
        """Whether what is printed at the place is another now; not where that can't be seen."""
        return self._laid.changed(fault)

    def new(self) -> list[Fault]:
        """Faults of the later proof that the earlier had not, where it was printed otherwise."""
        return [
            fault
            for fault in self._back.one.faults
            if fault.kind in OF_NO_SLUG
            and fault.status is Status.FAULT
            and not self._back.at(fault)
            and self._back.changed(fault)
        ]


class _Laid:
    """One proof's places on another's sheets."""

    def __init__(self, one: Report, other: Report, pairs: Sequence[tuple[Line, Line]]) -> None:
        self.one, self._other, self._pairs = one, other, pairs

    def at(self, fault: Fault) -> list[Fault]:
        """The other's faults of rules and borders at a place; all of its kind where it is lost."""
        carried = self._carried(fault)
        if carried is None:
            return [f for f in self._other.faults if f.kind is fault.kind]
        sheet, to_later = carried
        spare = round(mm_to_px(_REACH_MM, self._dpi(fault)))
        box = _box_by(to_later, fault.box)
        return [
            other
            for other in self._other.faults
            if other.kind in OF_NO_SLUG and other.sheet == sheet and _near(other.box, box, spare)
        ]

    def changed(self, fault: Fault) -> bool:
        """Whether the ink at a place is another; not where that can't be seen."""
        carried = self._carried(fault)
        if carried is None:
            return False
        sheets = {s.number: s for s in self._other.sheets}
        before = {s.number: s for s in self.one.sheets}[fault.sheet]
        if not (before.pictured and sheets[carried[0]].pictured):
            return False
        pictures = with_lifted(before), with_lifted(sheets[carried[0]])
        return changed_ink(*pictures, fault.box, carried[1], before.dpi)

    def _dpi(self, fault: Fault) -> float:
        return next(s.dpi for s in self.one.sheets if s.number == fault.sheet)

    def _carried(self, fault: Fault) -> tuple[int, NDArray[np.float64]] | None:
        """On which sheet of the later proof the place is, and the map to it, shape (2, 3)."""
        pairs = [pair for pair in self._pairs if pair[0].sheet == fault.sheet]
        if len(pairs) < 2:
            return None
        middle = np.array([fault.box.x, fault.box.y]) + np.array(fault.box[2:]) / 2
        pairs.sort(key=lambda pair: _off(pair[0], middle))
        near = pairs[:_NEAREST]
        sheet = near[0][1].sheet
        near = [pair for pair in near if pair[1].sheet == sheet]
        if len(near) < 2:
            return None
        ends = [np.vstack([_ends(pair[side]) for pair in near]) for side in (0, 1)]
        return sheet, _even_map(ends[0], ends[1])


def changed_ink(
    one: Grey, other: Grey, box: Box, to_other: NDArray[np.float64], dpi: float
) -> bool:
    """Whether ink has come or gone at a place, more than inking and scanning account for.

    Args:
        one: the earlier sheet.
        other: the later.
        box: the place on the earlier, sheet pixels.
        to_other: shape (2, 3), from pixels of the earlier sheet to those of the later.
        dpi: of the earlier sheet.
    """
    reach, edge = (round(mm_to_px(mm, dpi)) for mm in (_REACH_MM, _EDGE_MM))
    left, top = max(box.x, 0), max(box.y, 0)
    right, bottom = min(box.right, one.shape[1]), min(box.bottom, one.shape[0])
    if right - left < 3 or bottom - top < 3:
        return False
    piece = _inked(one[top:bottom, left:right])
    size = right - left + 2 * reach, bottom - top + 2 * reach
    shift = np.array([left - reach, top - reach])
    there = to_other.copy()
    there[:, 2] += to_other[:, :2] @ shift
    field = cv2.warpAffine(
        np.ascontiguousarray(other), there, size, flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
        borderMode=cv2.BORDER_CONSTANT, borderValue=255,
    )  # fmt: skip
    seen = _inked(np.asarray(field, np.uint8))
    _, _, _, (x, y) = cv2.minMaxLoc(cv2.matchTemplate(seen, piece, cv2.TM_CCOEFF_NORMED))
    round_it = np.ones((2 * edge + 1,) * 2, np.uint8)
    wider = cv2.dilate(piece, round_it)
    now = seen[y : y + piece.shape[0], x : x + piece.shape[1]]
    # Of the later as much round it as inking may move, so that an edge of the cut is no change.
    spread = cv2.dilate(seen, round_it)[y : y + piece.shape[0], x : x + piece.shape[1]]
    come = cv2.GaussianBlur(np.maximum(now - wider, 0), (0, 0), 1.0)
    gone = cv2.GaussianBlur(np.maximum(piece - spread, 0), (0, 0), 1.0)
    within = slice(edge, -edge or None)
    come = come[within, within] if min(come.shape) > 4 * edge else come
    return bool(max(float(come.max()), float(gone.max())) > _CHANGED)


def _inked(image: Grey) -> NDArray[np.float32]:
    paper = float(np.percentile(image, 85))
    black = float(image.min())
    ink = (paper - image.astype(np.float32)) / max(paper - black, 48.0)
    return np.asarray(np.clip(ink, 0.0, 1.0), np.float32)


def _ends(line: Line) -> NDArray[np.float64]:
    return np.array([(line.box.x, line.baseline[0]), (line.box.right, line.baseline[1])])


def _off(line: Line, middle: NDArray[np.float64]) -> float:
    return abs(sum(line.baseline) / 2 - float(middle[1]))


def _even_map(a: NDArray[np.float64], b: NDArray[np.float64]) -> NDArray[np.float64]:
    """The turn, scale and shift (2, 3) that best lay points `a` on points `b`."""
    rows, rest = [], []
    for (x, y), (to_x, to_y) in zip(a, b, strict=True):
        rows += [(x, -y, 1.0, 0.0), (y, x, 0.0, 1.0)]
        rest += [to_x, to_y]
    (c, s, dx, dy), *_ = np.linalg.lstsq(np.array(rows), np.array(rest), rcond=None)
    return np.array([[c, -s, dx], [s, c, dy]])


def _box_by(to_other: NDArray[np.float64], box: Box) -> Box:
    across = [box.x, box.right, box.x, box.right]
    corners = np.array([across, [box.y, box.y, box.bottom, box.bottom], [1, 1, 1, 1]])
    at = to_other @ corners
    (x, y), (right, bottom) = at.min(axis=1).round(), at.max(axis=1).round()
    return Box(int(x), int(y), int(right - x), int(bottom - y))


def _near(one: Box, other: Box, spare: int) -> bool:
    across = one.x < other.right + spare and other.x < one.right + spare
    return across and one.y < other.bottom + spare and other.y < one.bottom + spare
