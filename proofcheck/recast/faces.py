"""What is known of a face beforehand: its set widths in ems.

For a shop that gives nothing, the usual widths are the means of three open faces of the old style
(TeX Gyre Schola, Old Standard, Goudy Bookletter 1911), measured from their files.
"""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass, field
from functools import lru_cache
from importlib import resources
from typing import TYPE_CHECKING

from proofcheck.base.errors import SettingError
from proofcheck.base.toml_file import toml_table
from proofcheck.base.visible import visible

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

__all__ = ["Face", "load_face", "usual_face"]

_UNKNOWN_EM = 0.5
_SMALL_CAPITALS = 0.8
_MOST_EM = 10.0
_MATRIX_EM = 1000
_JOINED_SIGNS = {"ff": "\ufb00", "fi": "\ufb01", "fl": "\ufb02", "ffi": "\ufb03", "ffl": "\ufb04"}
_TO_SEEK = "".join(map(chr, [*range(0x21, 0x7F), *range(0xA1, 0x180), *range(0x2010, 0x2027)]))


@dataclass(frozen=True, slots=True)
class Face:
    """Set widths and left bearings in ems, by character or joined letters."""

    name: str
    widths: Mapping[str, float]
    lefts: Mapping[str, float] = field(default_factory=dict)

    def width_em(self, unit: str) -> float:
        """Set width; of joined letters it lacks the sum, of anything else unknown an en."""
        style, _, plain = unit.rpartition(" ")
        if style == "small-caps" and plain != plain.upper():
            return _SMALL_CAPITALS * self.width_em(plain.upper())
        if plain in self.widths:
            return self.widths[plain]
        if len(plain) > 1:
            return sum(self.width_em(char) for char in plain)
        return self.widths.get(_base(plain), _UNKNOWN_EM)

    def left_em(self, unit: str) -> float:
        """White at the left of the ink; a little where it isn't known."""
        return self.lefts.get(unit.rpartition(" ")[2], 0.03)


def _base(char: str) -> str:
    """The letter under an accent."""
    import unicodedata

    return unicodedata.normalize("NFD", char)[:1]


@lru_cache(maxsize=1)
def usual_face() -> Face:
    """The usual widths, for a shop that gives no face."""
    table = resources.files("proofcheck.recast").joinpath("usual_widths.csv")
    rows = list(csv.DictReader(io.StringIO(table.read_text("utf-8"))))
    return Face(
        "usual widths",
        {row["unit"]: float(row["width_em"]) for row in rows},
        {row["unit"]: float(row["left_em"]) for row in rows},
    )


def load_face(path: Path) -> Face:
    """A face given by the shop: an OpenType file, or a table of widths (TOML or CSV).

    A TOML table holds `[widths]` with `a = 0.5` and so on, a CSV table the columns `unit` and
    `width_em`; both in ems of the body.

    Raises:
        SettingError: the file is missing, damaged, or holds no widths.
    """
    readers = {".toml": _from_toml, ".csv": _from_csv, ".otf": _from_font, ".ttf": _from_font}
    read = readers.get(path.suffix.lower())
    if read is None:
        msg = f"face {visible(str(path))}: give an .otf or .ttf file, or a table as .toml or .csv"
        raise SettingError(msg)
    try:
        widths = read(path)
    except OSError as error:
        reason = error.strerror or "it is no face that can be read"
        msg = f"face {visible(str(path))} can't be read: {reason}"
        raise SettingError(msg) from error
    except (ValueError, LookupError, TypeError, ArithmeticError, csv.Error) as error:
        msg = f"face {visible(str(path))} can't be used: {visible(str(error))}"
        raise SettingError(msg) from error
    bad = next((unit for unit, em in widths.items() if not 0 < em < _MOST_EM), None)
    if not widths or bad is not None:
        what = "it holds no widths" if bad is None else f"{bad!r} has a width of {widths[bad]:g} em"
        msg = f"face {visible(str(path))} can't be used: {visible(what)}; widths are in ems"
        raise SettingError(msg)
    return Face(path.name, widths, usual_face().lefts)


def _from_toml(path: Path) -> dict[str, float]:
    table = toml_table(path).get("widths", {})
    return {str(unit): float(em) for unit, em in dict(table).items()}


def _from_csv(path: Path) -> dict[str, float]:
    rows = csv.DictReader(io.StringIO(path.read_text("utf-8-sig")))
    if not {"unit", "width_em"} <= set(rows.fieldnames or ()):
        msg = "the columns must be called unit and width_em"
        raise ValueError(msg)
    return {row["unit"]: float(row["width_em"]) for row in rows}


def _from_font(path: Path) -> dict[str, float]:
    from PIL import ImageFont

    font = ImageFont.truetype(path, _MATRIX_EM, layout_engine=ImageFont.Layout.BASIC)
    wanted = {char: char for char in _TO_SEEK} | _JOINED_SIGNS
    absent = bytes(font.getmask("\U0010fffd"))
    found = {
        unit: font.getlength(sign) / _MATRIX_EM
        for unit, sign in wanted.items()
        if bytes(font.getmask(sign)) != absent
    }
    return {unit: em for unit, em in found.items() if em > 0}
