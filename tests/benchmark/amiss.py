"""One thing in the copy is other than on the sheet: is it told?

    python -m tests.benchmark.amiss PATH/TO/jobs [--names a,b] [--each 3] [--processes 2]

Faults set into a job's source show what is told of sheets printed wrong, a dozen on a sheet. Here
each right sheet of a folder of jobs (see `jobs`) is read once and laid on its copy again and
again, each time with one thing changed in the copy: so many places of each kind of change. What is
changed lies where the sheet was read and nothing is alleged as it is; it is told where something
is alleged there then, or anywhere on the sheet what was not alleged before. (Exchanges of whole
lines have a table of their own, see `exchanges`.)
"""

from __future__ import annotations

import argparse
import random
import re
import sys
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from proofcheck.base.errors import ProofcheckError
from proofcheck.base.options import Options
from proofcheck.base.values import Span
from proofcheck.copytext import load_copy
from proofcheck.marks import AMERICAN
from proofcheck.stages import begin, lay_on_copy, put_in_order, read

from .catalogues import with_text
from .exchanges import Told, alleged, lines_in
from .misset import ALIKE

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator

    from proofcheck.base.values import Copy
    from proofcheck.stages import Proof

NEAR = 2
"""Characters to either side of a change within which it must be told."""
_ALL = Span(0, sys.maxsize)


class Change(NamedTuple):
    start: int
    end: int
    new: str


def _each(pattern: str, text: str, new: Callable[[re.Match[str]], str]) -> Iterator[Change]:
    for found in re.finditer(pattern, text):
        changed = new(found)
        if changed != found[0]:
            yield Change(*found.span(), changed)


def _lines(text: str, new: Callable[[str], str]) -> Iterator[Change]:
    """A line with its line end, and what stands for it."""
    for start, end in lines_in(text):
        if end < len(text):
            yield Change(start, end + 1, new(text[start : end + 1]))


KINDS: dict[str, Callable[[str], Iterator[Change]]] = {
    "a letter that looks alike": lambda text: _each(
        r"[^\W\d_]", text, lambda m: ALIKE.get(m[0], m[0])
    ),
    "another letter": lambda text: _each(
        r"[a-z]", text, lambda m: chr((ord(m[0]) - 84) % 26 + 97)
    ),
    "a capital for a small letter": lambda text: _each(
        r"(?<=[^\W\d_])[a-z](?=[^\W\d_])", text, lambda m: m[0].upper()
    ),
    "a letter less": lambda text: _each(r"(?<=\w)[^\W\d_](?=\w)", text, lambda _m: ""),
    "a letter twice": lambda text: _each(r"(?<=\w)[^\W\d_](?=\w)", text, lambda m: m[0] * 2),
    "letters exchanged": lambda text: _each(
        r"[a-z]{2}", text, lambda m: m[0][::-1]
    ),
    "another figure": lambda text: _each(r"\d", text, lambda m: str((int(m[0]) + 3) % 10)),
    "a figure less": lambda text: _each(r"\d", text, lambda _m: ""),
    "a figure more": lambda text: _each(r"(?<=\d)(?=\D)", text, lambda _m: "7"),
    "figures exchanged": lambda text: _each(r"\d\d", text, lambda m: m[0][::-1]),
    "another point": lambda text: _each(
        r"(?<=\w)[.,;:](?=\s)", text, lambda m: {".": ",", ",": ".", ";": ":", ":": ";"}[m[0]]
    ),
    "a point less": lambda text: _each(r"(?<=\w)[.,;:!?](?=\s)", text, lambda _m: ""),
    "a point more": lambda text: _each(r"(?<=[^\W_])(?= [^\W_])", text, lambda _m: ","),
    "no hyphen": lambda text: _each(r"(?<=\w)-(?=\w)", text, lambda _m: ""),
    "a space less": lambda text: _each(r"(?<=\w) (?=\w)", text, lambda _m: ""),
    "a space more": lambda text: _each(
        r"(?<=[^\W\d_]{2})(?=[^\W\d_]{2})", text, lambda _m: " "
    ),
    "a word less": lambda text: _each(r"(?<=\s)\w+ (?=\w)", text, lambda _m: ""),
    "a small word less": lambda text: _each(r"(?<=\s)\w{1,2} (?=\w)", text, lambda _m: ""),
    "a word twice": lambda text: _each(r"(?<=\s)\w+ (?=\w)", text, lambda m: m[0] * 2),
    "a word more": lambda text: _each(r"(?<=\w )(?=\w)", text, lambda _m: "very "),
    "words exchanged": lambda text: _each(
        r"(?<=\s)(\w+) (\w+)(?=\s)", text, lambda m: f"{m[2]} {m[1]}"
    ),
    "a line less": lambda text: _lines(text, lambda _line: ""),
    "a line twice": lambda text: _lines(text, lambda line: line * 2),
    "a line more": lambda text: _lines(text, lambda line: f"{line}Delivered free of charge\n"),
    "the last lines less": lambda text: (
        Change(line.start - 1, len(text), "") for line in lines_in(text)[1:][-3:]
    ),
}  # fmt: skip


def changed(copy: Copy, at: Change) -> tuple[Copy, Span]:
    """The copy with one thing changed, and where in it that is."""
    new = copy.text[: at.start] + at.new + copy.text[at.end :]
    return with_text(copy, new), Span(at.start, at.start + len(at.new))


def _was_read(proof: Proof, span: Span) -> bool:
    """Whether all of a stretch of the copy lies in lines that were read."""
    shared = sum(
        max(min(each.copy.end, span.end) - max(each.copy.start, span.start), 0)
        for each in proof.collation.placings
        if each.copy
    )
    return shared >= 0.8 * (span.end - span.start)


def _is_told(before: Proof, now: Proof, place: Span) -> bool:
    """Whether anything is alleged at a place, or elsewhere anew, or the copy is of another job."""
    if now.collation.mismatch or alleged(now, _wide(place)):
        return True
    return bool(alleged(now, _ALL) - alleged(before, _ALL))


def _wide(span: Span) -> Span:
    return Span(span.start - NEAR, span.end + NEAR)


def try_job(name: str, folder: Path, each: int) -> Told:
    """Read one right sheet, and lay it on its copy with so many changes of each kind."""
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
    drawn = random.Random(name)
    for kind, changes in KINDS.items():
        found = list(changes(copy.text))
        for at in drawn.sample(found, min(each, len(found))):
            was = Span(at.start, at.end)
            if alleged(laid, _wide(was)) or not _was_read(laid, _wide(was)):
                continue
            told.made[kind] += 1
            new, place = changed(copy, at)
            now = lay_on_copy(put_in_order(replace(proof, copy=new), work), work)
            if not _is_told(laid, now, place):
                told.silent[kind] += 1
                near = copy.text[max(at.start - 12, 0) : at.end + 12]
                told.words.append(f"{kind}: {copy.text[slice(*was)]!r} -> {at.new!r} in {near!r}")
    return told


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.benchmark.amiss")
    parser.add_argument("jobs", type=Path)
    parser.add_argument("--names", default="", help="only these, parted by commas")
    parser.add_argument("--each", type=int, default=3, help="at most so many of a kind and sheet")
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
    print("| in the copy | tried | not told |\n|---|---|---|")
    for kind in KINDS:
        print(f"| {kind} | {made[kind]} | {silent[kind]} |")


if __name__ == "__main__":
    main()
