"""Lists in columns: pieces of rows printed by themselves and put where they are told to stand."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from .matter import Head, Style
from .printing import Proof, print_proof
from .setting import compose

__all__ = ["laid_out", "piece_of"]

Picture = NDArray[np.uint8]


def piece_of(text: str, style: Style, *, face: str = "roman") -> Picture:
    """One line of type cut to its ink from left to right, and as high as its body."""
    head = Head(text, style.body_pt, 0.0, align="left", style=face)
    forme = compose([head], measure_picas=len(text) * style.body_pt / 12 + 4, style=style)
    image = print_proof(forme, margin_picas=1).image
    margin = 50
    columns = np.flatnonzero((image < 128).any(0))
    return image[margin:-margin, columns[0] : columns[-1] + 1]


def laid_out(
    pieces: Sequence[tuple[float, float, str]],
    style: Style,
    *,
    width_px: int,
    pitch_px: int = 48,
    right: float | None = None,
) -> Proof:
    """Pieces at (x in pixels, row, text) on one sheet; those at x = `right` end there."""
    margin = 150
    rows = max(row for _, row, _ in pieces) + 1
    image = np.full((round(2 * margin + rows * pitch_px), width_px + 2 * margin), 255, np.uint8)
    for x, row, text in pieces:
        picture = piece_of(text, style)
        left = margin + round(x) - (picture.shape[1] if x == right else 0)
        top = margin + round(row * pitch_px)
        window = image[top : top + picture.shape[0], left : left + picture.shape[1]]
        np.minimum(window, picture, out=window)
    return Proof(image, (), 300.0, "", ())
