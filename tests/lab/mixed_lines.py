"""Letters of many founts that lines are put together of, each page with strangers of its own.

    python -m tests.lab.mixed_lines FOLDER ATLAS.npz [--cut FOLDER] [--processes N] [--seed 1]

Of every face of the atlas that has small letters pages are made up (as `madeup` makes them), each
with letters of other faces printed in the very manner of the page, and with broken ones of its own:
what differs is then the shape alone. The letters of real pages (`cutting`) get the same from the
atlas (FOLDER/PAGE.mixed.npz).
"""

from __future__ import annotations

import argparse
import logging
import zlib
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Self

import cv2
import numpy as np

from tests.lab.atlas import load as load_atlas
from tests.lab.madeup import Case, Manner, each_page, faces_set, patch_of, some_letters
from tests.lab.page_cut import PageCut
from tests.lab.strange import alone_in, as_black, broken, of_atlas, put_there

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray


__all__ = ["BROKEN", "OTHER", "OWN", "MixedPage", "make_mixed"]

OWN, OTHER, BROKEN = 0, 1, 2
_PAGES = 3
_LETTERS, _OTHERS, _BROKEN = 320, 200, 60
"""Of a page."""
_CAPITALS, _FIGURES = 0.35, 0.15
"""Shares of its own: lines of capitals are to be put together of them too."""
_AGAIN = 0.3
"""So many of its own go through what letters of other faces do, lest that be learnt."""
_AS_BLACK = 0.5
"""So many letters of other faces are brought to the weight of the page's own."""
_BY_X_HEIGHT = 0.5
"""So many others are of the page's own x-height, as near as can be measured; the rest of a body of
the same size, with an x-height of its own."""
_SCALE, _OWN_SIZE = 0.02, 0.08
_log = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True, eq=False)
class MixedPage:
    """Letters of one page and manner: its own in the order they stand in, others, broken ones."""

    ink: NDArray[np.uint8]
    """(n, TALL, WIDE), with nothing beside the letter"""
    text: NDArray[np.str_]
    what: NDArray[np.int8]
    """`OWN`, `OTHER`, `BROKEN`."""
    made_up: bool

    @classmethod
    def of(
        cls, letters: Sequence[tuple[NDArray[np.float32], float, str, int]], *, made_up: bool
    ) -> Self:
        """Of patches, half widths, what each is, and whose."""
        alone = [alone_in(patch, half) for patch, half, _, _ in letters]
        ink = np.round(255 * np.clip(np.stack(alone), 0, 1)).astype(np.uint8)
        text = np.array([each[2] for each in letters])
        return cls(ink, text, np.array([each[3] for each in letters], np.int8), made_up)

    @classmethod
    def load(cls, path: Path) -> Self:
        """From a file `save` wrote."""
        with np.load(path) as held:
            return cls(held["ink"], held["text"], held["what"], bool(held["made_up"]))

    def save(self, path: Path) -> None:
        """Write it."""
        np.savez(path, ink=self.ink, text=self.text, what=self.what, made_up=self.made_up)


def _made_up(case: Case, rng: np.random.Generator) -> MixedPage:
    manner = Manner.drawn(rng)
    text = some_letters(case, _LETTERS + 2, rng, _CAPITALS, _FIGURES)
    of_page = [patch_of(case, text[n : n + 3], manner, rng) for n in range(_LETTERS)]
    letters = [(*_again(each, rng), text[n + 1], OWN) for n, each in enumerate(of_page)]
    faces = faces_set(case.atlas)
    while len(letters) < _LETTERS + _OTHERS:
        at = int(rng.integers(_LETTERS))
        face = int(rng.choice(faces))
        other = Case(case.atlas, face)
        if face == case.face or any(other.glyph(c) < 0 for c in text[at : at + 3]):
            continue
        by_x_height = rng.random() < _BY_X_HEIGHT
        size = float(np.exp(rng.normal(0, _SCALE if by_x_height else _OWN_SIZE)))
        patch, half = patch_of(other, text[at : at + 3], manner, rng, size)
        if rng.random() < _AS_BLACK:
            own, wide = of_page[at]
            patch = as_black(alone_in(patch, half), float(alone_in(own, wide).sum()))
        letters.append((patch, half, text[at + 1], OTHER))
    for at in rng.permutation(_LETTERS)[:_BROKEN].tolist():
        patch, half = of_page[at]
        letters.append((broken(patch, half, rng), half, text[at + 1], BROKEN))
    return MixedPage.of(letters, made_up=True)


def _again(
    letter: tuple[NDArray[np.float32], float], rng: np.random.Generator
) -> tuple[NDArray[np.float32], float]:
    """A patch and its half width, as it was or brought to its own weight."""
    patch, half = letter
    if rng.random() >= _AGAIN:
        return letter
    alone = alone_in(patch, half)
    return as_black(alone, float(alone.sum() * np.exp(rng.normal(0, 0.05)))), half


def make_mixed(faces: Sequence[int], folder: Path, atlas: Path, seed: int) -> int:
    """Pages of each face, numbered in the atlas; how many there are."""
    cv2.setNumThreads(1)
    made = 0
    for case, name, rng in each_page(faces, load_atlas(atlas), seed, _PAGES):
        _made_up(case, rng).save(folder / f"{name}.mixed.npz")
        made += 1
    return made


def mix_page(page: Path, folder: Path, atlas: Path, seed: int) -> int:
    """Letters of a real page with others of the atlas and broken ones; how many of its own."""
    cv2.setNumThreads(1)
    faces, cut = load_atlas(atlas), PageCut.load(page)
    rng = np.random.default_rng((seed, zlib.crc32(page.name.encode())))
    own = [n for n, text in enumerate(cut.text.tolist()) if text.isalnum() and text.isascii()]
    ink = {n: cut.ink[n].astype(np.float32) / 255 for n in own}
    half = {n: float(cut.half_width[n]) for n in own}
    letters = []
    for n in own:
        patch = ink[n]
        if rng.random() < _AGAIN:
            alone = alone_in(patch, half[n])
            patch = put_there(patch, half[n], alone, half[n], cut.x_height_px, rng)
        letters.append((patch, half[n], str(cut.text[n]), OWN))
    for n in rng.choice(own, min(_OTHERS, len(own)), replace=False).tolist():
        found = of_atlas(faces, str(cut.text[n]), rng)
        if found is not None:
            patch = put_there(ink[n], half[n], found[1], found[2], cut.x_height_px, rng)
            letters.append((patch, found[2], str(cut.text[n]), OTHER))
    letters += [
        (broken(ink[n], half[n], rng), half[n], str(cut.text[n]), BROKEN)
        for n in rng.choice(own, min(_BROKEN, len(own)), replace=False).tolist()
    ]
    name = page.name.removesuffix(".cut.npz")
    MixedPage.of(letters, made_up=False).save(folder / f"{name}.mixed.npz")
    return len(own)


def main() -> None:
    """Make pages of every face, and mix the real ones."""
    parser = argparse.ArgumentParser(prog="python -m tests.lab.mixed_lines")
    parser.add_argument("folder", type=Path)
    parser.add_argument("atlas", type=Path)
    parser.add_argument("--cut", type=Path, help="folder of the letters of real pages")
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    logging.basicConfig(level=logging.INFO, format="%(message)s")
    given.folder.mkdir(parents=True, exist_ok=True)
    count = len(load_atlas(given.atlas, pixels=False).faces)
    parts = [range(n, count, given.processes) for n in range(given.processes)]
    make = partial(make_mixed, folder=given.folder, atlas=given.atlas, seed=given.seed)
    mix = partial(mix_page, folder=given.folder, atlas=given.atlas, seed=given.seed)
    real = sorted(given.cut.glob("*.cut.npz")) if given.cut else []
    with ProcessPoolExecutor(given.processes) as pool:
        mixed = sum(1 for count in pool.map(mix, real) if count)
        _log.info("%d pages made up, %d real ones mixed", sum(pool.map(make, parts)), mixed)


if __name__ == "__main__":
    main()
