"""A marked page painted as a PNG picture.

The page is kept as two planes, the grey of the sheet and how much of the reader's ink covers it,
and written with a palette of greys and inks: small, quick to pack, and the same colours anywhere.
"""

from __future__ import annotations

import io
import math
from typing import TYPE_CHECKING

import cv2
import numpy as np

from proofcheck.marks.paths import extent
from proofcheck.results.marked.parts import FAINT, INK, TYPE

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.base.values import Grey
    from proofcheck.results.marked.parts import Inked, Page

__all__ = ["INK_RGB", "paint_png"]

INK_RGB = (196, 22, 28)
"""Red, dark enough to print as a clear grey in black only."""
SHADES = {FAINT: 0.55, TYPE: 0.88}
"""How dark the other two inks are, 0 to 1."""

_Z_RLE = 3
"""The deflate library's strategy of run lengths."""
_FINER = 4
"""Strokes are drawn on a raster this many times finer, and averaged."""
_SUBPIXEL = 4
_GREYS = 64
_COVERS = 12
_COVER_GREYS = 16


def paint_png(page: Page) -> bytes:
    """The page as the bytes of a PNG file with its resolution."""
    grey, cover = _planes(page)
    from PIL import Image

    picture = Image.frombytes("P", (page.width_px, page.height_px), _indexed(grey, cover).tobytes())
    picture.putpalette(_palette().tobytes())
    out = io.BytesIO()
    # Runs are nearly all that can be packed here: in black and white there is little else, and
    # looking for more in the grain of a grey sheet takes three times as long.
    picture.save(out, "PNG", compress_level=3, compress_type=_Z_RLE, dpi=(page.dpi, page.dpi))
    return out.getvalue()


def _planes(page: Page) -> tuple[Grey, Grey]:
    """The sheet's grey with the labels on it, and the cover of the reader's ink (255 = whole)."""
    grey = np.full((page.height_px, page.width_px), 255, dtype=np.uint8)
    if page.image is not None:
        x, y = page.at
        height, width = page.image.shape
        grey[y : y + height, x : x + width] = page.image
    cover = np.zeros_like(grey)
    for inked in page.inked():
        plane = cover if inked.ink == INK else grey
        _draw(plane, inked)
    return grey, cover


def _draw(plane: Grey, inked: Inked) -> None:
    """Strokes averaged from a finer raster into one plane: more cover, or darker grey."""
    held, reach = extent(inked.drawing), math.ceil(inked.pen_px) + 2
    left, top = max(math.floor(held.left) - reach, 0), max(math.floor(held.low) - reach, 0)
    right = min(math.ceil(held.right) + reach, plane.shape[1])
    bottom = min(math.ceil(held.high) + reach, plane.shape[0])
    if right <= left or bottom <= top:
        return
    fine = np.zeros(((bottom - top) * _FINER, (right - left) * _FINER), dtype=np.uint8)
    for stroke in inked.drawing:
        _draw_stroke(fine, stroke.points - (left, top), inked.pen_px * stroke.weight, inked.dash_px)
    soft = cv2.resize(fine, (right - left, bottom - top), interpolation=cv2.INTER_AREA)
    window = plane[top:bottom, left:right]
    if inked.ink == INK:
        np.maximum(window, soft, out=window)
    else:
        np.minimum(window, 255 - (soft * SHADES[inked.ink]).astype(np.uint8), out=window)


def _draw_stroke(fine: Grey, points: NDArray[np.float64], pen_px: float, dash_px: float) -> None:
    pen = max(1, round(pen_px * _FINER))
    scale = _FINER * 2**_SUBPIXEL
    # The middle of a pixel is at +½ of the finer raster, OpenCV's at whole numbers.
    fixed = np.round(points * scale - 2 ** (_SUBPIXEL - 1)).astype(np.int32)
    if len(fixed) == 1:
        x, y = (int(v) for v in fixed[0])
        cv2.circle(fine, (x, y), round(pen * 2 ** (_SUBPIXEL - 1)), 255, -1, cv2.LINE_8, _SUBPIXEL)
    elif dash_px:
        for piece in dashes(points, dash_px):
            _draw_stroke(fine, piece, pen_px, 0.0)
    else:
        cv2.polylines(fine, [fixed.reshape(-1, 1, 2)], False, 255, pen, cv2.LINE_8, _SUBPIXEL)


def dashes(points: NDArray[np.float64], dash: float) -> list[NDArray[np.float64]]:
    """A line cut into dashes of one length, with as much white between them less a quarter."""
    steps = np.hypot(*np.diff(points, axis=0).T)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    pieces = []
    for start in np.arange(0.0, along[-1], dash * 1.75):
        stop = min(start + dash, along[-1])
        inside = points[(along > start) & (along < stop)]
        ends = [
            np.array([np.interp(at, along, points[:, k]) for k in (0, 1)]) for at in (start, stop)
        ]
        pieces.append(np.vstack([ends[0], inside, ends[1]]))
    return pieces


def _indexed(grey: Grey, cover: Grey) -> Grey:
    """Palette numbers: plain greys first, then for each cover a row of greys beneath it."""
    shades = (np.arange(256) * _GREYS // 256).astype(np.uint8)
    index = cv2.LUT(grey, shades).astype(np.uint8, copy=False)
    rows, columns = np.nonzero(cover > 255 // (2 * _COVERS))
    amount = np.minimum(cover[rows, columns].astype(np.int32) * _COVERS // 256, _COVERS - 1)
    under = grey[rows, columns].astype(np.int32) * _COVER_GREYS // 256
    index[rows, columns] = _GREYS + amount * _COVER_GREYS + under
    return index


def _palette() -> NDArray[np.uint8]:
    """256 colours, shape (256, 3)."""
    plain = np.repeat(np.linspace(0, 255, _GREYS)[:, None], 3, axis=1)
    amount = (np.arange(_COVERS) + 1)[:, None, None] / _COVERS
    under = np.linspace(0, 255, _COVER_GREYS)[None, :, None]
    # Ink over ink: the red lies on the paper and leaves the black of the type beneath it dark.
    red = np.array(INK_RGB)[None, None, :] * (0.45 + 0.55 * under / 255)
    mixed = (amount * red + (1 - amount) * under).reshape(-1, 3)
    return np.vstack([plain, mixed]).round().astype(np.uint8)
