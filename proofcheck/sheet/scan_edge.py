"""What of a sheet's ink lies at the edge of the scan it was taken from."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from proofcheck.base.values import Sheet
    from proofcheck.sheet.pieces import Pieces

__all__ = ["are_at_edge"]

_EDGE_IN: Final = 0.04
"""Ink so near the edge of the scan is its shadow."""


def are_at_edge(sheet: Sheet, pieces: Pieces, step: int) -> NDArray[np.bool_]:
    """Which pieces are at the edge of the scan, which may lie aslant on the sheet.

    Args:
        sheet: the sheet.
        pieces: in pixels of the picture worked on.
        step: sheet pixels to one of those.
    """
    near = np.zeros(len(pieces), bool)
    spare = _EDGE_IN * sheet.dpi
    for x in (pieces.x, pieces.right):
        for y in (pieces.y, pieces.bottom):
            u, v, w = sheet.to_scan @ np.stack([x * step, y * step, np.ones(len(pieces))])
            u, v = u / w, v / w
            near |= (u < spare) | (v < spare)
            near |= (u > sheet.scan.width_px - spare) | (v > sheet.scan.height_px - spare)
    return near
