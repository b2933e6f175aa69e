"""Two lines of the copy change places, or the ends of two of its rows: is it told?

    python -m tests.benchmark.exchanges PATH/TO/jobs [--names a,b] [--each 16] [--processes 2]

The order in which a job's matter is read is chosen by what the copy has: of a form or a programme
many orders are as good. So what changes places could be read away. Each right sheet of a folder of
jobs (see `jobs`) is read once and laid on its copy with one exchange after the other: two lines of
the copy that follow one another, and, where both have as many cells (parted by tabs), their last
ones. An exchange is told where at its place something is alleged that is not when the copy is as it
was. Counted apart: lines that stand one under the other, beside one another in a row, and neither,
as the foot of one column and the head of the next, which may be read either way.
"""

from __future__ import annotations

import argparse
import random
import sys
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field, replace
from functools import partial
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from proofcheck.base.errors import ProofcheckError
from proofcheck.base.options import Options
from proofcheck.base.values import Span
from proofcheck.copytext import load_copy
from proofcheck.marks import AMERICAN
from proofcheck.stages import begin, lay_on_copy, put_in_order, read

from .catalogues import with_text

if TYPE_CHECKING:
    from collections.abc import Iterator

    from proofcheck.base.values import Copy, Line
    from proofcheck.stages import Proof

WAYS = ("under", "beside", "apart", "cells")
READ = 0.8
"""Share of a stretch that must have been read: of what was not nothing more can be told."""


class Exchange(NamedTuple):
    cells: bool
    """But the last cells of two rows."""
    one: Span
    other: Span
    """Places in the copy as it was, the second after the first."""


@dataclass(slots=True)
class Told:
    name: str
    made: Counter[str] = field(default_factory=Counter)
    silent: Counter[str] = field(default_factory=Counter)
    words: list[str] = field(default_factory=list)


def lines_in(text: str) -> list[Span]:
    """Where the lines of a copy stand that hold anything."""
    rows, at = [], 0
    for row in text.split("\n"):
        if row.strip():
            rows.append(Span(at, at + len(row)))
        at += len(row) + 1
    return rows


def exchanges_in(text: str) -> Iterator[Exchange]:
    """All that may change places: neighbouring lines, and the last cells of such rows."""
    for one, other in pairwise(lines_in(text)):
        mine, its = text[slice(*one)], text[slice(*other)]
        if mine.strip() != its.strip():
            yield Exchange(False, one, other)
        cells, others = mine.split("\t"), its.split("\t")
        if len(cells) == len(others) > 1 and cells[-1].strip() != others[-1].strip():
            ends = (
                Span(one.end - len(cells[-1]), one.end),
                Span(other.end - len(others[-1]), other.end),
            )
            if ends[0].start < ends[0].end and ends[1].start < ends[1].end:
                yield Exchange(True, *ends)


def exchanged(copy: Copy, at: Exchange) -> tuple[Copy, Span]:
    """The copy with two stretches exchanged, and where in it that is."""
    text, (a, b), (c, d) = copy.text, at.one, at.other
    new = text[:a] + text[c:d] + text[b:c] + text[a:b] + text[d:]
    return with_text(copy, new), Span(a, d)


def alleged(laid: Proof, place: Span) -> Counter[tuple[str, str, str]]:
    """What is alleged of a place of the copy that the lines are laid on."""
    return Counter(
        (each.kind.value, each.copy_text, each.proof_text)
        for each in laid.collation.differences
        if each.copy.start <= place.end and each.copy.end >= place.start
    )


def standing(proof: Proof, at: Exchange) -> str:
    """How what changes places stands on the sheet; "" where either was not read."""
    first, second = (_line_of(proof, span) for span in (at.one, at.other))
    if first is None or second is None:
        return ""
    if at.cells:
        return "cells"
    # Type set sideways is read wherever the copy has it.
    if first.home or second.home:
        return "apart"
    one, other = first.box, second.box
    across = min(one.right, other.right) - max(one.x, other.x)
    down = min(one.bottom, other.bottom) - max(one.y, other.y)
    if down > 0.5 * min(one.height, other.height):
        return "beside"
    return "under" if across > 0 else "apart"


def _line_of(proof: Proof, span: Span) -> Line | None:
    """The printed line that bears most of a stretch of the copy; None if most is not read."""
    lines = {line.number: line for line in proof.lines}
    shared: Counter[int] = Counter()
    for placing in proof.collation.placings:
        if placing.copy and placing.line in lines:
            both = min(placing.copy.end, span.end) - max(placing.copy.start, span.start)
            shared[placing.line] += max(both, 0)
    if shared.total() < READ * (span.end - span.start):
        return None
    return lines[max(shared, key=shared.__getitem__)]


def try_job(name: str, folder: Path, each: int) -> Told:
    """Read one right sheet, and lay it on its copy with so many exchanges."""
    told = Told(name)
    copy = load_copy(folder / f"{name}.txt")
    work, proof = begin(copy, Options(type_too=False, recast=False), AMERICAN, str)
    try:
        proof = read(proof, work, [folder / f"{name}.jpg"])
    except ProofcheckError as error:
        told.words.append(f"refused: {error}")
        return told
    laid = lay_on_copy(put_in_order(proof, work), work)
    if laid.gang or laid.collation.mismatch:
        return told
    found = list(exchanges_in(copy.text))
    for at in random.Random(1).sample(found, min(each, len(found))):
        new, place = exchanged(copy, at)
        way = standing(laid, at)
        if not way or alleged(laid, place):
            continue
        told.made[way] += 1
        now = lay_on_copy(put_in_order(replace(proof, copy=new), work), work)
        if not alleged(now, place):
            told.silent[way] += 1
            one, other = copy.text[slice(*at.one)], copy.text[slice(*at.other)]
            told.words.append(f"{way}: {one[:40]!r} and {other[:40]!r}")
    return told


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmark.exchanges")
    parser.add_argument("jobs", type=Path)
    parser.add_argument("--names", default="", help="only these, parted by commas")
    parser.add_argument("--each", type=int, default=16, help="at most so many of a sheet")
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
    print("| stand | exchanged | not told |\n|---|---|---|")
    for way in WAYS:
        print(f"| {way} | {made[way]} | {silent[way]} |")


if __name__ == "__main__":
    main()
