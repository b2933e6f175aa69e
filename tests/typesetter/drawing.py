"""A pen that fills outlines four times as large and reduces them by area; rules and ornaments."""

from __future__ import annotations

import math
from dataclasses import dataclass

import cv2
import numpy as np
from numpy.typing import NDArray

from .matter import Furniture

__all__ = ["OVER", "Pen", "draw_furniture", "rect", "stamp"]

OVER = 4
SHIFT = 6


@dataclass(frozen=True, slots=True)
class Pen:
    """Fills outlines on a strip whose top left pixel is (left, top) of the sheet."""

    strip: NDArray[np.uint8]
    px: float
    left: int
    top: int
    rng: np.random.Generator

    def fill(self, contours) -> None:
        """Fill polygons given in points of the sheet."""
        corner = np.array((self.left, self.top), dtype=np.float64)
        scale, half = OVER * (1 << SHIFT), 1 << (SHIFT - 1)
        made = [np.round((c * self.px - corner) * scale - half).astype(np.int32) for c in contours]
        cv2.fillPoly(self.strip, made, 255, lineType=cv2.LINE_8, shift=SHIFT)

    def bite(self, contours, seed: int) -> None:
        """Print a damaged letter: whole, then a nick out of it and a ragged edge at the break."""
        alone = np.zeros_like(self.strip)
        Pen(alone, self.px, self.left, self.top, self.rng).fill(contours)
        ys, xs = np.nonzero(alone)
        rng = np.random.default_rng(seed)
        x0, x1, y0, y1 = xs.min(), xs.max(), ys.min(), ys.max()
        # The break lies in the letter's ink, away from its very ends.
        at = rng.integers(len(xs))
        for _ in range(50):
            inside = (xs[at] - x0) > 0.2 * (x1 - x0) or (ys[at] - y0) > 0.2 * (y1 - y0)
            if inside:
                break
            at = rng.integers(len(xs))
        size = 0.24 * max(y1 - y0, x1 - x0)
        angles = np.linspace(0, 2 * math.pi, 14, endpoint=False)
        radii = size * rng.uniform(0.6, 1.15, 14)
        nick = np.stack([xs[at] + radii * np.cos(angles), ys[at] + radii * np.sin(angles)], axis=1)
        cv2.fillPoly(alone, [np.round(nick).astype(np.int32)], 0)
        np.maximum(self.strip, alone, out=self.strip)


def rect(x: float, y: float, width: float, height: float) -> NDArray[np.float64]:
    """The outline of an upright rectangle."""
    return np.array([[x, y], [x + width, y], [x + width, y + height], [x, y + height]])


def stamp(ink, strip, left: int, top: int) -> None:
    """Reduce a strip by area and lay it on the sheet (ink adds up to black)."""
    small = cv2.resize(
        strip, (strip.shape[1] // OVER, strip.shape[0] // OVER), interpolation=cv2.INTER_AREA
    )
    y0, x0 = max(top, 0), max(left, 0)
    y1 = min(top + small.shape[0], ink.shape[0])
    x1 = min(left + small.shape[1], ink.shape[1])
    if y1 <= y0 or x1 <= x0:
        return
    part = ink[y0:y1, x0:x1]
    np.maximum(part, small[y0 - top : y1 - top, x0 - left : x1 - left], out=part)


def draw_furniture(ink, item: Furniture, x_pt: float, y_pt: float, px: float) -> None:
    """Print a rule or an ornament at its place in points."""
    if item.kind == "gap":
        return
    top = math.floor(y_pt * px) - 2
    left = math.floor(x_pt * px) - 2
    rows = math.ceil(item.body_pt * px) + 6
    columns = math.ceil(max(item.width_pt, 1.0) * px) + 6
    strip = np.zeros((rows * OVER, columns * OVER), np.uint8)
    pen = Pen(strip, px, left, top, np.random.default_rng(0))
    pen.fill(_furniture_shape(item, x_pt, y_pt))
    stamp(ink, strip, left, top)


def _furniture_shape(item: Furniture, x: float, y: float):
    middle = y + item.body_pt / 2
    if item.kind == "column-rule":
        return [rect(x, y, item.weight_pt, item.body_pt)]
    if item.kind == "rule":
        return [rect(x, middle - item.weight_pt / 2, item.width_pt, item.weight_pt)]
    if item.kind == "double-rule":
        thick = item.weight_pt * 2.2
        return [
            rect(x, middle - thick, item.width_pt, thick),
            rect(x, middle + thick * 0.8, item.width_pt, item.weight_pt * 0.6),
        ]
    cx, half = x + item.width_pt / 2, item.body_pt * 0.28
    corners = [[cx, middle - half], [cx + half, middle], [cx, middle + half], [cx - half, middle]]
    lozenge = np.array(corners)
    dashes = []
    for side in (-1, 1):
        near, far = cx + side * half * 1.6, cx + side * item.width_pt / 2
        dashes.append(np.array([[near, middle - 0.9], [far, middle], [near, middle + 0.9]]))
    return [lozenge, *dashes]
