"""Letters beside their fellows for the comparer: as printed, of a strange face, and broken.

    python -m tests.lab.pairs FOLDER ATLAS.npz [--processes N]

In the folder lie the letters of pages, real ones (`cutting`) and made up (`madeup`). Each page's
own letters, letters of other books and of the atlas, and its own letters with part of the ink taken
away, are laid on its fellows (FOLDER/PAGE.npz): on many of them, on few, and on none.
"""

from __future__ import annotations

import argparse
import logging
import zlib
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import cv2
import numpy as np

from proofcheck.metal.beside import beside_fellows, by_themselves, kind_numbers
from proofcheck.metal.overlaying import FAR, Fellows, lay_on
from proofcheck.metal.patch_store import Patches
from proofcheck.metal.patches import Cut
from tests.lab.atlas import load as load_atlas
from tests.lab.page_cut import PageCut, book_of
from tests.lab.strange import Donors, alone_in, broken, of_atlas, put_there

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from tests.lab.atlas import Atlas

__all__ = ["BROKEN", "SOUND", "STRANGE", "pair_page"]

SOUND, STRANGE, BROKEN = 0, 1, 2
_LEAST, _MOST = 7, 40
_EACH = {"sound": 50, "again": 16, "real": 20, "atlas": 14, "broken": 10}
"""At most so many of each kind of letter on a page."""
_FEW = (1, 2, 3, 5)
_FEW_ROUNDS = 2
_EACH_OF_FEW = {"sound": 2, "again": 1, "real": 1, "atlas": 1, "broken": 2}
"""The same where a letter has so few fellows; of those numbers of fellows two are drawn."""
_EACH_ALONE = {"sound": 2, "again": 0, "real": 1, "atlas": 2, "broken": 3}
"""The same where it has none: no letter is strange there, so those of other faces are sound."""
_ODD = 0.15
_DONORS = 40
"""Pages of other books that give strange letters to one page."""
_log = logging.getLogger(__name__)


@dataclass(slots=True, eq=False)
class _Pairs:
    """What is gathered of one page."""

    pictures: list[NDArray[np.uint8]]
    kind: list[int]
    source: list[str]
    letter: list[str]
    order: list[int]
    """Number of the letter among those of its page, in reading order."""
    fellows: list[int]
    """How many fellows it is laid on."""
    moulds: list[NDArray[np.uint8]]
    mould: list[int]

    @property
    def arrays(self) -> dict[str, NDArray[np.generic]]:
        """As they are kept in a file."""
        return {
            "pictures": np.concatenate(self.pictures),
            "kind": np.array(self.kind, np.int8),
            "source": np.array(self.source),
            "letter": kind_numbers(self.letter),
            "order": np.array(self.order, np.int32),
            "fellows": np.array(self.fellows, np.int16),
            "moulds": np.stack(self.moulds),
            "mould": np.array(self.mould, np.int32),
        }


@dataclass(frozen=True, slots=True, eq=False)
class _Round:
    """Letters of one kind of a page, some serving as fellows, the rest judged."""

    character: str
    ink: NDArray[np.float32]
    half: NDArray[np.float32]
    number: NDArray[np.intp]
    """Of each among the letters of its page; −1 where it has been judged before."""
    fellows: NDArray[np.intp]
    own: NDArray[np.intp]
    each: Mapping[str, int]


def pair_page(name: str, folder: Path, atlas: Path, seed: int) -> int:
    """Lay a page's letters, and strange and broken ones, on its fellows; how many there are."""
    cv2.setNumThreads(1)
    rng = np.random.default_rng((seed, zlib.crc32(name.encode())))
    page = PageCut.load(folder / f"{name}.cut.npz")
    others = [
        path for path in sorted(folder.glob("*.cut.npz")) if book_of(path.stem) != book_of(name)
    ]
    chosen = rng.permutation(len(others))[:_DONORS]
    donors = Donors.of([(book_of(others[n].stem), PageCut.load(others[n])) for n in chosen])
    faces = load_atlas(atlas)
    pairs = _Pairs([], [], [], [], [], [], [], [])
    makers = _Makers(donors, faces, page.x_height_px, rng)
    for character in np.unique(page.text):
        if str(character).isalnum():
            for each in _rounds(page, str(character), rng):
                _pair_letters(each, makers, pairs)
    if not pairs.kind:
        return 0
    np.savez(folder / f"{name}.npz", **pairs.arrays)  # type: ignore[arg-type]
    return len(pairs.kind)


@dataclass(frozen=True, slots=True, eq=False)
class _Makers:
    """What strange letters come from."""

    donors: Donors
    faces: Atlas
    x_height_px: float
    rng: np.random.Generator

    def strange(
        self, character: str, *, real: bool
    ) -> tuple[str, NDArray[np.float32], float] | None:
        """A letter of another book, or of a face: source, patch, half width."""
        if real:
            return self.donors.letter(character, self.rng)
        return of_atlas(self.faces, character, self.rng)


def _rounds(page: PageCut, character: str, rng: np.random.Generator) -> list[_Round]:
    """Letters of one kind beside many fellows, where there are many, beside few, and by themselves.

    No letter may find itself among its fellows: some serve, the rest are judged.
    """
    mine = np.flatnonzero(page.text == character)
    ink = np.asarray(page.ink[mine] / 255, np.float32)
    half = np.asarray(page.half_width[mine], np.float32)
    rounds = []

    def add(serving: int, number: NDArray[np.intp], each: Mapping[str, int]) -> None:
        order = rng.permutation(len(mine))
        fellows, own = np.sort(order[:serving]), order[serving:]
        rounds.append(_Round(character, ink, half, number, fellows, own, each))

    if len(mine) >= _LEAST:
        add(min(_MOST, max(_LEAST - 1, len(mine) // 2)), mine, _EACH)
    before = np.full(len(mine), -1)
    few = [number for number in _FEW if number < len(mine)]
    for number in rng.permutation(few)[:_FEW_ROUNDS].tolist():
        add(number, before, _EACH_OF_FEW)
    add(0, before, _EACH_ALONE)
    return rounds


def _pair_letters(given: _Round, makers: _Makers, pairs: _Pairs) -> None:
    ink, half, own, rng = given.ink, given.half, given.own, makers.rng
    made: list[tuple[int, str, NDArray[np.float32], float]] = []
    order: list[int] = []
    for at in own[: given.each["sound"]]:
        made.append((SOUND, "", ink[at], float(half[at])))
        order.append(int(given.number[at]))
    for n in range(given.each["again"]):
        at = own[n % len(own)]
        other = rng.choice(own)
        letter, wide = alone_in(ink[other], float(half[other])), float(half[other])
        picture = put_there(ink[at], float(half[at]), letter, wide, makers.x_height_px, rng)
        made.append((SOUND, "", picture, wide))
    for n in range(given.each["real"] + given.each["atlas"]):
        found = makers.strange(given.character, real=n < given.each["real"])
        if found is not None:
            at = own[n % len(own)]
            source, letter, wide = found
            picture = put_there(ink[at], float(half[at]), letter, wide, makers.x_height_px, rng)
            made.append((STRANGE if len(given.fellows) else SOUND, source, picture, wide))
    for n in range(given.each["broken"]):
        at = own[-1 - n % len(own)]
        made.append((BROKEN, "", broken(ink[at], float(half[at]), rng), float(half[at])))
    _lay(given, made, pairs)
    pairs.order += order + [-1] * (len(made) - len(order))
    pairs.letter += [given.character] * len(made)
    pairs.fellows += [len(given.fellows)] * len(made)


def _lay(
    given: _Round,
    made: Sequence[tuple[int, str, NDArray[np.float32], float]],
    pairs: _Pairs,
) -> None:
    count = len(given.ink)
    half = np.concatenate([given.half, np.array([each[3] for each in made], np.float32)])
    both = Cut(
        Patches.of(np.concatenate([given.ink, np.stack([each[2] for each in made])])),
        half.astype(np.float32),
        np.zeros((count + len(made), 2), np.float32),
    )
    pictures = _laid(both, np.arange(count, count + len(made)), given.fellows)
    pairs.pictures.append(np.round(255 * np.clip(pictures[:, :2], 0, 1)).astype(np.uint8))
    pairs.mould += [len(pairs.moulds)] * len(made)
    pairs.moulds.append(np.round(255 * np.clip(pictures[0, 2:], 0, 1)).astype(np.uint8))
    pairs.kind += [each[0] for each in made]
    pairs.source += [each[1] for each in made]


def _laid(cut: Cut, who: NDArray[np.intp], fellows_at: NDArray[np.intp]) -> NDArray[np.float32]:
    if not len(fellows_at):
        return by_themselves(cut, who)
    fellows = Fellows.of(cut, fellows_at)
    laid = lay_on(cut, who, fellows)
    shift, nearest, unlike = laid.shift, laid.nearest, laid.unlike
    odd = np.flatnonzero(unlike > _ODD)
    if len(odd):
        again = lay_on(cut, who[odd], fellows, reach=FAR)
        better = again.unlike < unlike[odd]
        shift[odd[better]], nearest[odd[better]] = again.shift[better], again.nearest[better]
    return beside_fellows(cut, who, shift, nearest, fellows)


def main() -> None:
    """Pair every page."""
    parser = argparse.ArgumentParser(prog="python -m tests.lab.pairs")
    parser.add_argument("folder", type=Path)
    parser.add_argument("atlas", type=Path)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--seed", type=int, default=1)
    given = parser.parse_args()
    logging.basicConfig(level=logging.INFO, format="%(message)s")
    names = [path.name.removesuffix(".cut.npz") for path in given.folder.glob("*.cut.npz")]
    with ProcessPoolExecutor(given.processes) as pool:
        pair = partial(pair_page, folder=given.folder, atlas=given.atlas, seed=given.seed)
        count = sum(pool.map(pair, sorted(names)))
    _log.info("%d pages, %d pairs", len(names), count)


if __name__ == "__main__":
    main()
