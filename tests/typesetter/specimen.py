"""The corrected proof of 1913, set again with its faults (data: tests/data/specimen-1913.toml)."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, replace
from pathlib import Path

from . import faults as hand
from .given import GivenLine, set_as_given
from .matter import Forme, Style

__all__ = ["PlateMark", "Specimen", "load_specimen"]

DATA = Path(__file__).parent.parent / "data" / "specimen-1913.toml"
STYLE = Style(family="schola", body_pt=8, lead_pt=2, bands="extra-thin")
NEWS_COLUMN_PICAS = 13.0
"""Bleyer 1913 gives 13 picas for the newspaper column of his day."""


@dataclass(frozen=True, slots=True)
class PlateMark:
    """One mark of the plate, as the data file tells it."""

    line: int
    meaning: str
    sign: str
    evidence: str
    kinds: tuple[str, ...] = ()
    printed: str = ""
    copy: str = ""
    cause: str | None = None


@dataclass(frozen=True, slots=True)
class Specimen:
    """The right text, the lines as they read, the marks, and the lines set in type."""

    source: str
    right: str
    lines: tuple[str, ...]
    marks: tuple[PlateMark, ...]
    forme: Forme


def load_specimen() -> Specimen:
    """Read the data and set the faulty text, faults of the type included."""
    data = tomllib.loads(DATA.read_text(encoding="utf-8"))
    right = "\n\n".join(data["right"])
    given = [
        GivenLine(
            line.get("set_as", line["text"]),
            line.get("indent_em", 0.0) * STYLE.body_pt,
            not line.get("last", False),
        )
        for line in data["lines"]
    ]
    forme = set_as_given(given, right, measure_picas=NEWS_COLUMN_PICAS, style=STYLE)
    marks = tuple(
        PlateMark(**{**mark, "kinds": tuple(mark.get("kinds", ()))}) for mark in data["mark"]
    )
    lines = tuple(line["text"] for line in data["lines"])
    return Specimen(data["source"], right, lines, marks, _type_faults(forme))


def _type_faults(forme: Forme) -> Forme:
    """What the plate shows wrong in the type itself."""
    forme = hand.without_lead(forme, 3)
    forme = hand.uneven_spacing(forme, 9, (0.5, 0.6, 0.35, 0.5))
    forme = hand.turned_sort(forme, 12, "bruised", letter=6)
    forme = hand.off_line(forme, 15, "h", by_em=0.25)
    forme = hand.off_line(forme, 15, "c", by_em=0.25)
    forme = hand.broken_letter(forme, 16, "saved", letter=2, seed=4)
    forme = hand.without_lead(forme, 19)
    forme = hand.wrong_font(forme, 26, "were", letter=0)
    forme = hand.work_up(forme, 29, 3)
    # The data file tells of these; what is entered here would tell it twice.
    return replace(forme, planted=())
