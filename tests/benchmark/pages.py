"""The scanned pages with their true text, and which of them are taken."""

from __future__ import annotations

import random
import re
import zlib
from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable
    from pathlib import Path

    from proofcheck.base.values import Grey

__all__ = ["Page", "is_for_fitting", "load_grey", "pages_in", "sampled"]


@dataclass(frozen=True, slots=True)
class Page:
    """One scanned page with what should stand on it."""

    name: str
    """File name without its ending."""
    book: str
    """The letters the name begins with."""
    image: Path
    text: str
    tagged: bool
    """Whether the file's own resolution can be trusted (only in the folder `books`)."""


def pages_in(folder: Path) -> list[Page]:
    """Every NAME.png with a NAME.txt that is not blank, in the folder and the folders in it."""
    found = []
    for image in sorted(folder.rglob("*.png")):
        words = image.with_suffix(".txt")
        text = words.read_text("utf-8") if words.exists() else ""
        if text.strip():
            book = re.match(r"[a-z]+", image.stem)
            tagged = image.parent.name == "books"
            found.append(Page(image.stem, book.group() if book else "", image, text, tagged))
    return found


def is_for_fitting(page: Page) -> bool:
    """Whether the certainty may be fitted on this page: half of them, by name. Figures are
    quoted on the other half."""
    return zlib.crc32(page.name.encode()) % 2 == 0


def sampled(pages: Iterable[Page], most: int | None, seed: int, books: set[str]) -> list[Page]:
    """At most so many pages of each book, drawn evenly by the seed; all of them for None."""
    by_book: dict[str, list[Page]] = {}
    for page in pages:
        if not books or page.book in books:
            by_book.setdefault(page.book, []).append(page)
    chosen = []
    for book, held in sorted(by_book.items()):
        count = len(held) if most is None else min(most, len(held))
        chosen += sorted(random.Random(f"{seed} {book}").sample(held, count), key=lambda p: p.name)
    return chosen


def load_grey(page: Page) -> Grey:
    """The page in grey, as scanned."""
    image = cv2.imread(str(page.image), cv2.IMREAD_GRAYSCALE)
    if image is None:
        msg = f"{page.image} can't be opened"
        raise OSError(msg)
    return np.ascontiguousarray(image)
