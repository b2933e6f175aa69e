"""Letters of other faces to plant in a page: of another book, and italic from font files."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import cv2
import numpy as np
from PIL import Image, ImageDraw, ImageFont

from .pages import load_grey
from .standing import study

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from .pages import Page
    from .standing import Standing

__all__ = ["Donor", "Strange", "book_donors", "donor_page", "italic_donors", "strange_letters"]

_FINE_X_HEIGHT_PX = 96
_LETTERS = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ023456789"


@dataclass(frozen=True, slots=True, eq=False)
class Donor:
    """A letter of another face."""

    ink: NDArray[np.bool_]
    """Its ink, cut close."""
    x_height_px: float
    """Of its face, in the pixels of `ink`."""
    drop: float
    """x-heights from the baseline down to the foot of its ink."""

    def at_size(self, x_height_px: float) -> NDArray[np.bool_]:
        """Its ink brought to another x-height."""
        scale = x_height_px / self.x_height_px
        tall, wide = self.ink.shape
        size = max(round(wide * scale), 1), max(round(tall * scale), 1)
        soft = cv2.resize(self.ink.astype(np.float32), size, interpolation=cv2.INTER_AREA)
        return np.asarray(soft > 0.5)


Strange = dict[str, "Mapping[str, Sequence[Donor]]"]
"""By the name of what is planted: letters to plant, by what they are."""


def book_donors(standing: Standing) -> dict[str, list[Donor]]:
    """The sure letters of a page, by what they are."""
    found: dict[str, list[Donor]] = {}
    for word in standing.words:
        for glyph in word.glyphs:
            if not glyph.sure or len(glyph.text) != 1:
                continue
            box = glyph.box
            labels = standing.labels[box.y : box.bottom, box.x : box.right]
            ink = np.isin(labels, np.array(glyph.pieces) + 1)
            size = standing.lines[glyph.line].x_height_px
            found.setdefault(glyph.text, []).append(Donor(ink, size, glyph.drop))
    return found


@cache
def italic_donors(folder: Path) -> dict[str, list[Donor]]:
    """Letters of every italic that was kept out of training, from font files in a folder.

    Raises:
        FileNotFoundError: no such file is there.
    """
    table = Path(__file__).parents[1] / "lab" / "faces.csv"
    with table.open(encoding="utf-8", newline="") as file:
        rows = [r for r in csv.DictReader(file) if r["use"] == "held" and r["style"] == "italic"]
    paths = [folder / row["file"] for row in rows if (folder / row["file"]).exists()]
    if not paths:
        msg = f"{folder}: none of the italics marked “held” in {table.name}"
        raise FileNotFoundError(msg)
    found: dict[str, list[Donor]] = {}
    for path in paths:
        probe = ImageFont.truetype(path, 1000)
        tall = -probe.getbbox("x", anchor="ls")[1]
        font = ImageFont.truetype(path, 1000 * _FINE_X_HEIGHT_PX / tall)
        for letter in _LETTERS:
            found.setdefault(letter, []).append(_drawn(font, letter))
    return found


def donor_page(page: Page, pages: Sequence[Page], number: int) -> Page:
    """The page whose letters are planted in another, the one of that number."""
    books = sorted({each.book for each in pages})
    after = books[(books.index(page.book) + 1) % len(books)]
    others = [each for each in pages if each.book == after]
    return others[number % len(others)]


def strange_letters(page: Page, pages: Sequence[Page], number: int, faces: Path | None) -> Strange:
    """Letters to plant in a page: of a page of the next book, and of italics if there are faces.

    The next book by name is the one the page's comparer was not trained on either.
    """
    other = donor_page(page, pages, number)
    found: Strange = {"wrong font": book_donors(study(load_grey(other), other.text))}
    if faces:
        found["italic"] = italic_donors(faces)
    return found


def _drawn(font: ImageFont.FreeTypeFont, letter: str) -> Donor:
    left, top, right, bottom = (int(v) for v in font.getbbox(letter, anchor="ls"))
    canvas = Image.new("L", (right - left + 4, bottom - top + 4))
    ImageDraw.Draw(canvas).text((2 - left, 2 - top), letter, 255, font, anchor="ls")
    ink = np.asarray(canvas) > 127
    rows, columns = np.flatnonzero(ink.any(axis=1)), np.flatnonzero(ink.any(axis=0))
    cut = ink[rows[0] : rows[-1] + 1, columns[0] : columns[-1] + 1]
    return Donor(cut, _FINE_X_HEIGHT_PX, (rows[-1] + top - 1) / _FINE_X_HEIGHT_PX)
