"""Lay revises on earlier proofs whose difference is known, simulated and from real scans.

    PYTHONPATH=tests:. python -m benchmark.revising --simulated 40
    PYTHONPATH=tests:. python -m benchmark.revising FOLDER --pages 20

The lines' text is given (of a folder, NAME.txt line for line beside NAME.png), so that what is
measured is the laying over. Pages whose lines are not found one for one are passed over, and
counted.
"""

from __future__ import annotations

import argparse
import random
import time
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

import cv2
import numpy as np
from revise_cases import FOREIGN, notice, pulled, recast, report_on, second_scan
from typesetter import double_line, drop_lines, foreign_line, misset, swap_lines, turn_line

from proofcheck.revise import Made, Standing, compare_proofs
from proofcheck.sheet.lines import find_lines

from .pages import load_grey, pages_in
from .rescan import Bands, bands_of, cast_again, scan_again, swap_words
from .standing import as_sheet

if TYPE_CHECKING:
    from collections.abc import Iterator

    from proofcheck.report import Report

__all__ = ["main"]

MUDDLES = {
    "recast": "slug-recast",
    "swapped": "slugs-swapped",
    "dropped": "slug-dropped",
    "doubled": "slug-doubled",
    "turned": "slug-turned",
    "foreign": "slug-foreign",
}
"""What is done to one slug, and the finding it must give (another finding there: `seen`)."""


def _told(
    counts: Counter[str], name: str, earlier: Report, later: Report, lines: set[int], where: str
) -> None:
    """Count one revise in which one slug was muddled, or none."""
    told = compare_proofs(earlier, later, [])
    finds = [f for f in told.findings if f.fault == ""]
    if name == "none":
        counts["slugs the same"] += len(told.slugs)
        wrong = [s for s in told.slugs if s.standing is not Standing.STOOD]
        counts["falsely moved"] += len(wrong)
        if wrong:
            print(
                f"  {where}: falsely",
                [(s.line, s.standing.value, round(s.shift, 4)) for s in wrong],
            )
        return
    counts[name] += 1
    counts[f"{name} named"] += any(f.kind.value == MUDDLES[name] for f in finds)
    counts[f"{name} seen"] += any(f.line in lines for f in finds)
    if not any(f.line in lines for f in finds):
        print(
            f"  {where}: {name} at {sorted(lines)} not seen",
            [(f.kind.value, f.line) for f in finds],
        )


def simulated(trials: int, seed: int, until: float) -> Counter[str]:
    """The typesetter's notice pulled twice with every muddle in turn."""
    counts: Counter[str] = Counter()
    for trial in range(trials):
        if time.monotonic() > until:
            break
        counts["trials"] += 1
        rng = np.random.default_rng((seed, trial))
        right = notice(int(rng.choice([16, 20, 24])))
        last = len(right.slugs)
        line = int(rng.integers(3, last - 1))
        first = pulled(right, int(rng.integers(1e9)), wear=str(rng.choice(["good", "worn"])))
        for name in ("none", *MUDDLES):
            forme, lines = _muddled(right, name, line, rng)
            later = pulled(forme, int(rng.integers(1e9)), copy=right.copy, **second_scan(rng))
            _told(counts, name, first, later, lines, f"trial {trial}")
        _correction(counts, right, line, rng, f"trial {trial}")
    return counts


def _muddled(forme, name: str, line: int, rng):
    way = {
        "recast": lambda: (recast(forme, rng, [line]), {line}),
        "swapped": lambda: (swap_lines(forme, line, line + 1), {line, line + 1}),
        "dropped": lambda: (drop_lines(forme, line), {line - 1, line}),
        "doubled": lambda: (double_line(forme, line), {line, line + 1}),
        "turned": lambda: (turn_line(forme, line), {line}),
        "foreign": lambda: (foreign_line(forme, line, FOREIGN), {line + 1}),
    }.get(name, lambda: (forme, set()))
    return way()


def _correction(counts: Counter[str], right, line: int, rng, where: str) -> None:
    words = [w for w in right.slugs[line - 1].text.split(" ")[1:-1] if w.isalpha() and len(w) > 3]
    if not words:
        return
    word = str(rng.choice(words))
    wrong = misset(right, line, word, word[:-2] + word[-1] + word[-2], "letters-transposed")
    if word[-1] == word[-2]:
        return
    first = pulled(wrong, int(rng.integers(1e9)))
    for made in (True, False):
        forme = recast(right, rng, [line]) if made else wrong
        later = pulled(forme, int(rng.integers(1e9)), copy=right.copy, **second_scan(rng))
        _judge(counts, first, later, made=made, where=where)


def _judge(counts: Counter[str], first: Report, later: Report, *, made: bool, where: str) -> None:
    told = compare_proofs(first, later)
    for correction in told.corrections:
        counts["corrections"] += 1
        right = correction.made is (Made.MADE if made else Made.MISSED)
        counts["told rightly"] += right
        if not right:
            print(f"  {where}: made={made} told {correction.made.value}: {correction.why}")


# ------------------------------------------------------------------ real scans


def scanned(folder: Path, pages: int, seed: int, until: float) -> Counter[str]:
    """Real pages, their lines moved in the picture, scanned again in the computer."""
    counts: Counter[str] = Counter()
    found = pages_in(folder)
    random.Random(seed).shuffle(found)
    for page in found:
        if counts["pages"] >= pages or time.monotonic() > until:
            break
        image = load_grey(page)
        texts = [line for line in page.text.splitlines() if line.strip()]
        lines = find_lines(as_sheet(image))
        bands = bands_of(image, lines) if len(lines) == len(texts) >= 8 else None
        if bands is None:
            counts["pages passed over"] += 1
            continue
        counts["pages"] += 1
        rng = np.random.default_rng((seed, counts["pages"]))
        size = float(np.median([line.x_height_px for line in lines]))
        _page(counts, bands, texts, size, rng, page.name)
    return counts


def _page(counts, bands: Bands, texts: list[str], size: float, rng, where: str) -> None:
    copy = "\n".join(texts)
    image = bands.page(bands.lines)
    first = _report(counts, image, texts, copy)
    if first is None:
        return
    for name, parts, read, lines in _pages_muddled(bands, texts, size, rng):
        later = _report(counts, scan_again(bands.page(parts), rng), read, copy)
        if later is not None:
            _told(counts, name, first, later, lines, where)
    for _ in range(2):
        at = int(rng.integers(1, len(texts) - 1))
        swapped = swap_words(bands.lines[at], texts[at], size, rng)
        if swapped is None:
            continue
        wrong = [*bands.lines[:at], swapped[0], *bands.lines[at + 1 :]]
        read = [*texts[:at], swapped[1], *texts[at + 1 :]]
        before = _report(counts, bands.page(wrong), read, copy)
        for made in (True, False):
            cast = cast_again(bands.lines[at], size, rng)
            parts = [*wrong[:at], cast, *wrong[at + 1 :]] if made else wrong
            later = _report(
                counts, scan_again(bands.page(parts), rng), texts if made else read, copy
            )
            if before is not None and later is not None:
                _judge(counts, before, later, made=made, where=where)


def _pages_muddled(
    bands: Bands, texts: list[str], size: float, rng
) -> Iterator[tuple[str, list, list[str], set[int]]]:
    long = [n for n in range(1, len(texts) - 1) if len(texts[n]) > 25 and len(texts[n + 1]) > 25]
    parts = bands.lines
    yield "none", parts, texts, set()
    if not long:
        return
    at = int(rng.choice(long))
    number = at + 1
    one, two = parts[at], parts[at + 1]
    yield "recast", [*parts[:at], cast_again(one, size, rng), *parts[at + 1 :]], texts, {number}
    swapped = [*texts[:at], texts[at + 1], texts[at], *texts[at + 2 :]]
    yield "swapped", [*parts[:at], two, one, *parts[at + 2 :]], swapped, {number, number + 1}
    without = [*texts[:at], *texts[at + 1 :]]
    yield "dropped", [*parts[:at], *parts[at + 1 :]], without, {number - 1, number}
    twice = [*texts[: at + 1], *texts[at:]]
    yield "doubled", [*parts[: at + 1], *parts[at:]], twice, {number, number + 1}
    x, y, right, bottom = bands.boxes[at]
    turned = one.copy()
    y, bottom = max(y, 0), min(bottom, one.shape[0])
    turned[y:bottom, x:right] = one[y:bottom, x:right][::-1, ::-1]
    upside = [*texts[:at], texts[at][::-1], *texts[at + 1 :]]
    yield "turned", [*parts[:at], turned, *parts[at + 1 :]], upside, {number}
    other = max(long, key=lambda n: abs(n - at))
    strange = cast_again(parts[other][:, ::-1].copy(), size, rng)
    odd = [*texts[: at + 1], texts[other][::-1], *texts[at + 1 :]]
    yield "foreign", [*parts[: at + 1], strange, *parts[at + 1 :]], odd, {number + 1}


def _report(counts, image, texts: list[str], copy: str) -> Report | None:
    try:
        return report_on(image, texts, copy)
    except AssertionError:
        counts["lines not found one for one"] += 1
        return None


def main() -> None:
    """Run what is asked for and print the counts."""
    cv2.setNumThreads(1)
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("folder", nargs="?", type=Path)
    parser.add_argument("--simulated", type=int, default=0, metavar="TRIALS")
    parser.add_argument("--pages", type=int, default=10)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--minutes", type=float, default=600.0, help="begin nothing after these")
    asked = parser.parse_args()
    until = time.monotonic() + 60 * asked.minutes
    counts = simulated(asked.simulated, asked.seed, until) if asked.simulated else Counter()
    if asked.folder is not None:
        counts += scanned(asked.folder, asked.pages, asked.seed, until)
    for name in sorted(counts):
        print(f"{name:<28}{counts[name]:>6}")


if __name__ == "__main__":
    main()
