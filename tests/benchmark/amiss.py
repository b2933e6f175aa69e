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

import random
import re
import sys
from typing import TYPE_CHECKING, NamedTuple

from proofcheck.base.values import Span

from .catalogues import with_text
from .misset import ALIKE
from .relaying import Told, alleged, borne_by, lines_in, read_job, run

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

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
    job = read_job(folder, told)
    if job is None:
        return told
    text, drawn = job.copy.text, random.Random(name)
    for kind, changes in KINDS.items():
        found = list(changes(text))
        for at in drawn.sample(found, min(each, len(found))):
            was = Span(at.start, at.end)
            if alleged(job.laid, _wide(was)) or not borne_by(job.laid, _wide(was)):
                continue
            told.made[kind] += 1
            new, place = changed(job.copy, at)
            if not _is_told(job.laid, job.on(new), place):
                told.silent[kind] += 1
                near = text[max(at.start - 12, 0) : at.end + 12]
                told.words.append(f"{kind}: {text[slice(*was)]!r} -> {at.new!r} in {near!r}")
    return told


if __name__ == "__main__":
    run("amiss", try_job, KINDS, "| in the copy | tried | not told |", (3, "a kind and sheet"))
