"""The atlas: every sort of every face drawn once, large, so that lines are only pasted together.

    python -m tests.lab.atlas FACES_DIR OUT.npz [--held]

Sorts are drawn with an x-height of 36 px (twice the reader's) and cut to their ink. `--held` draws
the faces that are kept out of training.
"""

from __future__ import annotations

import csv
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from fontTools.ttLib import TTFont  # type: ignore[import-untyped]
from PIL import Image, ImageDraw, ImageFont

from tests.lab.slots import SLOTS, Slot

if TYPE_CHECKING:
    from numpy.typing import NDArray

__all__ = ["ATLAS_X_HEIGHT_PX", "Atlas", "Face", "build", "faces", "load", "save"]

ATLAS_X_HEIGHT_PX = 36
_GREYS = 16


@dataclass(frozen=True, slots=True)
class Face:
    """One font file of the list `faces.csv`."""

    family: str
    style: str
    package: str
    file: str
    use: str
    weight: float


@dataclass(frozen=True, slots=True, eq=False)
class Atlas:
    """All sorts; glyph arrays are parallel, `table` is (faces, slots) with −1 for "has none"."""

    faces: tuple[Face, ...]
    pixels: NDArray[np.uint8]
    """All glyphs' pixels one after another, row by row, 255 = ink."""
    start: NDArray[np.int64]
    size: NDArray[np.int16]
    """(n, 2): height, width in pixels."""
    place: NDArray[np.int16]
    """(n, 2): top row from the baseline (up is negative), left column from the pen."""
    advance: NDArray[np.float32]
    table: NDArray[np.int32]
    cap_height: NDArray[np.float32]
    em: NDArray[np.float32]


def faces(use: str) -> list[Face]:
    """The listed faces for one use, "train" or "held"."""
    with (Path(__file__).parent / "faces.csv").open(newline="") as listed:
        rows = [Face(**{**row, "weight": float(row["weight"])}) for row in csv.DictReader(listed)]  # type: ignore[arg-type]
    return [face for face in rows if face.use == use]


class _Pen:
    """Draws the sorts of one font file."""

    def __init__(self, path: Path) -> None:
        self.path = str(path)
        probe = self.font(200)
        top = probe.getbbox("x", anchor="ls")[1]
        cap = probe.getbbox("H", anchor="ls")[1]
        self.has_small = -top < -cap * 0.92
        x_height = -top if self.has_small else -cap * 0.68
        self.size = 200 * ATLAS_X_HEIGHT_PX / x_height
        self.cap_height = -cap * ATLAS_X_HEIGHT_PX / x_height
        with TTFont(self.path, lazy=True) as tables:
            self.cmap = dict(tables.getBestCmap() or {})
            gsub = tables["GSUB"].table if "GSUB" in tables else None
            listed = gsub.FeatureList.FeatureRecord if gsub and gsub.FeatureList else []
            self.features = {record.FeatureTag for record in listed}

    def font(self, size: float, *, features: bool = False) -> ImageFont.FreeTypeFont:
        engine = ImageFont.Layout.RAQM if features else ImageFont.Layout.BASIC
        return ImageFont.truetype(self.path, size, layout_engine=engine)

    def ink(
        self, text: str, scale: float = 1.0, feature: str = ""
    ) -> tuple[NDArray[np.uint8], int, int, float] | None:
        """Pixels, top row, left column, advance; None where the face hasn't the characters."""
        if any(ord(c) not in self.cmap for c in text):
            return None
        font = self.font(self.size * scale, features=bool(feature))
        kwargs: dict[str, Any] = {"features": [feature]} if feature else {}
        advance = font.getlength(text, **kwargs)
        left, top, right, bottom = (int(v) for v in font.getbbox(text, anchor="ls", **kwargs))
        if right <= left or bottom <= top:
            return None
        canvas = Image.new("L", (right - left + 2, bottom - top + 2))
        ImageDraw.Draw(canvas).text((1 - left, 1 - top), text, 255, font, anchor="ls", **kwargs)
        return np.asarray(canvas), top - 1, left - 1, advance

    def slot(self, slot: Slot) -> tuple[NDArray[np.uint8], int, int, float] | None:
        """The sort of a slot."""
        if slot.kind == "small-cap":
            if "smcp" in self.features:
                return self.ink(slot.shown, feature="smcp")
            return self.ink(slot.label, scale=1.06 * ATLAS_X_HEIGHT_PX / self.cap_height)
        if slot.kind == "old-style":
            return self.ink(slot.shown, feature="onum") if "onum" in self.features else None
        if slot.kind == "superior":
            drawn = self.ink(slot.shown, scale=0.6)
            return drawn and (drawn[0], drawn[1] - round(self.cap_height * 0.45), *drawn[2:])
        if slot.kind.endswith("fraction"):
            return self.fraction(slot)
        return self.ink(slot.shown)

    def fraction(self, slot: Slot) -> tuple[NDArray[np.uint8], int, int, float] | None:
        """A fraction put together from two small figures and a bar."""
        parts = [self.ink(c, scale=0.56) for c in slot.shown]
        if parts[0] is None or parts[1] is None:
            return None
        (over, under), height = (parts[0][0], parts[1][0]), round(self.cap_height * 1.15)
        level = slot.kind == "bar-fraction"
        width = max(over.shape[1], under.shape[1]) + 4 if level else over.shape[1] + under.shape[1]
        canvas = Image.new("L", (width, height))
        middle = (width - over.shape[1]) // 2 if level else 0
        canvas.paste(255, (middle, 0), Image.fromarray(over))
        place = ((width - under.shape[1]) // 2 if level else over.shape[1], height - under.shape[0])
        canvas.paste(255, place, Image.fromarray(under))
        line = (1, height // 2, width - 2, height // 2)
        if not level:
            line = (over.shape[1] // 2, height - 2, width - under.shape[1] // 2, 2)
        ImageDraw.Draw(canvas).line(line, 255, 3)
        return np.asarray(canvas), round(-self.cap_height * 1.07), 2, float(width + 4)


def build(directory: Path, listed: list[Face]) -> Atlas:
    """Draw all sorts of the listed faces, whose files lie in `directory`."""
    glyphs: list[tuple[NDArray[np.uint8], int, int, float]] = []
    table = np.full((len(listed), len(SLOTS)), -1, np.int32)
    caps, ems = [], []
    for number, face in enumerate(listed):
        pen = _Pen(directory / face.file)
        caps.append(pen.cap_height)
        ems.append(pen.size)
        for place, slot in enumerate(SLOTS):
            drawn = pen.slot(slot)
            if drawn and drawn[0].any() and max(drawn[0].shape) < 200:
                table[number, place] = len(glyphs)
                glyphs.append(drawn)
    sizes = np.array([g[0].shape for g in glyphs], np.int16)
    areas = sizes[:, 0].astype(np.int64) * sizes[:, 1]
    return Atlas(
        tuple(listed),
        np.concatenate([g[0].ravel() for g in glyphs]),
        np.concatenate([[0], np.cumsum(areas)[:-1]]),
        sizes,
        np.array([g[1:3] for g in glyphs], np.int16),
        np.array([g[3] for g in glyphs], np.float32),
        table,
        np.array(caps, np.float32),
        np.array(ems, np.float32),
    )


def save(atlas: Atlas, path: Path) -> None:
    """Write an atlas as one compressed file; greys are kept to sixteen steps."""
    packed = (atlas.pixels.astype(np.uint16) * (_GREYS - 1) + 127) // 255
    listed = [[f.family, f.style, f.package, f.file, f.use, str(f.weight)] for f in atlas.faces]
    rest = {
        name: getattr(atlas, name)
        for name in ("size", "place", "advance", "table", "cap_height", "em")
    }
    np.savez_compressed(path, faces=np.array(listed), pixels=packed.astype(np.uint8), **rest)


def load(path: Path) -> Atlas:
    """Read an atlas back."""
    held = np.load(path)
    areas = held["size"][:, 0].astype(np.int64) * held["size"][:, 1]
    return Atlas(
        tuple(
            Face(row[0], row[1], row[2], row[3], row[4], float(row[5]))
            for row in held["faces"].tolist()
        ),
        held["pixels"] * np.uint8(255 // (_GREYS - 1)),
        np.concatenate([[0], np.cumsum(areas)[:-1]]),
        *(held[name] for name in ("size", "place", "advance", "table", "cap_height", "em")),
    )


if __name__ == "__main__":
    use = "held" if "--held" in sys.argv else "train"
    save(build(Path(sys.argv[1]), faces(use)), Path(sys.argv[2]))
