"""Strips of pages to look at: plants before and after, alarms with the copy's words above."""

from __future__ import annotations

from typing import TYPE_CHECKING

import cv2
import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from proofcheck.base.values import Box, Grey

    from .planting import Plant

__all__ = ["contact_sheet", "plant_strips", "strip_round"]

_WIDTH = 900
_PLAIN = str.maketrans("⟦⟧‘’“”—–", "{}''\"\"=-")
_LEAST_PX, _TALLEST_PX = 40, 80
"""Between these a box's height is taken for the size of the type."""


def strip_round(image: Grey, box: Box) -> Grey:
    """The page round a box, a dozen letters to either side, with ticks above and below it."""
    size = max(min(box.height, _TALLEST_PX), _LEAST_PX)
    middle = box.y + box.height / 2
    tall = max(box.height, _LEAST_PX) + size
    x, right = max(box.x - 6 * size, 0), min(box.right + 6 * size, image.shape[1])
    y, bottom = max(round(middle - tall / 2), 0), min(round(middle + tall / 2), image.shape[0])
    strip = image[y:bottom, x:right].copy()
    if strip.size:
        left = min(max(box.x - x - 1, 0), strip.shape[1] - 2)
        stop = max(min(box.right - x + 1, strip.shape[1]), left + 2)
        strip[:3, left:stop] = 110
        strip[-3:, left:stop] = 110
    return strip


def plant_strips(before: Grey, after: Grey, plants: Sequence[Plant]) -> list[tuple[str, Grey]]:
    """For each plant the page as printed over the page with the fault."""
    strips = []
    for plant in plants:
        pair = [strip_round(page, plant.box) for page in (before, after)]
        width = max(strip.shape[1] for strip in pair)
        both = np.vstack(
            [cv2.copyMakeBorder(s, 1, 1, 0, width - s.shape[1], 0, value=255) for s in pair]
        )
        strips.append((f"{plant.name}: {plant.wanted} > {plant.printed}", both))
    return strips


def contact_sheet(strips: Sequence[tuple[str, Grey]], path: Path) -> None:
    """Write strips with a caption each, one under another, as a PNG."""
    rows = []
    for caption, strip in strips:
        scale = min(_WIDTH / max(strip.shape[1], 1), 1.6)
        size = (max(round(strip.shape[1] * scale), 1), max(round(strip.shape[0] * scale), 1))
        shown = cv2.resize(strip, size, interpolation=cv2.INTER_AREA)
        head = np.full((24, _WIDTH), 235, np.uint8)
        plain = caption.translate(_PLAIN).encode("ascii", "replace").decode()
        cv2.putText(head, plain, (4, 17), cv2.FONT_HERSHEY_SIMPLEX, 0.52, 0, 1, cv2.LINE_AA)
        body = np.full((size[1] + 6, _WIDTH), 255, np.uint8)
        body[3 : 3 + size[1], : size[0]] = shown[:, :_WIDTH]
        rows += [head, body]
    if rows:
        cv2.imwrite(str(path), np.vstack(rows))
