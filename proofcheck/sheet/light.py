"""Even out the light on a sheet, and turn a negative into a positive."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import cv2
import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.base.values import Grey

__all__ = ["PAPER", "evened", "is_negative"]

PAPER: Final = 250
"""Grey level that bare paper is brought to: just under white, so that its texture is kept."""

_DARK_PAPER: Final = 115
"""Only a sheet darker than this over half its area can be a negative."""

_CELLS: Final = 96
"""Cells along the longer side of the map of the light."""

_PAPER_SHARE: Final = 0.55
"""A cell darker than this share of the light fitted there is not paper but a cut or a rule: the
deepest shadow a lamp and a hand cast on a desk lies above it, solid ink well below."""

_TERMS: Final = ((0, 0), (1, 0), (0, 1), (2, 0), (1, 1), (0, 2), (3, 0), (2, 1), (1, 2), (0, 3))
"""Powers of x and y in the surface fitted to the light."""


def is_negative(grey: Grey) -> bool:
    """Whether the sheet is white on black: dark paper, and letters brighter than it.

    A page mostly taken up by a dark cut, or lying on a black background, is not: the letters on
    it are dark. Nor is a black panel with white paper all round it.
    """
    if np.median(grey[::4, ::4]) > _DARK_PAPER or _light_margin(grey):
        return False
    small = _small(grey, 800)
    paper = np.asarray(cv2.medianBlur(small, 41), np.int16)
    bright = (small > paper + 60) & (paper < _DARK_PAPER)
    dark = (small < paper - 60) & (paper >= _DARK_PAPER)
    return int(bright.sum()) > int(dark.sum())


def _light_margin(grey: Grey) -> bool:
    """Whether the sheet is light along three of its four edges."""
    deep = max(1, min(grey.shape) // 50)
    sides = (grey[:deep], grey[-deep:], grey[:, :deep], grey[:, -deep:])
    return sum(float(np.median(side)) > _DARK_PAPER for side in sides) >= 3


def evened(grey: Grey) -> Grey:
    """The sheet with its paper brought to `PAPER` all over and its ink in proportion.

    The light is taken from the paper alone: a smooth surface is fitted to the brightest part of
    each cell, cells far below it (cuts, black panels) are passed over, and what is left of shadow
    and stain is followed cell by cell. A sheet that is evenly white already comes back unchanged.
    """
    light = _light(grey)
    if light.min() >= 244:
        return grey
    height, width = grey.shape
    cells = np.asarray(np.clip(light + 0.5, 1, 255), np.uint8)  # bytes: the full map is large
    paper = cv2.resize(cells, (width, height), interpolation=cv2.INTER_LINEAR)
    return np.asarray(cv2.divide(grey, paper, scale=float(PAPER)), np.uint8)


def _small(grey: Grey, longest: int) -> Grey:
    scale = longest / max(grey.shape)
    if scale >= 1:
        return grey
    small = cv2.resize(grey, None, fx=scale, fy=scale, interpolation=cv2.INTER_AREA)
    return np.asarray(small, np.uint8)


def _light(grey: Grey) -> NDArray[np.float64]:
    """Brightness of bare paper in each cell, (rows, columns) of about `_CELLS` cells."""
    cells = _brightest(grey)
    rows, columns = cells.shape
    y, x = np.mgrid[0:rows, 0:columns]
    x, y = 2 * x / max(columns - 1, 1) - 1, 2 * y / max(rows - 1, 1) - 1
    terms = np.stack([x**a * y**b for a, b in _TERMS], axis=-1).reshape(-1, len(_TERMS))
    level = np.log(np.maximum(cells, 8.0)).ravel()
    fitted = _upper_surface(terms, level).reshape(cells.shape)
    surface = np.exp(np.clip(fitted, np.log(8.0), np.log(255.0)))
    paper = (cells > _PAPER_SHARE * surface).astype(np.float32)
    return _followed(cells, surface, paper)


def _brightest(grey: Grey) -> NDArray[np.float64]:
    """The paper's level in each cell: a high percentile, so that a word does not darken it."""
    fine = np.asarray(cv2.medianBlur(_small(grey, _CELLS * 8), 3), np.uint8)
    rows, columns = max(1, fine.shape[0] // 8), max(1, fine.shape[1] // 8)
    blocks = fine[: rows * 8, : columns * 8] if min(fine.shape) >= 8 else cv2.resize(fine, (8, 8))
    rows, columns = blocks.shape[0] // 8, blocks.shape[1] // 8
    blocks = blocks.reshape(rows, 8, columns, 8).swapaxes(1, 2).reshape(rows, columns, 64)
    high = np.partition(blocks, 57, axis=2)[:, :, 57]
    # Cells wholly under heavy type take the level of their neighbours.
    return cv2.dilate(high, np.ones((3, 3), np.uint8)).astype(np.float64)


def _upper_surface(
    terms: NDArray[np.float64], level: NDArray[np.float64], rounds: int = 12
) -> NDArray[np.float64]:
    """Least squares with weights that favour what lies above and drop what lies far below."""
    weights = np.ones_like(level)
    fitted = np.full_like(level, np.quantile(level, 0.8))
    ridge = 1e-3 * len(level) * np.eye(terms.shape[1])
    ridge[0, 0] = 0.0
    for _ in range(rounds):
        rest = level - fitted
        weights = np.where(rest > 0, 1.0, np.where(rest > -0.25, 0.3, 0.01))
        weighted = terms * weights[:, None]
        factors = np.linalg.solve(weighted.T @ terms + ridge, weighted.T @ level)
        fitted = terms @ factors
    return fitted


def _followed(
    cells: NDArray[np.float64], surface: NDArray[np.float64], paper: NDArray[np.float32]
) -> NDArray[np.float64]:
    """The light cell by cell: the paper's own level, smoothed; the surface where none is seen."""
    ratio = (cells / surface).astype(np.float32)
    held = cv2.GaussianBlur(paper, (0, 0), 1.2)
    local = cv2.GaussianBlur(ratio * paper, (0, 0), 1.2) / np.maximum(held, 1e-3)
    share = np.clip(held * 2.0, 0, 1)
    return np.asarray(np.clip(surface * (share * local + (1 - share)), 1.0, 255.0), np.float64)
