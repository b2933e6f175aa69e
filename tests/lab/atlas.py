"""The atlas: every sort of every face drawn once, large, so that lines are only pasted together.

    python -m tests.lab.atlas FACES_DIR OUT.npz [--held]

Sorts are drawn with an x-height of 36 px (twice the reader's) and cut to their ink. `--held` draws
the faces that are kept out of training. A face that comes in several files by alphabet
(`…-latin-400-normal.woff2`, `…-latin-ext-…`, `…-greek-…`) is listed by the first.
"""

from __future__ import annotations

import csv
import sys
from dataclasses import dataclass
from functools import lru_cache
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
_PARTS = ("-latin-ext-", "-greek-", "-symbols-")
_LARGE = 1.5
"""Large ornaments to small ones."""


@dataclass(frozen=True, slots=True)
class Face:
    """One font file of the list `faces.csv`."""

    family: str
    style: str
    package: str
    file: str
    use: str
    """train or held."""
    weight: float
    """How often it is set beside the others; 0: only its ornaments are."""


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

    def __init__(self, path: Path, style: str) -> None:
        self.path, self.style = str(path), style
        parts = [path.with_name(path.name.replace("-latin-", part)) for part in _PARTS]
        self.parts = [str(part) for part in parts if part != path and part.exists()]
        self.holder: dict[int, str] = {}
        """Which file holds a character."""
        for part in (*self.parts[::-1], self.path):
            with TTFont(part, lazy=True) as tables:
                self.holder |= dict.fromkeys(tables.getBestCmap() or {}, part)
        self.font = lru_cache(maxsize=32)(self._font)
        probe = self.font(200)
        # Ornaments are taken to stand beside letters of the usual proportions.
        top, cap = -90.0, -132.0
        if style != "ornament":
            pair = "xH" if ord("x") in self.holder else "νΗ"
            top, cap = (probe.getbbox(letter, anchor="ls")[1] for letter in pair)
        self.has_small = -top < -cap * 0.92
        x_height = -top if self.has_small else -cap * 0.68
        self.size = 200 * ATLAS_X_HEIGHT_PX / x_height
        self.cap_height = -cap * ATLAS_X_HEIGHT_PX / x_height
        with TTFont(self.path, lazy=True) as tables:
            gsub = tables["GSUB"].table if "GSUB" in tables else None
            listed = gsub.FeatureList.FeatureRecord if gsub and gsub.FeatureList else []
            self.features = {record.FeatureTag for record in listed}

    def _font(self, size: float, path: str = "", *, raqm: bool = False) -> ImageFont.FreeTypeFont:
        engine = ImageFont.Layout.RAQM if raqm else ImageFont.Layout.BASIC
        return ImageFont.truetype(path or self.path, size, layout_engine=engine)

    def ink(
        self, text: str, scale: float = 1.0, feature: str = ""
    ) -> tuple[NDArray[np.uint8], int, int, float] | None:
        """Pixels, top row, left column, advance; None where the face hasn't the characters."""
        holders = {self.holder.get(ord(c)) for c in text}
        path = holders.pop()
        if holders or path is None:
            return None
        font = self.font(self.size * scale, path, raqm=bool(feature))
        kwargs: dict[str, Any] = {"features": [feature]} if feature else {}
        advance = font.getlength(text, **kwargs)
        left, top, right, bottom = (int(v) for v in font.getbbox(text, anchor="ls", **kwargs))
        if right <= left or bottom <= top:
            return None
        canvas = Image.new("L", (right - left + 2, bottom - top + 2))
        ImageDraw.Draw(canvas).text((1 - left, 1 - top), text, 255, font, anchor="ls", **kwargs)
        return np.asarray(canvas), top - 1, left - 1, advance

    def slot(self, slot: Slot) -> tuple[NDArray[np.uint8], int, int, float] | None:
        """The sort of a slot; None where the face has none, or another stands in its place."""
        small = slot.kind != "small-cap" and slot.shown.upper() != slot.shown
        if slot.kind.endswith("ornament"):
            return self.ink(slot.shown, scale=_LARGE if slot.kind == "large-ornament" else 1.0)
        if self.style == "ornament" or (
            small and (not self.has_small or self.style == "small-caps")
        ):
            return None
        return self._letter(slot)

    def _letter(self, slot: Slot) -> tuple[NDArray[np.uint8], int, int, float] | None:
        if slot.kind == "small-cap":
            if self.style != "small-caps" and "smcp" not in self.features:
                return self.ink(slot.label, scale=1.06 * ATLAS_X_HEIGHT_PX / self.cap_height)
            return self.ink(slot.shown, feature="" if self.style == "small-caps" else "smcp")
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
        pen = _Pen(directory / face.file, face.style)
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


def load(path: Path, *, pixels: bool = True) -> Atlas:
    """Read an atlas back, with no pixels where it is only to be set from."""
    held = np.load(path)
    areas = held["size"][:, 0].astype(np.int64) * held["size"][:, 1]
    return Atlas(
        tuple(
            Face(row[0], row[1], row[2], row[3], row[4], float(row[5]))
            for row in held["faces"].tolist()
        ),
        held["pixels"] * np.uint8(255 // (_GREYS - 1)) if pixels else np.zeros(0, np.uint8),
        np.concatenate([[0], np.cumsum(areas)[:-1]]),
        *(held[name] for name in ("size", "place", "advance", "table", "cap_height", "em")),
    )


if __name__ == "__main__":
    use = "held" if "--held" in sys.argv else "train"
    save(build(Path(sys.argv[1]), faces(use)), Path(sys.argv[2]))
