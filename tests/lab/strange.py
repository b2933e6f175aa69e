"""Letters made for the comparer, as patches of the proof's own size: strange ones, broken ones.

A letter of another book is sharper or softer than the page it is put on, and a network would learn
that instead of its shape. So whatever is put on a page is printed anew at that page's resolution;
and so are some of the page's own letters, which stay sound.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from proofcheck.metal.patches import BASELINE_ROW, TALL, WIDE, X_HEIGHT
from tests.lab.atlas import ATLAS_X_HEIGHT_PX
from tests.lab.slots import SLOT_NUMBER

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from tests.lab.atlas import Atlas
    from tests.lab.page_cut import PageCut

__all__ = ["Donors", "alone_in", "as_black", "broken", "of_atlas", "put_there", "reprinted"]

_SCALE = 0.03
"""Spread of the size a strange letter is brought to: x-heights are measured, not known."""
_GONE = (0.2, 0.45)
"""Share of a broken letter's ink that is lost."""
_BITE = 0.35
"""So many of the breaks are bites, the rest clean across."""
_AS_BLACK = 0.5
"""So many strange letters are brought to the weight of the page's own, so that shape must tell."""
_FAINT = 0.08
_FINE = 3
"""Pixels of fine drawing to one of a patch."""
_BILEVEL = 0.8
_AREA = (TALL, WIDE)


@dataclass(frozen=True, slots=True, eq=False)
class Donors:
    """Letters of other books, by character: book, page, number."""

    held: dict[str, list[tuple[str, PageCut, int]]]

    @staticmethod
    def of(pages: Sequence[tuple[str, PageCut]]) -> Donors:
        """All letters of the pages (book and letters)."""
        held: dict[str, list[tuple[str, PageCut, int]]] = defaultdict(list)
        for book, page in pages:
            for number, character in enumerate(page.text.tolist()):
                held[character].append((book, page, number))
        return Donors(dict(held))

    def letter(
        self, character: str, rng: np.random.Generator
    ) -> tuple[str, NDArray[np.float32], float] | None:
        """Book, patch with nothing beside the letter, half width; None where there is none."""
        found = self.held.get(character)
        if not found:
            return None
        book, page, number = found[int(rng.integers(len(found)))]
        patch = page.ink[number].astype(np.float32) / 255
        half = float(page.half_width[number])
        alone = alone_in(patch, half)
        scale = float(np.exp(rng.normal(0, _SCALE)))
        return book, _scaled(alone, scale), half * scale


def of_atlas(
    faces: Atlas, character: str, rng: np.random.Generator
) -> tuple[str, NDArray[np.float32], float] | None:
    """Style ("atlas-roman" …), inked patch, half width of a letter of any face; None for none."""
    slot = SLOT_NUMBER.get(character)
    if slot is None:
        return None
    face = int(rng.integers(len(faces.faces)))
    glyph = int(faces.table[face, slot])
    if glyph < 0:
        return None
    tall, wide = (int(v) for v in faces.size[glyph])
    start = int(faces.start[glyph])
    pixels = faces.pixels[start : start + tall * wide].reshape(tall, wide)
    drawn = pixels.astype(np.float32) / 255
    scale = X_HEIGHT / ATLAS_X_HEIGHT_PX * float(np.exp(rng.normal(0, _SCALE)))
    x = WIDE / 2 - scale * wide / 2 + float(rng.uniform(-0.5, 0.5))
    y = BASELINE_ROW + scale * float(faces.place[glyph][0])
    move = np.array([[scale, 0, x], [0, scale, y]])
    soft = cv2.GaussianBlur(drawn, (0, 0), 1.0 / (2 * scale) * float(rng.uniform(0.7, 1.6)))
    patch = cv2.warpAffine(soft, move, (WIDE, TALL), flags=cv2.INTER_AREA)
    return (
        "atlas-" + faces.faces[face].style,
        _inked(np.asarray(patch, np.float32), rng),
        scale * wide / 2,
    )


def _inked(patch: NDArray[np.float32], rng: np.random.Generator) -> NDArray[np.float32]:
    """Ink spread or starved, its edge ragged, and the scanner's softness."""
    shiver = cv2.GaussianBlur(rng.normal(0, 1, _AREA).astype(np.float32), (0, 0), 1.0)
    shiver = shiver * np.float32(rng.uniform(0, 0.14) / max(float(shiver.std()), 1e-6))
    level = 0.5 - float(rng.uniform(-0.16, 0.22))
    gain = float(rng.uniform(1.5, 5.0))
    hard = np.clip((patch + shiver * (patch > 0.05) - level) * gain + 0.5, 0, 1)
    return np.asarray(cv2.GaussianBlur(hard, (0, 0), float(rng.uniform(0.6, 0.9))), np.float32)


def put_there(
    place: NDArray[np.float32],
    half: float,
    letter: NDArray[np.float32],
    wide: float,
    x_height_px: float,
    rng: np.random.Generator,
) -> NDArray[np.float32]:
    """A letter printed among the neighbours of one of the page's own, a hair off its place.

    Args:
        place: patch of the page's own letter.
        half: half that letter's width, patch pixels.
        letter: patch of the other, with nothing beside it.
        wide: half its width.
        x_height_px: of the page as scanned.
        rng: of all that is drawn by lot.
    """
    beside = place * (1 - _columns(max(half, wide) + 1))
    if rng.random() < _AS_BLACK:
        letter = as_black(letter, float((place * _columns(half + 1)).sum()))
    again = reprinted(letter, x_height_px, rng)
    move = np.array([[1, 0, rng.normal(0, 0.7)], [0, 1, rng.normal(0, 0.7)]])
    moved = cv2.warpAffine(again, move, (WIDE, TALL), flags=cv2.INTER_LINEAR)
    return np.asarray(np.maximum(beside, moved), np.float32)


def reprinted(
    letter: NDArray[np.float32], x_height_px: float, rng: np.random.Generator
) -> NDArray[np.float32]:
    """A letter (patch, nothing beside it) inked, scanned at the page's resolution, and cut out."""
    size = (WIDE * _FINE, TALL * _FINE)
    fine = np.asarray(cv2.resize(letter, size, interpolation=cv2.INTER_CUBIC), np.float32)
    shiver = cv2.GaussianBlur(rng.normal(0, 1, fine.shape).astype(np.float32), (0, 0), _FINE * 0.6)
    shiver = shiver * np.float32(rng.uniform(0, 0.1) / max(float(shiver.std()), 1e-6))
    ragged = np.asarray(fine + shiver * (fine > 0.1), np.float32)
    # As much ink as before, a little more or less: a level of its own would eat the hairlines.
    share = min(float(fine.sum()) * float(np.exp(rng.normal(0, 0.06))) / fine.size, 1.0)
    level = max(float(np.quantile(ragged, 1 - share)), 0.1)
    inked = np.asarray(ragged > level, np.float32)
    scale = x_height_px / X_HEIGHT
    size = (round(WIDE * scale) + 2, round(TALL * scale) + 2)
    down, phase = scale / _FINE, rng.uniform(0, 1, 2)
    soft = cv2.GaussianBlur(inked, (0, 0), 0.3 / down)
    there = np.array([[down, 0, phase[0]], [0, down, phase[1]]])
    scan = cv2.warpAffine(soft, there, size, flags=cv2.INTER_LINEAR)
    if rng.random() < _BILEVEL:
        scan = (scan > 0.5).astype(np.float32)
    if scale > 1:
        scan = cv2.GaussianBlur(scan, (0, 0), 0.3 * scale)
    back = np.array([[1 / scale, 0, -phase[0] / scale], [0, 1 / scale, -phase[1] / scale]])
    patch = cv2.warpAffine(scan, back, (WIDE, TALL), flags=cv2.INTER_LINEAR)
    return np.asarray(cv2.GaussianBlur(patch, (0, 0), 0.7), np.float32)


def as_black(letter: NDArray[np.float32], ink: float) -> NDArray[np.float32]:
    """A letter with its strokes made thicker or thinner until it holds as much ink."""
    soft = cv2.GaussianBlur(letter, (0, 0), 0.8)
    low, high = -0.35, 0.35
    for _ in range(8):
        middle = (low + high) / 2
        now = np.clip((soft - 0.5 + middle) * 2.5 + 0.5, 0, 1) * (soft > _FAINT)
        low, high = (middle, high) if now.sum() < ink else (low, middle)
    return np.asarray(now, np.float32)


def broken(
    patch: NDArray[np.float32], half: float, rng: np.random.Generator
) -> NDArray[np.float32]:
    """A letter with part of its ink gone: across a ragged break, or a bite out of it."""
    own = patch * _columns(half + 1)
    rows, columns = np.nonzero(own > 0.2)
    if not len(rows):
        return patch
    if rng.random() < _BITE:
        bite = int(rng.integers(len(rows)))
        away = -np.hypot(*np.indices(_AREA).astype(np.float32).transpose(1, 2, 0).reshape(-1, 2).T
                         - np.array([[rows[bite]], [columns[bite]]])).reshape(_AREA)  # fmt: skip
    else:
        turn = float(rng.uniform(0, 2 * math.pi))
        down, across = np.indices(_AREA)
        away = across * math.cos(turn) + down * math.sin(turn)
    ragged = away + cv2.GaussianBlur(rng.normal(0, 1.6, _AREA).astype(np.float64), (0, 0), 0.8)
    gone = float(rng.uniform(*_GONE))
    order = np.argsort(-ragged[rows, columns])
    weight = np.cumsum(own[rows, columns][order])
    edge = ragged[rows, columns][order][int(np.searchsorted(weight, gone * weight[-1]))]
    keep = 1 / (1 + np.exp(np.clip((ragged - edge) * 2.0, -30, 30)))
    mask = 1 - _columns(half + 1) * (1 - keep)
    return np.asarray(patch * mask, np.float32)


def alone_in(patch: NDArray[np.float32], half: float) -> NDArray[np.float32]:
    """A patch without what stands beside its letter."""
    return np.asarray(patch * _columns(half + 1), np.float32)


def _columns(half: float) -> NDArray[np.float32]:
    """(1, WIDE): 1 in the columns within so many of the middle."""
    away = np.abs(np.arange(WIDE) + 0.5 - WIDE / 2)
    return np.asarray((away < half)[None, :], np.float32)


def _scaled(patch: NDArray[np.float32], scale: float) -> NDArray[np.float32]:
    """A patch made larger or smaller about the middle of its baseline."""
    move = np.array([[scale, 0, (1 - scale) * WIDE / 2], [0, scale, (1 - scale) * BASELINE_ROW]])
    moved = cv2.warpAffine(patch, move, (WIDE, TALL), flags=cv2.INTER_LINEAR)
    return np.asarray(moved, np.float32)
