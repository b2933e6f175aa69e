"""Letters of pages that were never printed, one face each, for the comparer to learn from.

    python -m tests.lab.madeup FOLDER ATLAS.npz [--processes N] [--seed 1]

Real pages show how type wears, but few faces. Here every face of the atlas that has small letters
gives two pages of letters, as many as a card has or as a page of a book: each with a way of being
inked and scanned of its own, and each letter a little otherwise, among neighbours
(FOLDER/FACE.cut.npz).
"""

from __future__ import annotations

import argparse
import logging
import re
import string
import zlib
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import cv2
import numpy as np

from proofcheck.metal.patches import BASELINE_ROW, TALL, WIDE, X_HEIGHT
from tests.lab.atlas import ATLAS_X_HEIGHT_PX
from tests.lab.atlas import load as load_atlas
from tests.lab.page_cut import PageCut
from tests.lab.slots import SLOT_NUMBER
from tests.lab.strange import reprinted

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from tests.lab.atlas import Atlas

__all__ = ["Case", "Manner", "each_page", "faces_set", "make_pages", "patch_of", "some_letters"]

_SMALL = dict(
    zip(
        string.ascii_lowercase,
        (8.2, 1.5, 2.8, 4.3, 12.7, 2.2, 2.0, 6.1, 7.0, 0.2, 0.8, 4.0, 2.4,
         6.7, 7.5, 1.9, 0.1, 6.0, 6.3, 9.1, 2.8, 1.0, 2.4, 0.2, 2.0, 0.1),
        strict=True,
    )
)  # fmt: skip
"""Per cent of English letters, from memory of the usual tables."""
_CAPITAL, _FIGURE = 0.12, 0.08
"""Shares of letters that are one: more than in a book, as on job work."""
_FEWEST, _MOST = 80, 900
_PAGES = 2
_FINE = 2
"""Pixels of drawing to one of a patch: about as the atlas has them."""
_X_HEIGHT_PX = (13.0, 40.0)
_TIGHT, _LOOSE = -0.5, 2.5
"""Of space added between letters, in pixels of a patch."""
_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Manner:
    """How one page is inked, set and measured; lengths are pixels of a patch."""

    level: float
    gain: float
    soft: float
    rough: float
    sway: float
    """Spread of the level from letter to letter."""
    sizes: float
    """Spread of the measured x-height from line to line."""
    off_px: float
    """Spread of the place a letter is cut out at."""
    space: float
    x_height_px: float

    @staticmethod
    def drawn(rng: np.random.Generator) -> Manner:
        """One by lot."""
        low, high = np.log(_X_HEIGHT_PX)
        return Manner(
            level=0.5 - float(rng.uniform(-0.16, 0.22)),
            gain=float(rng.uniform(1.5, 5.0)),
            soft=float(rng.uniform(0.35, 0.8)),
            rough=float(rng.uniform(0, 0.14)),
            sway=float(rng.uniform(0.0, 0.06)),
            sizes=float(rng.uniform(0.0, 0.03)),
            off_px=float(rng.uniform(0.1, 0.6)),
            space=float(rng.uniform(_TIGHT, _LOOSE)),
            x_height_px=float(np.exp(rng.uniform(low, high))),
        )


@dataclass(frozen=True, slots=True, eq=False)
class Case:
    """One face's sorts."""

    atlas: Atlas
    face: int

    def glyph(self, character: str) -> int:
        """Number of its sort; −1 for none."""
        return int(self.atlas.table[self.face, SLOT_NUMBER[character]])

    def lay(self, paper: NDArray[np.float32], glyph: int, x: float, y: float, scale: float) -> None:
        """Draw a sort with its left edge at x on a baseline at y, all in pixels of a patch."""
        scale, x, y = scale * _FINE, x * _FINE, y * _FINE
        tall, wide = (int(v) for v in self.atlas.size[glyph])
        start = int(self.atlas.start[glyph])
        drawn = self.atlas.pixels[start : start + tall * wide].reshape(tall, wide)
        move = np.array([[scale, 0, x], [0, scale, y + scale * float(self.atlas.place[glyph][0])]])
        size = (paper.shape[1], paper.shape[0])
        laid = cv2.warpAffine(drawn.astype(np.float32) / 255, move, size, flags=cv2.INTER_AREA)
        np.maximum(paper, laid, out=paper)


def some_letters(
    case: Case,
    count: int,
    rng: np.random.Generator,
    capitals: float = _CAPITAL,
    figures: float = _FIGURE,
) -> list[str]:
    """So many letters and figures, as often as they come but for the shares of the two given."""
    kinds = (
        (list(_SMALL), list(_SMALL.values()), 1 - capitals - figures),
        ([c.upper() for c in _SMALL], list(_SMALL.values()), capitals),
        (list(string.digits), [1.0] * 10, figures),
    )
    letters, weights = [], []
    for characters, often, share in kinds:
        total = sum(often)
        for character, each in zip(characters, often, strict=True):
            if case.glyph(character) >= 0:
                letters.append(character)
                weights.append(share * each / total)
    chance = np.array(weights) / sum(weights)
    return [letters[n] for n in rng.choice(len(letters), count, p=chance)]


def patch_of(
    case: Case, three: Sequence[str], manner: Manner, rng: np.random.Generator, size: float = 1.0
) -> tuple[NDArray[np.float32], float]:
    """The middle one of three letters among its neighbours, and half its width.

    Args:
        case: the sorts it is set of.
        three: the letters; all of them there.
        manner: how the page is printed.
        rng: of all that is drawn by lot.
        size: of the letters, against the usual.
    """
    scale = size * X_HEIGHT / ATLAS_X_HEIGHT_PX * float(np.exp(rng.normal(0, manner.sizes)))
    before, glyph, after = (case.glyph(c) for c in three)
    atlas = case.atlas
    wide = scale * float(atlas.size[glyph][1])
    x = WIDE / 2 - wide / 2 + float(rng.normal(0, manner.off_px))
    y = BASELINE_ROW + float(rng.normal(0, manner.off_px))
    pen = x - scale * float(atlas.place[glyph][1])
    fine = np.zeros((TALL * _FINE, WIDE * _FINE), np.float32)
    case.lay(fine, glyph, x, y, scale)
    step = scale * float(atlas.advance[before]) + manner.space
    case.lay(fine, before, pen - step + scale * float(atlas.place[before][1]), y, scale)
    step = scale * float(atlas.advance[glyph]) + manner.space
    case.lay(fine, after, pen + step + scale * float(atlas.place[after][1]), y, scale)
    small = cv2.resize(fine, (WIDE, TALL), interpolation=cv2.INTER_AREA)
    soft = cv2.GaussianBlur(small, (0, 0), manner.soft)
    noise = np.asarray(rng.normal(0, 1, soft.shape), np.float32)
    shiver = np.asarray(cv2.GaussianBlur(noise, (0, 0), 1.0), np.float32)
    shiver = shiver * np.float32(manner.rough / max(float(shiver.std()), 1e-6))
    level = manner.level + float(rng.normal(0, manner.sway))
    hard = np.clip((soft + shiver * (soft > 0.05) - level) * manner.gain + 0.5, 0, 1)
    printed = reprinted(hard.astype(np.float32), manner.x_height_px, rng)
    return printed, max(wide / 2 + float(rng.normal(0, 0.4)), 1.0)


def _page(case: Case, rng: np.random.Generator) -> PageCut:
    manner = Manner.drawn(rng)
    count = int(np.exp(rng.uniform(np.log(_FEWEST), np.log(_MOST))))
    letters = some_letters(case, count + 2, rng)
    drawn = [patch_of(case, letters[n : n + 3], manner, rng) for n in range(count)]
    return PageCut(
        np.round(255 * np.clip(np.stack([each[0] for each in drawn]), 0, 1)).astype(np.uint8),
        np.array([each[1] for each in drawn], np.float32),
        np.array(letters[1:-1]),
        manner.x_height_px,
    )


def faces_set(atlas: Atlas) -> list[int]:
    """Faces with small letters that are set, not only taken ornaments from."""
    return [
        number
        for number, face in enumerate(atlas.faces)
        if face.weight > 0
        and all(Case(atlas, number).glyph(c) >= 0 for c in string.ascii_lowercase)
    ]


def each_page(
    faces: Sequence[int], atlas: Atlas, seed: int, pages: int
) -> Iterator[tuple[Case, str, np.random.Generator]]:
    """For so many pages of each face that is set its sorts, the page's name, and its lots."""
    for number in sorted(set(faces) & set(faces_set(atlas))):
        face = atlas.faces[number]
        name = re.sub("[^a-z]", "", (face.family + face.style).lower())
        for page in range(pages):
            rng = np.random.default_rng((seed, zlib.crc32(face.file.encode()), page))
            yield Case(atlas, number), f"made{name}_{number}_{page}", rng


def make_pages(faces: Sequence[int], folder: Path, atlas: Path, seed: int) -> int:
    """Pages of each face, numbered in the atlas; how many there are."""
    cv2.setNumThreads(1)
    made = 0
    for case, name, rng in each_page(faces, load_atlas(atlas), seed, _PAGES):
        _page(case, rng).save(folder / f"{name}.cut.npz")
        made += 1
    return made


def main() -> None:
    """Make pages of every face."""
    parser = argparse.ArgumentParser(prog="python -m tests.lab.madeup")
    parser.add_argument("folder", type=Path)
    parser.add_argument("atlas", type=Path)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    logging.basicConfig(level=logging.INFO, format="%(message)s")
    given.folder.mkdir(parents=True, exist_ok=True)
    count = len(load_atlas(given.atlas, pixels=False).faces)
    parts = [range(n, count, given.processes) for n in range(given.processes)]
    make = partial(make_pages, folder=given.folder, atlas=given.atlas, seed=given.seed)
    with ProcessPoolExecutor(given.processes) as pool:
        _log.info("%d pages made up", sum(pool.map(make, parts)))


if __name__ == "__main__":
    main()
