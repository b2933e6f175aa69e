"""Make a page coarser and noisier, as a poorer scanner would."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

if TYPE_CHECKING:
    from proofcheck.base.values import Grey

__all__ = ["SCAN_DPI", "Wear"]

SCAN_DPI = 300
"""Resolution the pages were scanned at, or near enough: the finest they are read at."""
_INK, _PAPER, _NOISE = 45.0, 228.0, 12.0


@dataclass(frozen=True, slots=True)
class Wear:
    """What is done to every page before it is read."""

    dpi: int = SCAN_DPI
    noise: bool = False

    @property
    def scale(self) -> float:
        """Size of a worn page to that of the page."""
        return self.dpi / SCAN_DPI

    def worn(self, image: Grey, seed: int) -> Grey:
        """The page as this scanner would see it."""
        if self.dpi != SCAN_DPI:
            way = cv2.INTER_AREA if self.scale < 1 else cv2.INTER_CUBIC
            image = cv2.resize(image, None, fx=self.scale, fy=self.scale, interpolation=way)
        if self.noise:
            soft = cv2.GaussianBlur(image, (0, 0), 0.7).astype(np.float32) / 255
            grain = np.random.default_rng(seed).normal(0, _NOISE, soft.shape)
            image = np.clip(_INK + (_PAPER - _INK) * soft + grain, 0, 255).astype(np.uint8)
        return image
