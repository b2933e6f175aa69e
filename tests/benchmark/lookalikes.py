"""Measure letters easily taken for one another: planted in the picture, and pages as printed.

    python -m tests.benchmark.lookalikes PATH/TO/scans --books 1880-bern,1886-bern --pages 3
    python -m tests.benchmark.lookalikes --fonts FOLDER_OF_FONTS --pages 2

Every page is read as printed and with one look-alike (`alikeplants`) in every third line, moved
from elsewhere on the same page. With --fonts the pages are set by the tests' own typesetter in the
faces marked "held" in tests/lab/faces.csv, good and worn in turn. Prints, family by family, how
many were told as a fault, as a query, let go with a reason, and not seen at all; and what was
alleged on the same pages as printed, true differences listed by name left out.

--narrow SHARE squeezes every page sideways, so that its face is one that no reader has seen: a book
that the reader was trained on is no measure of what it makes of a strange one.
--cache FOLDER keeps the planted pictures, so that the next run needs not make them again.
"""

from __future__ import annotations

import argparse
import pickle
import re
import sys
import tempfile
import zlib
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field, replace
from functools import partial
from multiprocessing import get_context
from pathlib import Path
from typing import TYPE_CHECKING

import cv2

from proofcheck import check_proof
from proofcheck.base.errors import ProofcheckError
from proofcheck.base.options import Options
from proofcheck.copytext import load_copy
from proofcheck.results.report import scan_box
from tests import typesetter

from .alarms import alarms_of, context_of, load_true_differences
from .alikeplants import ALIKE_KINDS
from .faceplants import Plan, forme_of, held_families
from .facetables import WEARS
from .pages import Page, load_grey, pages_in, sampled
from .planting import plant_in_image
from .score import _in_copy, _meets, _x_height, outcomes
from .standing import study

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from proofcheck.base.values import Box, Grey
    from proofcheck.results.report import Report

    from .planting import Plant

WAYS = ("fault", "query", "let go", "not seen")
LINES_APART = 3
WORDS = 330
_BOOK = re.compile(r"(\d{4}-)?[a-z]+(-[a-z]+)?")
"""The name of a page begins with that of its book, or with the year and place of a catalogue."""


@dataclass(slots=True)
class Told:
    """What came of one page."""

    page: str
    characters: int
    plants: list[tuple[str, str, str, str, str]] = field(default_factory=list)
    """Family, what became of it, printed, wanted, the copy round it."""
    alarms: list[tuple[str, str, str, str, float]] = field(default_factory=list)
    """Status, printed, wanted, the copy round it, certainty; on the page as printed."""


def planted_page(page: Page, seed: int, cache: Path | None) -> tuple[Grey, list[Plant]]:
    """The page's picture with look-alikes in it."""
    kept = cache / f"{page.name}-{seed}.pickle" if cache else None
    if kept and kept.exists():
        with kept.open("rb") as file:
            picture, plants = pickle.load(file)  # noqa: S301 (our own file)
            return picture, plants
    drawn = zlib.crc32(f"{seed} {page.name}".encode())
    found = plant_in_image(study(load_grey(page), page.text), drawn, ALIKE_KINDS, LINES_APART)
    if kept:
        kept.parent.mkdir(parents=True, exist_ok=True)
        kept.write_bytes(pickle.dumps(found))
    return found


def read_page(
    page: Page, options: Options, seed: int, cache: Path | None, narrow: float = 1.0
) -> Told:
    """A page as printed, and with look-alikes."""
    cv2.setNumThreads(1)
    if options.weights is not None and options.weights.is_dir():
        options = replace(options, weights=options.weights / f"{page.book}.onnx")
    told = Told(page.name, len(" ".join(page.text.split())))
    picture, plants = planted_page(page, seed, cache)
    plants = [replace(plant, box=_narrowed(plant.box, narrow)) for plant in plants]
    picture = _squeezed(picture, narrow)
    plain = _read(_squeezed(load_grey(page), narrow), page.text, options)
    if plain:
        listed = load_true_differences().get(page.name, [])
        told.alarms = [
            (alarm.status, alarm.printed, alarm.wanted, alarm.context, alarm.certainty)
            for alarm in alarms_of(plain, page.book, page.name, listed)
            if not alarm.listed
        ]
    report = _read(picture, page.text, options) if plants else None
    if report:
        told.plants = list(_outcomes(report, plants, page))
    return told


def _squeezed(picture: Grey, share: float) -> Grey:
    if share == 1:
        return picture
    return cv2.resize(picture, None, fx=share, fy=1.0, interpolation=cv2.INTER_AREA)


def _narrowed(box: Box, share: float) -> Box:
    return box._replace(x=round(box.x * share), width=round(box.width * share))


def _read(picture: Grey, text: str, options: Options) -> Report | None:
    with tempfile.TemporaryDirectory() as folder:
        scan, copy = Path(folder) / "page.png", Path(folder) / "copy.txt"
        cv2.imwrite(str(scan), picture)
        copy.write_text(text, encoding="utf-8", newline="")
        try:
            return check_proof([scan], load_copy(copy), options=options)
        except ProofcheckError as error:
            print(f"refused: {error}", file=sys.stderr)
            return None


def _outcomes(
    report: Report, plants: Sequence[Plant], page: Page
) -> Iterator[tuple[str, str, str, str, str]]:
    size = _x_height(report)
    gone = []
    for one in report.let_go:
        x, y, width, height = scan_box(report.sheets[one.sheet], one.box)
        gone.append((one, (x, y, x + width, y + height)))
    for plant, outcome in zip(
        plants, outcomes(report, plants, "image", page.book, page.name), strict=True
    ):
        found = outcome.found
        if found == "missed":
            here = any(_meets(box, plant.box, 1.0, size) or _in_copy(o, plant) for o, box in gone)
            found = "let go" if here else "not seen"
        yield plant.name, found, plant.printed, plant.wanted, context_of(page.text, *plant.span)


def face_pages(fonts: Path, count: int, seed: int, folder: Path) -> list[Page]:
    """Pages set in the held faces, as pictures in a folder."""
    made = []
    plan = Plan(WORDS, count, seed, ("plain",), folder)
    for name, files in held_families(fonts).items():
        if not all(path.exists() for path in files.values()):
            continue
        for number in range(count):
            path = folder / f"{name}-{number + seed * 100}.png"
            proof = typesetter.print_proof(
                forme_of(name, files, number, plan, mix=False), misalign_pt=0.06, seed=number
            )
            if not path.exists():
                wear = WEARS[number % len(WEARS)]
                cv2.imwrite(str(path), typesetter.pull(proof, wear, seed=seed + number))
            made.append(Page(path.stem, name, path, proof.copy, tagged=False))
    return made


def as_table(results: Sequence[Told]) -> str:
    """Families down, what became of them across; then the alarms."""
    counts = Counter((plant[0], plant[1]) for told in results for plant in told.plants)
    lines = [f"| | planted | {' | '.join(WAYS)} |", "|---|" + "---|" * (len(WAYS) + 1)]
    for name in (*ALIKE_KINDS, "all"):
        row = [sum(n for (f, w), n in counts.items() if w == way and name in (f, "all"))
               for way in WAYS]  # fmt: skip
        lines.append(f"| {name} | {sum(row)} | {' | '.join(map(str, row))} |")
    characters = sum(told.characters for told in results)
    lines.append(f"\n{len(results)} pages, {characters} characters, alleged as printed for 1,000:")
    for status in ("fault", "query"):
        found = sum(alarm[0] == status for told in results for alarm in told.alarms)
        lines.append(f"{status}: {found}, {1000 * found / max(characters, 1):.2f}")
    return "\n".join(lines)


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmark.lookalikes")
    parser.add_argument("scans", type=Path, nargs="?", help="folder of pages with their text")
    parser.add_argument("--fonts", type=Path, help="set pages in the held faces of this folder")
    parser.add_argument("--books", default="", help="only these, parted by commas")
    parser.add_argument("--pages", type=int, default=2, help="at most so many of each book")
    parser.add_argument("--weights", type=Path, help="an .onnx file, or a folder of BOOK.onnx")
    parser.add_argument("--no-second-look", action="store_true")
    parser.add_argument("--narrow", type=float, default=1.0, help="width left of a page")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--cache", type=Path)
    given = parser.parse_args()
    books = set(filter(None, given.books.split(",")))
    with tempfile.TemporaryDirectory() as made:
        if given.fonts:
            dpi = typesetter.compose([typesetter.Para("a")]) and 300.0
            held = face_pages(given.fonts, given.pages, given.seed, given.cache or Path(made))
            pages = [page for page in held if not books or page.book in books]
        else:
            held = [_renamed(page) for page in pages_in(given.scans)]
            pages, dpi = sampled(held, given.pages, given.seed, books), None
        options = Options(
            type_too=False,
            recast=False,
            dpi=dpi,
            weights=given.weights,
            second_look=not given.no_second_look,
        )
        read = partial(
            read_page, options=options, seed=given.seed, cache=given.cache, narrow=given.narrow
        )
        results = []
        # Spawned: a fork would take along threads of the pictures just made.
        with ProcessPoolExecutor(given.jobs, get_context("spawn")) as pool:
            for told in pool.map(read, pages) if given.jobs > 1 else map(read, pages):
                results.append(told)
                _say(told)
    print(as_table(results))


def _renamed(page: Page) -> Page:
    book = _BOOK.match(page.name)
    return Page(page.name, book.group() if book else page.book, page.image, page.text, page.tagged)


def _say(told: Told) -> None:
    for name, found, printed, wanted, context in told.plants:
        if found != "fault":
            print(f"{told.page}: {name}: {found}: {printed} for {wanted}: {context}",
                  file=sys.stderr)  # fmt: skip
    for status, printed, wanted, context, certainty in told.alarms:
        print(f"{told.page}: alleged {status} {certainty:.2f}: {printed!r} for {wanted!r}:"
              f" {context}", file=sys.stderr)  # fmt: skip


if __name__ == "__main__":
    main()
