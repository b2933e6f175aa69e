"""The slope of upright letters, by character, over all faces of the atlas.

python -m tests.lab.uprights ATLAS.npz > proofcheck/metal/uprights.csv
"""

from __future__ import annotations

import csv
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import cv2
import numpy as np

from proofcheck.metal.patches import BASELINE_ROW, TALL, WIDE, X_HEIGHT
from proofcheck.metal.slope import slopes
from tests.lab.atlas import ATLAS_X_HEIGHT_PX, load
from tests.lab.slots import SLOT_NUMBER

if TYPE_CHECKING:
    from tests.lab.atlas import Atlas

__all__ = ["upright_slopes"]

_CHARACTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789"
_SCALE = X_HEIGHT / ATLAS_X_HEIGHT_PX


def upright_slopes(faces: Atlas) -> dict[str, tuple[float, float]]:
    """Mean slope of each letter and figure in the romans of an atlas, and its spread."""
    romans = [number for number, face in enumerate(faces.faces) if face.style == "roman"]
    found = {}
    for character in _CHARACTERS:
        seen = [_slope(faces, face, SLOT_NUMBER[character]) for face in romans]
        known = np.array([slope for slope in seen if slope is not None])
        found[character] = float(known.mean()), float(known.std())
    return found


def _slope(faces: Atlas, face: int, slot: int) -> float | None:
    glyph = int(faces.table[face, slot])
    if glyph < 0:
        return None
    tall, wide = (int(v) for v in faces.size[glyph])
    start = int(faces.start[glyph])
    drawn = faces.pixels[start : start + tall * wide].reshape(tall, wide).astype(np.float32) / 255
    x, y = WIDE / 2 - _SCALE * wide / 2, BASELINE_ROW + _SCALE * float(faces.place[glyph][0])
    move = np.array([[_SCALE, 0, x], [0, _SCALE, y]])
    patch = cv2.warpAffine(cv2.GaussianBlur(drawn, (0, 0), 1.0), move, (WIDE, TALL))
    soft = np.asarray(cv2.GaussianBlur(patch, (0, 0), 0.7), np.float32)
    return float(slopes(soft[None], np.array([_SCALE * wide / 2], np.float32))[0])


def main(arguments: list[str]) -> None:
    rows = csv.writer(sys.stdout, lineterminator="\n")
    rows.writerow(["character", "slope", "spread"])
    for character, (slope, spread) in upright_slopes(load(Path(arguments[0]))).items():
        rows.writerow([character, f"{slope:.3f}", f"{spread:.3f}"])


if __name__ == "__main__":
    main(sys.argv[1:])
