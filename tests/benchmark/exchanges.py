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

import random
from itertools import pairwise
from typing import TYPE_CHECKING, NamedTuple

from proofcheck.base.values import Span

from .catalogues import with_text
from .relaying import Told, alleged, borne_by, lines_in, read_job, run

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

    from proofcheck.base.values import Copy, Line
    from proofcheck.stages import Proof

WAYS = ("under", "beside", "apart", "cells")


class Exchange(NamedTuple):
    cells: bool
    """But the last cells of two rows."""
    one: Span
    other: Span
    """Places in the copy as it was, the second after the first."""


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
    shared = borne_by(proof, span)
    most = max(shared, key=shared.__getitem__, default=0)
    return next((line for line in proof.lines if line.number == most), None)


def try_job(name: str, folder: Path, each: int) -> Told:
    """Read one right sheet, and lay it on its copy with so many exchanges."""
    told = Told(name)
    job = read_job(folder, told)
    if job is None:
        return told
    text = job.copy.text
    found = list(exchanges_in(text))
    for at in random.Random(1).sample(found, min(each, len(found))):
        new, place = exchanged(job.copy, at)
        way = standing(job.laid, at)
        if not way or alleged(job.laid, place):
            continue
        told.made[way] += 1
        if not alleged(job.on(new), place):
            told.silent[way] += 1
            one, other = text[slice(*at.one)], text[slice(*at.other)]
            told.words.append(f"{way}: {one[:40]!r} and {other[:40]!r}")
    return told


if __name__ == "__main__":
    run("exchanges", try_job, WAYS, "| stand | exchanged | not told |", (16, "a sheet"))
