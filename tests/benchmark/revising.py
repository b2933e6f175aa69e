"""Lay revises on earlier proofs whose difference is known, simulated and from real scans.

    PYTHONPATH=tests:. python -m benchmark.revising --simulated 40
    PYTHONPATH=tests:. python -m benchmark.revising FOLDER --processes 32
    PYTHONPATH=tests:. python -m benchmark.revising FOLDER --simulated 40 --fit

The lines' text is given (of a folder, NAME.txt line for line beside NAME.png), so that what is
measured is the laying over, and no OCR engine is needed. Pages whose lines are not found one for
one, or can't be cut apart, are passed over, and counted.

With --fit the measures of slugs left alone and cast again are shown, on books and seeds that no
figure is quoted on: the thresholds in `revise/overlay.py` and the noise in `revise/odds.py` were
chosen from that table alone.
"""

from __future__ import annotations

import argparse
import multiprocessing
import random
import time
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import cv2
import numpy as np

from proofcheck.revise.overlay import SAME_LIKENESS, SAME_ODDS

from .muddledpulls import fit_pulled, try_pulled
from .muddledscans import fit_scanned, try_scanned
from .muddles import MUDDLES, Result
from .pages import pages_in

if TYPE_CHECKING:
    from collections.abc import Iterator

    from .muddles import Sample
    from .pages import Page

__all__ = ["FIT_BOOKS", "main"]

FIT_BOOKS = frozenset({"carrots", "taxidermy"})
"""Books the thresholds may be chosen on; figures are quoted on the others."""


@dataclass(frozen=True, slots=True)
class _Task:
    """One page or one simulated forme, and what is to be done with it."""

    page: Page | None
    other: Page | None
    trial: int
    seed: int
    play: float
    fit: bool
    muddled: bool = True
    """Also lay on muddles: slugs swapped, dropped, cast again unasked."""


def _run(task: _Task) -> Result:
    cv2.setNumThreads(1)
    if task.page is None:
        if task.fit:
            return fit_pulled(task.seed, task.trial, task.play)
        return try_pulled(task.seed, task.trial, task.play, muddled=task.muddled)
    if task.fit:
        return fit_scanned(task.page, task.seed, task.play)
    other = task.other or task.page
    return try_scanned(task.page, other, task.seed, task.play, muddled=task.muddled)


def _tasks(asked: argparse.Namespace) -> list[_Task]:
    found = pages_in(asked.folder) if asked.folder else []
    books = set(asked.books.split(",")) if asked.books else None
    if books is None:
        books = {p.book for p in found if (p.book in FIT_BOOKS) is asked.fit}
    found = [page for page in found if page.book in books]
    random.Random(asked.seed).shuffle(found)
    how = (asked.seed, asked.play, asked.fit, not asked.corrections)
    tasks = [
        _Task(page, _other(page, found), 0, *how) for page in found[: asked.pages or len(found)]
    ]
    tasks += [_Task(None, None, trial, *how) for trial in range(asked.simulated)]
    random.Random(asked.seed).shuffle(tasks)  # should the time be up, some of each are done
    return tasks


def _other(page: Page, pages: list[Page]) -> Page | None:
    """Another page of the same book."""
    mine = [other for other in pages if other.book == page.book]
    at = mine.index(page)
    return mine[(at + 1) % len(mine)]


def _results(tasks: list[_Task], processes: int, until: float) -> Iterator[tuple[_Task, Result]]:
    if processes <= 1:
        for task in tasks:
            if time.monotonic() > until:
                return
            yield task, _run(task)
        return
    with multiprocessing.Pool(processes) as pool:
        running = [(task, pool.apply_async(_run, (task,))) for task in tasks]
        for task, result in running:
            try:
                yield task, result.get(max(until - time.monotonic(), 0.0))
            except multiprocessing.TimeoutError:
                continue  # the time is up: what is ready counts, what is not is left


# ------------------------------------------------------------------ tables


def _table(counts: Counter[str]) -> list[str]:
    """What had to be told, and how much of it was."""
    lines = []
    names = [n for n in (*MUDDLES, "corrections") if counts[f"{n}: all"]]
    names += sorted(n.removesuffix(": all") for n in counts if n.startswith(("correction ", "correction, ", "new fault", "read ")) and n.endswith(": all"))  # fmt: skip # noqa: E501
    for name in names:
        every, told = counts[f"{name}: all"], counts[f"{name}: told"]
        seen = f", seen {counts[f'{name}: seen']}" if name in MUDDLES else ""
        lines.append(f"  {name:<36}{told:>6} of {every:<6}{100 * told / every:>7.2f} %{seen}")
    left, false = counts["slugs left alone"], counts["falsely moved"]
    if left:
        lines.append(f"  {'slugs left alone, falsely moved':<36}{false:>6} of {left:<6}"
                     f"{f'one in {left // false}' if false else 'none':>9}")  # fmt: skip
    lines += [
        f"  {name:<36}{count:>6}"
        for name, count in sorted(counts.items())
        if ": " not in name and name not in {"slugs left alone", "falsely moved"}
    ]
    return lines


def _fitted(samples: list[Sample]) -> list[str]:
    """How the measures lie for slugs left alone and cast again."""
    lines = []
    for recast in (False, True):
        own = [s for s in samples if s.recast is recast]
        odds, like = (np.array([getattr(s, k) for s in own]) for k in ("odds", "likeness"))
        shares = (0, 0.2, 0.5, 1, 5, 50, 95, 99, 99.5, 99.8, 100)
        lines.append(f"  {'cast again' if recast else 'left alone'}: {len(own)} slugs")
        for name, values in (("odds", odds), ("likeness", like)):
            spread = " ".join(f"{v:.4g}" for v in np.percentile(values, shares))
            lines.append(f"    {name:<10} at {shares} %: {spread}")
    for least in (2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0):
        told = [(s.recast, s.odds >= least or s.likeness < SAME_LIKENESS) for s in samples]
        false = sum(t for recast, t in told if not recast)
        missed = sum(not t for recast, t in told if recast)
        now = "  (as it is)" if least == SAME_ODDS else ""
        lines.append(f"    odds of {least:g} and more: {false} false, {missed} missed{now}")
    noise = [s.noise for s in samples]
    lines.append(f"    noise of the sheets: {np.percentile(noise, (0, 10, 50, 90, 100)).round(2)}")
    return lines


def _keep(folder: Path, result: Result, done: int, counts: Counter[str]) -> None:
    """Say how far it has come, and keep the pictures of what was told wrongly."""
    folder.mkdir(parents=True, exist_ok=True)
    for note, picture in result.pictures:
        name = f"{len(list(folder.glob('*.png'))):04d}.png"
        cv2.imwrite(str(folder / name), picture)
        print(f"    {name}: {note}")
    told, every = (counts[f"corrections: {what}"] for what in ("told", "all"))
    made = counts["untouched told as made"]
    print(f"{done} done, {told} of {every} corrections, {made} untouched told as made", flush=True)


def main() -> None:
    """Run what is asked for and print the counts."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("folder", nargs="?", type=Path)
    parser.add_argument("--simulated", type=int, default=0, metavar="TRIALS")
    parser.add_argument("--pages", type=int, default=0, help="at most so many; 0: all")
    parser.add_argument("--books", default="", help="of these books only, with commas")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--play", type=float, default=1.0, help="of a slug cast again; usual: 1")
    parser.add_argument("--fit", action="store_true", help="show the measures thresholds come from")
    parser.add_argument(
        "--corrections", action="store_true", help="corrections alone, and no muddles"
    )
    parser.add_argument("--keep", type=Path, help="say how far it is; pictures of wrong verdicts")
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--minutes", type=float, default=600.0, help="count what is done by then")
    asked = parser.parse_args()
    until = time.monotonic() + 60 * asked.minutes
    tasks = _tasks(asked)
    totals = {"real scans": Result(), "simulated": Result()}
    done, begun = 0, time.process_time()
    for task, result in _results(tasks, asked.processes, until):
        totals["simulated" if task.page is None else "real scans"].add(result)
        done += 1
        if asked.keep:
            _keep(asked.keep, result, done, sum((r.counts for r in totals.values()), Counter()))
    print(
        f"{done} of {len(tasks)} pages and formes, play {asked.play:g}, seed {asked.seed}; "
        f"{time.process_time() - begun:.0f} s of this process's processor time"
    )
    for name, result in totals.items():
        if result.counts or result.samples:
            print(name)
            lines = _fitted(result.samples) if asked.fit else _table(result.counts)
            print("\n".join([*lines, *(f"    {note}" for note in result.notes)]))


if __name__ == "__main__":
    main()
