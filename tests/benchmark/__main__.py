"""Measure the reading of real pages: false alarms as printed, and planted faults found.

    python -m tests.benchmark PATH/TO/scans [--pages 4] [--books b,d] [--out FOLDER]

PATH holds NAME.png with its true text NAME.txt, in folders or not; nothing of it is kept but what
is written to FOLDER. Writes FOLDER/benchmark.md, FOLDER/benchmark.json and strips to look at.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from proofcheck.base.options import READERS, Options

from .cost import Cost, cost_of_page
from .pages import is_for_fitting, load_grey, pages_in, sampled
from .running import WAYS, PageResult, Plan, options_for, run_page, save_worn
from .strips import write_strips
from .tables import as_json, as_markdown
from .wearing import SCAN_DPI, Wear

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from .pages import Page


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmark", description=__doc__)
    parser.formatter_class = argparse.RawDescriptionHelpFormatter
    parser.add_argument("scans", type=Path, help="folder of pages with their text")
    parser.add_argument("--pages", type=int, help="at most so many of each book (all)")
    parser.add_argument("--books", default="", help="only these, parted by commas")
    parser.add_argument("--ways", default=",".join(WAYS), help="%(default)s, or some of them")
    parser.add_argument("--reader", choices=READERS, default="letters")
    parser.add_argument("--weights", type=Path, help="an .onnx file, or a folder of BOOK.onnx")
    parser.add_argument("--dpi", type=int, default=SCAN_DPI, help="resolution to read at")
    parser.add_argument("--noise", action="store_true", help="grey pages with scanner noise")
    parser.add_argument(
        "--fitted", action="store_true", help="also pages that the certainty may be fitted on"
    )
    parser.add_argument("--text-only", action="store_true", help="not the faults of the type")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=1, help="pages read at a time")
    parser.add_argument("--cost", type=int, default=1, help="pages of each book to time apart")
    parser.add_argument("--out", type=Path, default=Path("build/benchmark"))
    return parser.parse_args()


def _all_results(pages: Sequence[Page], plan: Plan, jobs: int) -> Iterator[PageResult]:
    read = partial(run_page, plan=plan)
    if jobs == 1:
        yield from map(read, pages)
        return
    with ProcessPoolExecutor(jobs) as pool:
        yield from pool.map(read, pages)


def _costs(pages: Sequence[Page], count: int, plan: Plan, seed: int) -> dict[str, Cost]:
    costs = {}
    for page in sampled(pages, count, seed, set()):
        with tempfile.TemporaryDirectory() as folder:
            scan = Path(folder) / "page.png"
            save_worn(load_grey(page), page, plan.wear, scan)
            copy, weights = page.image.with_suffix(".txt"), options_for(plan, page.book).weights
            costs[page.name] = cost_of_page(
                scan, copy, plan.options.reader, weights, type_too=plan.options.type_too
            )
    return costs


def main() -> None:
    given = _arguments()
    ways = tuple(given.ways.split(","))
    if not set(ways) <= set(WAYS):
        sys.exit(f"--ways takes {', '.join(WAYS)}")
    books = set(filter(None, given.books.split(",")))
    held = [page for page in pages_in(given.scans) if given.fitted or not is_for_fitting(page)]
    pages = sampled(held, given.pages, given.seed, books)
    if not pages:
        sys.exit(f"{given.scans}: no NAME.png with a NAME.txt in it")
    wear = Wear(given.dpi, given.noise)
    options = Options(reader=given.reader, type_too=not given.text_only)
    plan = Plan(ways, options, given.weights, wear, given.seed)
    given.out.mkdir(parents=True, exist_ok=True)
    results = []
    for result in _all_results(pages, plan, given.jobs):
        results.append(result)
        missed = sum(outcome.found == "missed" for outcome in result.outcomes)
        false = sum(not alarm.listed for alarm in result.alarms)
        told = f"{len(result.outcomes)} planted, {missed} missed, {false} alarms"
        print(f"{len(results)}/{len(pages)} {result.page}: {told}", file=sys.stderr)
    costs = _costs(pages, given.cost, plan, given.seed) if given.cost else {}
    grain = " with noise" if given.noise else ""
    heading = f"Reader {given.reader}, {given.dpi} dpi{grain}, seed {given.seed}"
    table = as_markdown(results, costs, heading)
    (given.out / "benchmark.md").write_text(table, encoding="utf-8")
    whole = json.dumps(as_json(results, costs, heading), ensure_ascii=False, indent=1)
    (given.out / "benchmark.json").write_text(whole, encoding="utf-8")
    write_strips(pages, results, given.out, wear.scale)
    print(table)


if __name__ == "__main__":
    main()
