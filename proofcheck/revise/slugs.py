"""The picture of one slug's print, made level and to scale, so that two can be laid together."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.base.values import Line, Sheet

__all__ = ["Print", "print_of", "profile_lag", "turned_print"]

ABOVE, BELOW = 1.7, 0.65
"""Room above and below the baseline, in x-heights: letters reach about 1.6 and 0.5."""
MARGIN = 4.0
"""Room at either end, in x-heights: ink that one reading took into the line and the other left
out must lie in both pictures."""
_OWN = 0.3
"""Of that room, what still counts as the line's own."""
_SOFT = 0.055
"""Blur, in x-heights: makes light and heavy inking alike without drowning a letter's place."""
_COARSE = 4


@dataclass(frozen=True, slots=True, eq=False)
class Print:
    """What one slug printed."""

    ink: NDArray[np.float32]
    """Shape (height, width): 0 paper, 1 ink, a little softened."""
    x_height_px: float
    """Of the picture."""
    baseline: float
    """Its row."""
    own: tuple[int, int]
    """Columns the line itself takes up; beyond them may lie other matter."""

    @property
    def profile(self) -> NDArray[np.float32]:
        """The line's own ink, a column each."""
        profile = np.zeros(self.ink.shape[1], np.float32)
        start, end = self.own
        profile[start:end] = self.ink[:, start:end].sum(axis=0)
        return profile


def print_of(
    sheet: Sheet,
    line: Line,
    *,
    x_height_px: float,
    stretch: float = 1.0,
    by_box: bool = False,
) -> Print:
    """Cut one line out, level along its baseline.

    Args:
        sheet: the sheet it stands on.
        line: the line.
        x_height_px: x-height the room round it is reckoned with, sheet pixels of the earlier
            proof; the same for both prints to be compared.
        stretch: scale of this sheet to the earlier one; taken out again.
        by_box: set it by the box of its ink rather than by its baseline, which may have been
            taken wrongly on a line of few letters.
    """
    size = x_height_px
    width = round(line.box.width / stretch + 2 * MARGIN * size)
    height = round((ABOVE + BELOW) * size)
    left, right = line.baseline
    if by_box:
        # The middle of a box of ascenders and descenders lies half an x-height up, or near it.
        middle = line.box.y + line.box.height / 2 + 0.5 * size * stretch
        left, right = middle - (right - left) / 2, middle + (right - left) / 2
    slope = (right - left) / max(line.box.width, 1)
    turn = np.hypot(1.0, slope)
    along = np.array([1.0, slope]) / turn * stretch
    down = np.array([-slope, 1.0]) / turn * stretch
    start = np.array([line.box.x, left]) - MARGIN * size * along - ABOVE * size * down
    to_sheet = np.column_stack([along, down, start])
    cut = cv2.warpAffine(
        np.ascontiguousarray(_part(sheet.image, to_sheet, width, height)),
        to_sheet,
        (width, height),
        flags=cv2.INTER_LINEAR | cv2.WARP_INVERSE_MAP,
        borderMode=cv2.BORDER_CONSTANT,
        borderValue=255,
    )
    spare = round((MARGIN - _OWN) * size)
    own = (spare, max(width - spare, spare + 1))
    return Print(_inked(np.asarray(cut, np.uint8), size, own), size, ABOVE * size, own)


def _part(
    image: NDArray[np.uint8], to_sheet: NDArray[np.float64], width: int, height: int
) -> NDArray[np.uint8]:
    """The rows a slug stands on; the map is shifted to them."""
    corners = to_sheet @ np.array([[0, width, 0, width], [0, 0, height, height], [1, 1, 1, 1]])
    top = max(0, int(np.floor(corners[1].min())) - 3)
    bottom = max(top + 1, int(np.ceil(corners[1].max())) + 4)
    to_sheet[1, 2] -= top
    return image[top:bottom]


def _inked(cut: NDArray[np.uint8], x_height_px: float, own: tuple[int, int]) -> NDArray[np.float32]:
    paper = float(np.percentile(cut, 80))
    black = float(np.percentile(cut[:, own[0] : own[1]], 2))
    ink = np.clip((paper - cut.astype(np.float32)) / max(paper - black, 24.0), 0.0, 1.0)
    return np.asarray(cv2.GaussianBlur(ink, (0, 0), max(_SOFT * x_height_px, 0.6)), np.float32)


def turned_print(held: Print) -> Print:
    """The same print end for end, as a slug put in upside down would give."""
    width = held.ink.shape[1]
    return Print(
        np.ascontiguousarray(held.ink[::-1, ::-1]),
        held.x_height_px,
        held.ink.shape[0] - held.baseline,
        (width - held.own[1], width - held.own[0]),
    )


def profile_lag(a: Print, b: Print) -> tuple[float, float]:
    """Where `b` lies best along `a`, columns to the right, and how alike they then are (to 1)."""
    step = _COARSE
    one, other = _coarse(a.profile, step), _coarse(b.profile, step)
    size = 1 << int(np.ceil(np.log2(len(one) + len(other))))
    product = np.fft.rfft(other, size) * np.conj(np.fft.rfft(one, size))
    found = np.fft.irfft(product, size)
    norm = float(np.linalg.norm(one) * np.linalg.norm(other))
    best = int(np.argmax(found))
    lag = best if best < size // 2 else best - size
    return lag * step, float(found[best]) / norm if norm > 0 else 0.0


def _coarse(profile: NDArray[np.float32], step: int) -> NDArray[np.float64]:
    cut = len(profile) // step * step
    coarse = profile[:cut].reshape(-1, step).mean(axis=1).astype(np.float64)
    return np.asarray(coarse - coarse.mean())
