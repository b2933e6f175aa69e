"""Faces as sets of matrices: outlines and set widths straight from the font files.

Outlines are kept in ems (y up, baseline at 0), so that a sort can be set at any size, at any part
of a pixel, and turned about the middle of its body, as metal can.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
from fontTools.pens.basePen import BasePen
from fontTools.ttLib import TTFont
from numpy.typing import NDArray

__all__ = ["FAMILIES", "LIGATURES", "Face", "Family", "Glyph", "family", "register_family"]

FACES = Path(__file__).parent.parent / "faces"

LIGATURES = {"ffi": "\ufb03", "ffl": "\ufb04", "ff": "\ufb00", "fi": "\ufb01", "fl": "\ufb02"}
"""Those a line-casting keyboard carries, longest first."""

CURVE_STEPS = 8
SMALL_CAP_SCALE = 0.80


@dataclass(frozen=True, slots=True)
class Glyph:
    """One character's outline: closed contours of (x, y) in ems, y up, and its set width."""

    advance_em: float
    contours: tuple[NDArray[np.float64], ...]


class _Flattener(BasePen):
    """Collects contours as polygons."""

    def __init__(self, glyphs):
        super().__init__(glyphs)
        self.contours: list[list[tuple[float, float]]] = []

    def _moveTo(self, pt):  # noqa: N802 - the pen's own protocol
        self.contours.append([pt])

    def _lineTo(self, pt):  # noqa: N802
        self.contours[-1].append(pt)

    def _curveToOne(self, pt1, pt2, pt3):  # noqa: N802
        start = self.contours[-1][-1]
        for step in range(1, CURVE_STEPS + 1):
            t = step / CURVE_STEPS
            u = 1 - t
            weights = (u**3, 3 * u * u * t, 3 * u * t * t, t**3)
            self.contours[-1].append(
                tuple(
                    sum(w * p[i] for w, p in zip(weights, (start, pt1, pt2, pt3), strict=True))
                    for i in (0, 1)
                )
            )


class Face:
    """One font file."""

    def __init__(self, path: Path):
        self._font = TTFont(path)
        self._cmap = self._font.getBestCmap()
        self._glyphs = self._font.getGlyphSet()
        self._units = self._font["head"].unitsPerEm
        self._small = self._substitutions("smcp")
        self._made: dict[tuple[str, bool], Glyph] = {}

    def _substitutions(self, tag: str) -> dict[str, str]:
        if "GSUB" not in self._font:
            return {}
        table = self._font["GSUB"].table
        wanted = {
            index
            for record in table.FeatureList.FeatureRecord
            if record.FeatureTag == tag
            for index in record.Feature.LookupListIndex
        }
        found: dict[str, str] = {}
        for index in wanted:
            for sub in table.LookupList.Lookup[index].SubTable:
                plain = getattr(sub, "ExtSubTable", sub)
                found.update(getattr(plain, "mapping", {}))
        return found

    def take_ligatures(self) -> None:
        """Make the f ligatures that the font holds only by substitution castable like the rest."""
        if "GSUB" not in self._font:
            return
        f, names = self._cmap.get(ord("f")), {n: chr(c) for c, n in self._cmap.items()}
        for lookup in self._font["GSUB"].table.LookupList.Lookup:
            for sub in lookup.SubTable:
                held = getattr(getattr(sub, "ExtSubTable", sub), "ligatures", {})
                for found in held.get(f, ()):
                    letters = "f" + "".join(names.get(n, "?") for n in found.Component)
                    if letters in LIGATURES:
                        self._cmap.setdefault(ord(LIGATURES[letters]), found.LigGlyph)

    def has(self, char: str) -> bool:
        """Whether the face holds this character."""
        return ord(char) in self._cmap

    def glyph(self, char: str, *, small_cap: bool = False) -> Glyph:
        """The outline of one character; KeyError where the face has none."""
        key = (char, small_cap)
        if key not in self._made:
            self._made[key] = self._small_cap(char) if small_cap else self._plain(char)
        return self._made[key]

    def _small_cap(self, char: str) -> Glyph:
        name = self._cmap.get(ord(char), "")
        if name in self._small:
            return self._outline(self._small[name])
        if not char.islower():
            return self._plain(char)
        capital = self._plain(char.upper())
        return Glyph(
            capital.advance_em * SMALL_CAP_SCALE,
            tuple(contour * SMALL_CAP_SCALE for contour in capital.contours),
        )

    def _plain(self, char: str) -> Glyph:
        if not self.has(char):
            msg = f"the face has no {char!r} (U+{ord(char):04X})"
            raise KeyError(msg)
        return self._outline(self._cmap[ord(char)])

    def _outline(self, name: str) -> Glyph:
        pen = _Flattener(self._glyphs)
        self._glyphs[name].draw(pen)
        contours = tuple(
            np.array(contour, dtype=np.float64) / self._units
            for contour in pen.contours
            if len(contour) > 2
        )
        return Glyph(self._glyphs[name].width / self._units, contours)

    def height_em(self, char: str) -> float:
        """How far a character rises above the baseline, in ems."""
        return max(float(contour[:, 1].max()) for contour in self.glyph(char).contours)


@dataclass(frozen=True, slots=True)
class Family:
    """The faces one machine or case holds: roman with its italic and bold."""

    name: str
    roman: Face
    italic: Face
    bold: Face

    def face(self, style: str) -> Face:
        """The face for a style: "roman", "italic", "bold" or "small-caps"."""
        return {"italic": self.italic, "bold": self.bold}.get(style, self.roman)

    def glyph(self, char: str, style: str) -> Glyph:
        """The outline of a character in a style."""
        return self.face(style).glyph(char, small_cap=style == "small-caps")


FAMILIES = {
    "schola": ("texgyreschola-regular.otf", "texgyreschola-italic.otf", "texgyreschola-bold.otf"),
    "old-standard": (
        "OldStandard-Regular.ttf",
        "OldStandard-Italic.ttf",
        "texgyreschola-bold.otf",
    ),
    "goudy": ("GoudyBookletter1911.otf", "OldStandard-Italic.ttf", "texgyreschola-bold.otf"),
}
"""Roman, italic, bold of each family (see tests/faces/README.md)."""


@cache
def _face(name: str) -> Face:
    return Face(FACES / name)


@cache
def family(name: str) -> Family:
    """A family by its name in `FAMILIES`."""
    return Family(name, *(_face(file) for file in FAMILIES[name]))


def register_family(
    name: str, roman: Path, italic: Path | None = None, bold: Path | None = None
) -> Family:
    """Make a family of font files anywhere; styles it lacks are set in its roman."""
    files = tuple(str((file or roman).resolve()) for file in (roman, italic, bold))
    if FAMILIES.setdefault(name, files) != files:
        msg = f"there is a family {name!r} already, of other files"
        raise ValueError(msg)
    made = family(name)
    for face in (made.roman, made.italic, made.bold):
        face.take_ligatures()
    return made
