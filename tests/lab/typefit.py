"""Fit how the three measures of an unsound letter are taken together.

    python -m tests.lab.typefit PATH/TO/scans --faces FOLDER [--pages 5] [--seed 1]
        [--weights FOLDER] [--type-weights FOLDER]

In every line of the pages that are for fitting (`pages.is_for_fitting`) a letter of another book,
an italic letter or a broken one is planted; the same pages are read as printed. A logistic
regression of planted against printed small letters of running text gives `WEIGHTS` and `CONSTANT`
of `proofcheck.metal.unsound`; then, each book by the regression of the others, what share of each
kind is found at so many letters as printed. Of the planted letters another, of broken against
strange, gives `LOSS` and `GAIN`: what ink wanting and ink too much are worth beside the comparer's
word.
"""

from __future__ import annotations

import argparse
import dataclasses
import sys
import zlib
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import cv2
import numpy as np

from proofcheck.base.options import Options
from proofcheck.metal import MetalSettings
from proofcheck.metal.company import judgeable, small_in_running
from proofcheck.metal.context import Matter
from proofcheck.metal.judged import judge
from proofcheck.metal.unsound import measures
from tests.benchmark.donors import strange_letters
from tests.benchmark.metal import read_picture
from tests.benchmark.pages import is_for_fitting, load_grey, pages_in, sampled
from tests.benchmark.score import scan_centres
from tests.benchmark.standing import study
from tests.benchmark.typeplants import plant_in_type

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from proofcheck.base.values import Grey
    from tests.benchmark.pages import Page
    from tests.benchmark.planting import Plant

__all__ = ["matter_of"]

KINDS = ("wrong font", "italic", "broken")
_FALSE = (3, 5, 10, 20, 30)
_RIDGE, _ROUNDS = 1e-3, 30


class _Seen(NamedTuple):
    """Letters that can be judged, n of them."""

    measures: NDArray[np.float64]
    """(n, 3)"""
    breaks: NDArray[np.float64]
    """(n, 3): the comparer's log odds of broken rather than strange, and the shares of its fellows'
    ink that are wanting and too much."""
    planted: NDArray[np.str_]
    """What was planted at each; "" as printed."""
    book: NDArray[np.str_]


def matter_of(picture: Grey, page: Page, options: Options) -> Matter:
    """All that is known of the letters of a page as read.

    Raises:
        ProofcheckError: it can't be read.
    """
    report = read_picture(picture, page, options)
    settings = MetalSettings(comparer=options.type_weights)
    return Matter.of(
        report.sheets, report.lines, report.readings, report.collation, report.copy, settings
    )


def _seen(picture: Grey, page: Page, plants: Sequence[Plant], options: Options) -> _Seen:
    """Planted letters of a page that can be judged; all that can, of one without plants."""
    matter = matter_of(picture, page, options)
    judged = judge(matter)
    sure = judgeable(matter, judged.among_odd) & small_in_running(matter)
    planted = np.full(len(sure), "", "U12")
    centres = scan_centres(matter)
    for plant in plants:
        middle = np.array([plant.box.x + plant.box.width / 2, plant.box.y + plant.box.height / 2])
        away = np.abs(centres - middle).max(axis=1)
        if len(away) and away.min() < max(plant.box.width / 2, 8):
            planted[int(away.argmin())] = plant.name
    held = sure & ((planted != "") | (not plants))
    measured = measures(matter, judged.odds)[held]
    odds, fount = judged.odds, matter.fount
    breaks = np.stack([odds.broken - odds.strange, fount.lost, fount.added], axis=1)[held]
    return _Seen(measured, breaks, planted[held], np.full(int(held.sum()), page.book))


def _fit(seen: _Seen, of: NDArray[np.bool_]) -> NDArray[np.float64]:
    """Weights of the measures and the constant, on letters `of`."""
    x = np.column_stack([seen.measures[of], np.ones(int(of.sum()))])
    return _regression(x, (seen.planted[of] != "").astype(np.float64))


def _loss(seen: _Seen) -> NDArray[np.float64]:
    """What ink wanting and ink too much are worth as log odds of broken rather than strange."""
    of = (seen.planted != "") & np.isfinite(seen.breaks).all(axis=1)
    weights = _regression(seen.breaks[of], (seen.planted[of] == "broken").astype(np.float64))
    return np.asarray(weights[1:] / weights[0])


def _regression(x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.float64]:
    """Weights of a logistic regression, by Newton's method."""
    weights = np.zeros(x.shape[1])
    for _ in range(_ROUNDS):
        chance = 1 / (1 + np.exp(-x @ weights))
        bend = (x * (chance * (1 - chance))[:, None]).T @ x + _RIDGE * np.eye(x.shape[1])
        weights += np.linalg.solve(bend, x.T @ (y - chance) - _RIDGE * weights)
    return weights


def _table(seen: _Seen) -> str:
    odds = np.zeros(len(seen.planted))
    for book in np.unique(seen.book):
        weights = _fit(seen, seen.book != book)
        mine = seen.book == book
        odds[mine] = seen.measures[mine] @ weights[:-1] + weights[-1]
    printed = np.sort(odds[seen.planted == ""])[::-1]
    weights = _fit(seen, np.ones(len(odds), bool))
    rows = [
        f"WEIGHTS = ({', '.join(f'{w:.3f}' for w in weights[:-1])}), CONSTANT = {weights[-1]:.3f}",
        f"LOSS, GAIN = {', '.join(f'{w:.1f}' for w in _loss(seen))}",
        f"{len(printed)} letters as printed, {int((seen.planted != '').sum())} planted",
        "",
        f"| as printed | log odds | {' | '.join(KINDS)} |",
        f"|---|---|{'---|' * len(KINDS)}",
    ]
    for count in _FALSE:
        if count < len(printed):
            found = [np.mean(odds[seen.planted == kind] > printed[count]) for kind in KINDS]
            shares = " | ".join(f"{100 * share:.0f} %" for share in found)
            rows.append(f"| {count} | {printed[count]:.2f} | {shares} |")
    return "\n".join(rows)


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.lab.typefit", description=__doc__)
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.add_argument("scans", type=Path, help="folder of pages with their text")
    parser.add_argument("--faces", type=Path, required=True, help="folder of font files")
    parser.add_argument("--pages", type=int, default=5, help="at most so many of each book")
    parser.add_argument("--books", default="", help="only these, parted by commas")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--weights", type=Path, help="folder of BOOK.onnx, the letter readers")
    parser.add_argument("--type-weights", type=Path, help="folder of BOOK.onnx, the comparers")
    given = parser.parse_args()
    books = set(filter(None, given.books.split(",")))
    all_pages = pages_in(given.scans)
    pages = sampled(filter(is_for_fitting, all_pages), given.pages, given.seed, books)
    if not pages:
        sys.exit(f"{given.scans}: no NAME.png with a NAME.txt in it that is for fitting")
    cv2.setNumThreads(1)
    parts = []
    for number, page in enumerate(pages):
        mine = dataclasses.replace(
            Options(type_too=False, recast=False),
            weights=given.weights and given.weights / f"{page.book}.onnx",
            type_weights=given.type_weights and given.type_weights / f"{page.book}.onnx",
        )
        strange = strange_letters(page, all_pages, number, given.faces)
        image = load_grey(page)
        seed = zlib.crc32(f"{given.seed} {page.name}".encode())
        picture, plants = plant_in_type(study(image, page.text), strange, seed, KINDS, every=1)
        parts += [_seen(image, page, (), mine), _seen(picture, page, plants, mine)]
        print(f"{number + 1}/{len(pages)} {page.name}", file=sys.stderr)
    print(_table(_Seen(*(np.concatenate(columns) for columns in zip(*parts, strict=True)))))


if __name__ == "__main__":
    main()
