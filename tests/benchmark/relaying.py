"""Right sheets of a folder of jobs, each read once and laid on its copy changed in many ways.

What `exchanges` and `amiss` have in common: see there what is changed.
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from proofcheck.base.errors import ProofcheckError
from proofcheck.base.options import Options
from proofcheck.base.values import Span
from proofcheck.copytext import load_copy
from proofcheck.marks import AMERICAN
from proofcheck.stages import begin, lay_on_copy, put_in_order, read

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from proofcheck.base.values import Copy
    from proofcheck.stages import Proof, Work

READ = 0.8
"""Share of a stretch that must have been read: of what was not nothing more can be told."""


@dataclass(slots=True)
class Told:
    name: str
    made: Counter[str] = field(default_factory=Counter)
    silent: Counter[str] = field(default_factory=Counter)
    words: list[str] = field(default_factory=list)


@dataclass(frozen=True, slots=True)
class Relaid:
    """A right sheet, read, and laid on its copy."""

    copy: Copy
    laid: Proof
    _read: Proof
    _work: Work

    def on(self, copy: Copy) -> Proof:
        """The sheet laid on another copy."""
        return lay_on_copy(put_in_order(replace(self._read, copy=copy), self._work), self._work)


def read_job(folder: Path, told: Told) -> Relaid | None:
    """A right sheet of a folder; None where it is refused, several up or of another copy."""
    copy = load_copy(folder / f"{told.name}.txt")
    work, proof = begin(copy, Options(type_too=False, recast=False), AMERICAN, str)
    try:
        proof = read(proof, work, [folder / f"{told.name}.jpg"])
    except ProofcheckError as error:
        told.words.append(f"refused: {error}")
        return None
    laid = lay_on_copy(put_in_order(proof, work), work)
    return None if laid.gang or laid.collation.mismatch else Relaid(copy, laid, proof, work)


def lines_in(text: str) -> list[Span]:
    """Where the lines of a copy stand that hold anything."""
    rows, at = [], 0
    for row in text.split("\n"):
        if row.strip():
            rows.append(Span(at, at + len(row)))
        at += len(row) + 1
    return rows


def alleged(laid: Proof, place: Span) -> Counter[tuple[str, str, str]]:
    """What is alleged of a place of the copy that the lines are laid on."""
    return Counter(
        (each.kind.value, each.copy_text, each.proof_text)
        for each in laid.collation.differences
        if each.copy.start <= place.end and each.copy.end >= place.start
    )


def borne_by(laid: Proof, span: Span) -> Counter[int]:
    """How much of a stretch of the copy each line bears, by number; none where most is not read."""
    shared: Counter[int] = Counter()
    for each in laid.collation.placings:
        if each.copy:
            both = min(each.copy.end, span.end) - max(each.copy.start, span.start)
            shared[each.line] += max(both, 0)
    return shared if shared.total() >= READ * (span.end - span.start) else Counter()


def run(
    prog: str, try_job: Callable[..., Told], kinds: Iterable[str], head: str, each: tuple[int, str]
) -> None:
    """Try the jobs of the folder that is asked for, and print what came of each kind.

    Args:
        prog: the module's name.
        try_job: takes the name of a job, its `folder` and how many of `each`.
        kinds: rows of the table.
        head: of the table.
        each: how many are tried if nothing is said, and of what.
    """
    parser = argparse.ArgumentParser(prog=f"python -m tests.benchmark.{prog}")
    parser.add_argument("jobs", type=Path)
    parser.add_argument("--names", default="", help="only these, parted by commas")
    parser.add_argument("--each", type=int, default=each[0], help=f"at most so many of {each[1]}")
    parser.add_argument("--processes", type=int, default=1)
    given = parser.parse_args()
    names = sorted(path.stem for path in given.jobs.glob("*.txt"))
    if given.names:
        names = [name for name in names if name in given.names.split(",")]
    made: Counter[str] = Counter()
    silent: Counter[str] = Counter()
    with ProcessPoolExecutor(given.processes) as pool:
        for told in pool.map(partial(try_job, folder=given.jobs, each=given.each), names):
            made += told.made
            silent += told.silent
            for words in told.words:
                sys.stderr.write(f"  {told.name} {words}\n")
    print(f"{head}\n|---|---|---|")
    for kind in kinds:
        print(f"| {kind} | {made[kind]} | {silent[kind]} |")
