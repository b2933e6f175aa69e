"""Set proofs in faces from files, and plant only faults that can be seen on paper."""

from __future__ import annotations

import csv
import zlib
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import cv2
import numpy as np

from tests import typesetter
from tests.typesetter.faces import family, register_family

from .facematter import prose, shuffled

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from tests.typesetter import Forme, Slug, Sort

__all__ = ["KINDS", "Plan", "forme_of", "held_families", "planted", "same_ink"]

KINDS = ("wrong-letter", "letter-missing", "letter-extra", "letters-transposed", "word-missing",
         "word-doubled", "words-transposed", "space-missing", "space-extra", "point-wrong",
         "point-missing", "case")  # fmt: skip
"""The text faults planted, each once in a proof."""
TRIES = 12
SAME_INK = 0.04
"""Two letters whose ink differs by less than this share of it look the same on paper."""


@dataclass(frozen=True, slots=True)
class Plan:
    """How the proofs are made."""

    words: int
    proofs: int
    seed: int
    ways: tuple[str, ...]
    out: Path


def held_families(folder: Path) -> dict[str, dict[str, Path]]:
    """Font files by family and style; the first where a style has several."""
    table = Path(__file__).parents[1] / "lab" / "faces.csv"
    found: dict[str, dict[str, Path]] = {}
    with table.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            if row["use"] == "held" and row["style"] in ("roman", "italic", "bold"):
                found.setdefault(row["family"], {}).setdefault(row["style"], folder / row["file"])
    return {name: files for name, files in found.items() if "roman" in files}


def forme_of(name: str, files: dict[str, Path], number: int, plan: Plan, *, mix: bool) -> Forme:
    """Proof `number` of a face, clean; with `mix` the letters of its words in any order."""
    made = register_family(name, files["roman"], files.get("italic"), files.get("bold"))
    can_set = "".join(chr(c) for c in range(32, 0x2100) if made.roman.has(chr(c)))
    seed = zlib.crc32(name.encode()) + 1000 * plan.seed + number
    texts = prose(seed, plan.words, can_set, italic="italic" in files)
    if mix:
        texts = [shuffled(text, seed) for text in texts]
    # No rule can divide what is no word, and a division against the rules is a true fault.
    language = "" if mix else "en_GB"
    body_pt = (10.0, 11.0)[number // 2 % 2]
    style = typesetter.Style(family=name, body_pt=body_pt, language=language)
    return typesetter.compose([typesetter.Para(text) for text in texts], style=style)


def planted(forme: Forme, seed: int) -> Forme:
    """The forme with a fault of each kind that can be seen on paper, in lines of their own."""
    for at, kind in enumerate(KINDS):
        for again in range(TRIES):
            try:
                tried = typesetter.plant(forme, kind, seed + 97 * at + 7919 * again)
            except ValueError:
                break
            if _shows(forme, tried):
                forme = tried
                break
    return forme


def _shows(before: Forme, after: Forme) -> bool:
    pairs = [(a, b) for a, b in zip(before.slugs, after.slugs, strict=True) if a is not b]
    return any(not _same_on_paper(a, b) for a, b in pairs)


def _same_on_paper(one: Slug, other: Slug) -> bool:
    """Whether two lines print alike, letter for letter, whatever they are meant to say."""
    if len(one.sorts) != len(other.sorts):
        return False
    return all(_alike(a, b) for a, b in zip(one.sorts, other.sorts, strict=True))


def _alike(one: Sort, other: Sort) -> bool:
    if " " in (one.text, other.text):
        return one.text == other.text
    if one.char == other.char:
        return one.style == other.style
    return same_ink(one, other)


def same_ink(one: Sort, other: Sort) -> bool:
    """Whether two letters look the same on paper."""
    first, second = _inked(one), _inked(other)
    return bool((first != second).sum() < SAME_INK * max(first.sum(), 1))


def _inked(sort: Sort) -> NDArray[np.bool_]:
    """The letter on its baseline, 200 pixels to the em."""
    glyph = family(sort.family).glyph(sort.char, sort.style)
    flat = [
        np.round((contour * (1, -1) + (0.5, 1.2)) * 200).astype(np.int32)
        for contour in glyph.contours
    ]
    canvas = np.zeros((360, 440), np.uint8)
    cv2.fillPoly(canvas, flat, 1)
    return canvas > 0
