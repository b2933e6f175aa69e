"""What was done to a forme between two proofs, and how a revise's findings are counted."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from proofcheck.base.kinds import Kind
from proofcheck.revise import Made, Standing, compare_proofs

from .bothlines import both_lines

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from proofcheck.base.values import Grey
    from proofcheck.results.report import Report
    from proofcheck.revise import Correction, Revise

__all__ = [
    "MUDDLES",
    "Done",
    "Muddle",
    "Result",
    "Sample",
    "count_corrections",
    "count_muddles",
    "places",
]

MUDDLES = {
    "recast": "slug-recast",
    "swapped": "slugs-swapped",
    "dropped": "slug-dropped",
    "doubled": "slug-doubled",
    "turned": "slug-turned",
    "foreign": "slug-foreign",
}
"""What is done to a slug, and the finding it must give."""
_ADDED = {"dropped": -1, "doubled": 1, "foreign": 1}


@dataclass(frozen=True, slots=True)
class Muddle:
    """Something done to the slug of one line of the earlier proof."""

    name: str
    line: int


@dataclass(frozen=True, slots=True)
class Done:
    """What became of a faulty line."""

    how: str
    """"made", "missed" (the slug was left), "missed, recast" (with the same fault), "half made",
    "made with a new fault", or "over-run"."""
    left: int = -1
    """Place in the copy of the letter left wrong, where it was half made."""


@dataclass(frozen=True, slots=True)
class Sample:
    """One slug laid on its earlier print: what the threshold is chosen from."""

    recast: bool
    odds: float
    likeness: float
    letters: int
    noise: float


@dataclass(slots=True)
class Result:
    """What came of one page or one trial."""

    counts: Counter[str] = field(default_factory=Counter)
    notes: list[str] = field(default_factory=list)
    samples: list[Sample] = field(default_factory=list)
    pictures: list[tuple[str, Grey]] = field(default_factory=list)
    """What was told wrongly, each with the line as it stood in both proofs."""

    def add(self, other: Result) -> None:
        """Take in the counts of another."""
        self.counts += other.counts
        self.notes += other.notes
        self.samples += other.samples
        self.pictures += other.pictures

    def outcome(self, name: str, *, right: bool) -> None:
        """Count one thing that had to be told, and whether it was."""
        self.counts[f"{name}: all"] += 1
        self.counts[f"{name}: told"] += right


def places(muddles: Iterable[Muddle]) -> list[tuple[Muddle, frozenset[int]]]:
    """Each muddle with the lines of the revise at which its finding may stand."""
    out, shift = [], 0
    for muddle in sorted(muddles, key=lambda m: m.line):
        at = muddle.line + shift
        lines = {
            "recast": {at},
            "turned": {at},
            "swapped": {at, at + 1},
            "dropped": {at - 1, at},
            "doubled": {at, at + 1},
            "foreign": {at + 1},
        }[muddle.name]
        shift += _ADDED.get(muddle.name, 0)
        out.append((muddle, frozenset(lines)))
    return out


def count_muddles(
    result: Result, earlier: Report, later: Report, muddles: Sequence[Muddle], where: str
) -> None:
    """Count which muddles a revise found, and what it found that was none."""
    told = compare_proofs(earlier, later, [])
    finds = [f for f in told.findings if not f.fault]
    done = places(muddles)
    for muddle, lines in done:
        here = [f.kind.value for f in finds if f.line in lines]
        named = MUDDLES[muddle.name] in here
        result.outcome(muddle.name, right=named)
        result.counts[f"{muddle.name}: seen"] += bool(here)
        if not named:
            result.notes.append(f"{where}: {muddle.name} at {sorted(lines)} told as {here}")
    count_same(result, told, frozenset().union(*(lines for _, lines in done)), where)


def count_same(result: Result, told: Revise, muddled: frozenset[int], where: str) -> None:
    """Count the slugs left alone, and those of them that were told as anything else."""
    left = [s for s in told.slugs if s.line not in muddled]
    wrong = {s.line for s in left if s.standing is not Standing.STOOD}
    wrong |= {f.line for f in told.findings if not f.fault and f.line not in muddled}
    result.counts["slugs left alone"] += len(left)
    result.counts["falsely moved"] += len(wrong)
    for line in sorted(wrong):
        kinds = [(s.standing.value, round(s.odds, 1), s.likeness) for s in left if s.line == line]
        result.notes.append(f"{where}: false at {line} of {len(told.slugs)}: {kinds}")


def count_corrections(
    result: Result,
    proofs: tuple[Report, Report],
    done: Mapping[int, Done],
    where: str,
    again: frozenset[int] = frozenset(),
    shown: range | None = None,
) -> None:
    """Count which corrections a revise told rightly.

    Args:
        result: where they are counted.
        proofs: the earlier and the later.
        done: what became of each faulty line of the earlier proof.
        where: what a note says first.
        again: lines of the later proof that were cast again to carry words over.
        shown: lines of the earlier proof that a later one of a part shows; all if not given.
    """
    told = compare_proofs(*proofs)
    shift = shown.start - 1 if shown is not None else 0
    spans = {fault.id: fault.copy for fault in proofs[0].faults}
    # How the typesetter divides a word nobody corrects.
    divided = {fault.id for fault in proofs[0].faults if fault.kind is Kind.BAD_DIVISION}
    for correction in told.corrections:
        if correction.line not in done:
            result.counts["corrections of another line"] += 1
            continue
        what = done[correction.line]
        span = spans[correction.fault]
        still = what.how in {"missed", "missed, recast"} or correction.fault in divided
        still |= span.start <= what.left < span.end
        due, name = Made.MISSED if still else Made.MADE, f"correction {what.how}"
        if shown is not None and correction.line not in shown:
            due, name = Made.UNSEEN, "correction not on the part"
        right = correction.made is due
        result.outcome(name, right=right)
        result.outcome("corrections", right=right)
        if not right:
            note = f"{where}: {what.how}: {_said(correction)}"
            result.notes.append(note)
            result.pictures.append((note, both_lines(*proofs, correction.line, shift)))
    set_so = {fault.id for fault in proofs[1].faults if fault.kind is Kind.BAD_DIVISION}
    _count_new_faults(result, told, _of_later(done, shown), where, set_so)
    at = frozenset(s.line for s in told.slugs if s.earlier in done)
    result.outcome("read again", right=_read(told, done))
    count_same(result, told, at | again, where)


def _of_later(done: Mapping[int, Done], shown: range | None) -> Mapping[int, Done]:
    """What was done, by lines of the later proof."""
    if shown is None:
        return done
    return {line - shown.start + 1: what for line, what in done.items() if line in shown}


def _count_new_faults(
    result: Result, told: Revise, done: Mapping[int, Done], where: str, set_so: set[str]
) -> None:
    """Count the new faults; how the typesetter divided a word is none that was put in.

    `set_so`: ids of such.
    """
    lines = {f.line for f in told.findings if f.fault and f.fault not in set_so}
    for line, what in done.items():
        if what.how == "made with a new fault":
            result.outcome("new fault", right=line in lines)
            if line not in lines:
                result.notes.append(f"{where}: new fault in line {line} not told")
    false = lines - {line for line, what in done.items() if what.how == "made with a new fault"}
    result.counts["new faults that are none"] += len(false)
    result.notes += [f"{where}: no new fault in line {line}" for line in sorted(false)]


def _said(correction: Correction) -> str:
    return f"line {correction.line}: {correction.words}: {correction.made}: {correction.why}"


def _read(told: Revise, done: Mapping[int, Done]) -> bool:
    """Whether every slug cast again, and its neighbours, are to be read again."""
    new = {s.line for s in told.slugs if s.earlier in done and done[s.earlier].how != "missed"}
    wanted = {n + k for n in new for k in (-1, 0, 1)} & {s.line for s in told.slugs}
    return wanted <= set(told.read_again)
