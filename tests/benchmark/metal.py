"""Measure what is seen of the type itself on real pages.

    python -m tests.benchmark.metal PATH/TO/scans [--pages 2] [--books b,d] [--faces FOLDER]
        [--learnt 3]

Faults of the type are planted in pages by cutting, turning and moving their own letters
(`typeplants`), letters of another book of the sample serving as wrong fonts, and with
--faces those of the italics marked "held" in `tests/lab/faces.csv`; the same pages are
read as printed for what is wrongly alleged of them. Pages that `typefit` fits on are left out.
With --learnt each book of the sample is a face of the shop's book, learnt from so many other pages
(none that is measured or gives strange letters); FOLDER/faces is used again where it is there.
Writes FOLDER/metal.md, FOLDER/outcomes.csv (what became of each plant) and strips of every finding
on pages as printed, for a person to judge.
"""

from __future__ import annotations

import argparse
import csv
import dataclasses
import os
import sys
import tempfile
import zlib
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

import cv2
from PIL import Image

from proofcheck import check_proof
from proofcheck.base.errors import ProofcheckError
from proofcheck.base.found import Status
from proofcheck.base.kinds import Kind
from proofcheck.base.options import Options
from proofcheck.base.values import Box
from proofcheck.metal import MetalSettings, look_at_type

from .donors import strange_letters
from .looking import contact_sheet, strip_round
from .pages import is_for_fitting, load_grey, pages_in, sampled
from .score import on_scan, outcomes
from .shopfaces import taught_faces
from .standing import study
from .typeplants import TYPE_KINDS, plant_in_type

if TYPE_CHECKING:
    from proofcheck.base.values import Grey
    from proofcheck.results.report import Report

    from .donors import Strange
    from .pages import Page
    from .score import Outcome

_OF_TYPE = frozenset(
    {
        Kind.TURNED_SORT,
        Kind.WRONG_FONT,
        Kind.BROKEN_LETTER,
        Kind.WORK_UP,
        Kind.OFF_LINE,
        Kind.HAIRLINE,
        Kind.UNEVEN_SPACING,
        Kind.CROOKED_LINE,
        Kind.SHORT_MEASURE,
    }
)
_PER_SHEET = 24
_BY_FELLOWS = ("broken", "wrong font", "italic")
"""Kinds told by the letter's fellows, of which capitals and figures have few."""


@dataclass(slots=True)
class _Sum:
    """What came of all pages."""

    characters: int = 0
    outcomes: list[Outcome] = field(default_factory=list)
    alarms: Counter[tuple[str, str]] = field(default_factory=Counter)
    strips: list[tuple[str, Grey]] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)
    seconds: list[tuple[float, float]] = field(default_factory=list)
    """Of each page as printed: read without looking at the type, and looking at it alone."""


def read_picture(picture: Grey, page: Page, options: Options) -> Report:
    with tempfile.TemporaryDirectory() as folder:
        scan, copy = Path(folder) / "page.png", Path(folder) / "copy.txt"
        tag = {"dpi": (300, 300)} if page.tagged else {}
        Image.fromarray(picture).save(scan, **tag)
        copy.write_text(page.text, encoding="utf-8", newline="")
        return check_proof([scan], copy, options=options)


def _processor_seconds() -> float:
    """Of this process and of those it has waited for: the OCR engine is one of them."""
    return sum(os.times()[:4])


def _as_printed(page: Page, options: Options, total: _Sum) -> None:
    image = load_grey(page)
    start = _processor_seconds()
    report = read_picture(image, page, options)
    whole = _processor_seconds() - start
    start = _processor_seconds()
    settings = MetalSettings(comparer=options.type_weights, faces=options.faces)
    look_at_type(
        report.sheets, report.lines, report.readings, report.collation, report.copy,
        settings=settings,
    )  # fmt: skip
    of_type = _processor_seconds() - start
    total.seconds.append((whole - of_type, of_type))
    total.characters += len(" ".join(page.text.split()))
    for fault in report.faults:
        if fault.kind not in _OF_TYPE:
            continue
        total.alarms[str(fault.kind), str(fault.status)] += 1
        left, top, right, bottom = map(round, on_scan(report, fault))
        strip = strip_round(image, Box(left, top, max(right - left, 1), max(bottom - top, 1)))
        what = f"{page.name} {fault.line} {fault.status} {fault.certainty:.2f} {fault.kind}"
        total.strips.append((f"{what} [{fault.copy_text}] {fault.mark.words}", strip))


@dataclass(frozen=True, slots=True)
class _Plan:
    """What is planted in a page."""

    strange: Strange
    seed: int
    kinds: tuple[str, ...]
    every: int


def _planted(page: Page, plan: _Plan, options: Options, total: _Sum) -> None:
    standing = study(load_grey(page), page.text)
    seed = zlib.crc32(f"{plan.seed} {page.name}".encode())
    picture, plants = plant_in_type(standing, plan.strange, seed, plan.kinds, plan.every)
    report = read_picture(picture, page, options)
    total.outcomes += outcomes(report, plants, "type", page.book, page.name)


def _row(name: str, mine: list[Outcome]) -> str:
    found = Counter(each.found for each in mine)
    named = sum(each.named_rightly for each in mine)
    share = f"{100 * (found['fault'] + found['query']) / max(len(mine), 1):.0f} %"
    return (
        f"| {name} | {len(mine)}, found {share} | {found['fault']} | {found['query']} "
        f"| {named} | {found['missed']} |"
    )


def _table(total: _Sum) -> str:
    rows = [
        "| planted | pages' own letters | as fault | as query | named rightly | missed |",
        "|---|---|---|---|---|---|",
    ]
    for name in TYPE_KINDS:
        mine = [each for each in total.outcomes if each.name == name]
        rows.append(_row(name, mine))
        if name in _BY_FELLOWS and mine:
            small = [each for each in mine if each.printed.islower()]
            rows.append(_row(f"{name}, small letters", small))
            rest = [each for each in mine if not each.printed.islower()]
            rows.append(_row(f"{name}, capitals and figures", rest))
    rows += ["", f"As printed, {total.characters} characters:"]
    rows += [f"- {kind}, {status}: {count}" for (kind, status), count in total.alarms.items()]
    count = sum(total.alarms.values())
    faults = sum(n for (_, status), n in total.alarms.items() if status == Status.FAULT)
    thousand = max(total.characters / 1000, 1e-9)
    rows.append(f"- all kinds: {count / thousand:.2f} per 1,000, {faults / thousand:.2f} as faults")
    rest, of_type = (sum(part) for part in zip(*total.seconds, strict=True))
    rows.append(f"- time: {100 * of_type / max(rest, 1e-9):.0f} % added to {rest:.1f} s")
    rows += [f"- refused: {why}" for why in total.refused]
    return "\n".join(rows)


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmark.metal", description=__doc__)
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.add_argument("scans", type=Path, help="folder of pages with their text")
    parser.add_argument("--pages", type=int, default=2, help="at most so many of each book")
    parser.add_argument("--books", default="", help="only these, parted by commas")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--weights", type=Path, help="folder of BOOK.onnx, the letter readers")
    parser.add_argument("--type-weights", type=Path, help="folder of BOOK.onnx, the comparers")
    parser.add_argument("--faces", type=Path, help="folder of font files, for italic letters")
    parser.add_argument("--learnt", type=int, default=0, help="pages of each book learnt first")
    parser.add_argument("--without", default="", help="measure none of these pages")
    parser.add_argument("--fitted", action="store_true", help="pages used for fitting too")
    parser.add_argument("--kinds", default="", help="plant only these, parted by commas")
    parser.add_argument("--every", type=int, default=2, help="plant in one of so many lines")
    parser.add_argument("--no-second-look", action="store_true", help="leave the OCR engine out")
    parser.add_argument("--out", type=Path, default=Path("build/metal"))
    given = parser.parse_args()
    books, kinds = (tuple(filter(None, each.split(","))) for each in (given.books, given.kinds))
    if not set(kinds) <= set(TYPE_KINDS):
        sys.exit(f"--kinds: of {', '.join(TYPE_KINDS)}")
    all_pages = pages_in(given.scans)
    held = [p for p in all_pages if given.fitted or not is_for_fitting(p)]
    held = [p for p in held if p.name not in given.without.split(",")]
    pages = sampled(held, given.pages, given.seed, set(books))
    if not pages:
        sys.exit(f"{given.scans}: no NAME.png with a NAME.txt in it")
    cv2.setNumThreads(1)
    given.out.mkdir(parents=True, exist_ok=True)
    options, total = Options(second_look=not given.no_second_look), _Sum()
    if given.learnt:
        options = dataclasses.replace(options, faces=given.out / "faces")
        taught_faces(options.faces, all_pages, pages, given.learnt, read_picture)
    for number, page in enumerate(pages):
        mine = dataclasses.replace(
            options,
            weights=given.weights and given.weights / f"{page.book}.onnx",
            type_weights=given.type_weights and given.type_weights / f"{page.book}.onnx",
        )
        try:
            _as_printed(page, mine, total)
            strange = strange_letters(page, all_pages, number, given.faces)
            _planted(page, _Plan(strange, given.seed, kinds, given.every), mine, total)
        except ProofcheckError as error:
            total.refused.append(f"{page.name}: {error}")
        print(f"{number + 1}/{len(pages)} {page.name}", file=sys.stderr)
    table = _table(total)
    (given.out / "metal.md").write_text(table + "\n", encoding="utf-8")
    with (given.out / "outcomes.csv").open("w", encoding="utf-8", newline="") as file:
        rows = csv.writer(file)
        rows.writerow(["page", "planted", "letter", "found", "named rightly", "said"])
        for each in total.outcomes:
            named = "yes" if each.named_rightly else ""
            rows.writerow([each.page, each.name, each.printed, each.found, named, each.said])
    for start in range(0, len(total.strips), _PER_SHEET):
        path = given.out / f"findings-{start // _PER_SHEET + 1:03}.png"
        contact_sheet(total.strips[start : start + _PER_SHEET], path)
    print(table)


if __name__ == "__main__":
    main()
