"""The plan as two lists for hands: what to cast, in order, and what to do at the stone.

At the stone one printed line is one row, whatever is to be done to it; what is changed in its place
stands apart from what is put in, taken out, moved, or put right with no new matter.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from proofcheck.base.visible import visible
from proofcheck.results.castlists.forme_places import Seat, seat_words, seats_of
from proofcheck.results.castlists.list_words import Entry, numbered_plan, slug_words
from proofcheck.results.castlists.slug_styles import Runs, styled_slugs
from proofcheck.results.line_names import PLAIN, LineNames, line_names

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from proofcheck.base.values import Copy, Span
    from proofcheck.recast.change import Change
    from proofcheck.recast.plan import RecastPlan
    from proofcheck.results.report import Report

__all__ = [
    "SECTIONS",
    "HandLists",
    "SlugRow",
    "StoneRow",
    "entry_of",
    "hand_lists",
    "named_lists",
    "report_hand_lists",
    "stone_entries",
]

SECTIONS = {
    "change": "Change in place",
    "in": "Put in",
    "out": "Take out",
    "move": "Move",
    "work": "Put right, no new matter",
}
"""Parts of the list for the stone, in order."""


@dataclass(frozen=True, slots=True)
class SlugRow:
    """One slug to cast (or line to set)."""

    number: int
    """In galley order, the same as at the stone."""
    runs: Runs
    words: str
    """Face, body, measure, spacing, what it is for."""

    @property
    def text(self) -> str:
        """Its matter, made visible."""
        return "".join(text for text, _ in self.runs)

    @property
    def key(self) -> str:
        """What a tick holds for: this matter, for this place."""
        return f"cast {self.words} {self.text}"


@dataclass(frozen=True, slots=True)
class StoneRow:
    """What is to be done to one printed line, or after one."""

    sort: str
    """One of `SECTIONS`."""
    line: int
    """The printed line; of what is put in the one it follows, 0 for the head."""
    words: str
    faults: tuple[str, ...]
    seat: str = ""
    """Where in the forme, in words."""
    order: tuple[int, ...] = ()
    new: int = 0
    """Number of the new slug; 0 for none."""
    runs: Runs = ()
    name: str = ""
    """What the line is called where that is not its number."""

    @property
    def label(self) -> str:
        """Short, for the left edge."""
        name = self.name or str(self.line)
        return f"{name}+" if self.sort == "in" else name

    @property
    def text(self) -> str:
        """The new slug's matter."""
        return "".join(text for text, _ in self.runs)

    @property
    def key(self) -> str:
        """What a tick holds for."""
        return f"{self.sort} {self.line} {self.words} {self.text}"


@dataclass(frozen=True, slots=True)
class HandLists:
    """Both lists."""

    machine: tuple[SlugRow, ...]
    stone: tuple[StoneRow, ...]
    """By section, each in the order of the forme."""
    hand_set: bool = False
    names: LineNames = PLAIN
    """Of the printed lines."""

    def section(self, sort: str) -> tuple[StoneRow, ...]:
        """Those of one section."""
        return tuple(row for row in self.stone if row.sort == sort)


def report_hand_lists(report: Report, face: str = "", proof: int = 1) -> HandLists | None:
    """The lists of a report; None where nothing is planned.

    Args:
        report: the report.
        face: as the job's docket names it.
        proof: which of its series it is, from 1: faults are named by it.
    """
    if report.plan is None:
        return None
    placed = {placing.line: placing.copy for placing in report.collation.placings}
    plan = numbered_plan(report.plan, proof)
    lists = hand_lists(plan, seats_of(report.lines), report.copy, placed, face)
    return named_lists(lists, line_names(report))


def named_lists(lists: HandLists, names: LineNames) -> HandLists:
    """The lists with the printed lines called as people call them."""
    return replace(
        lists,
        names=names,
        machine=tuple(replace(row, words=names.words(row.words)) for row in lists.machine),
        stone=tuple(
            replace(
                row, words=names.words(row.words), name=names.name(row.line) if row.line else ""
            )
            for row in lists.stone
        ),
    )


def hand_lists(
    plan: RecastPlan,
    seats: Mapping[int, Seat] | None = None,
    copy: Copy | None = None,
    placed: Mapping[int, Span | None] | None = None,
    face: str = "",
) -> HandLists:
    """The lists of a plan.

    Args:
        plan: the plan.
        seats: where each line stands in the forme, where it is known.
        copy: the approved copy, for what is italic; None where it is not at hand.
        placed: which stretch of it each printed line holds.
        face: name of the face.
    """
    seats = seats or {}
    machine: list[SlugRow] = []
    rows: list[StoneRow] = []
    for change in plan.changes:
        styled = tuple(
            tuple((visible(text), style) for text, style in runs)
            for runs in styled_slugs(change, copy, placed or {})
        )
        for slug, runs in zip(change.slugs, styled, strict=True):
            machine.append(SlugRow(slug.number, runs, slug_words(plan, change, slug, face, runs)))
        rows += _changed(plan, change, styled)
    rows += _by_hand(plan)
    merged = _one_a_line(rows)
    at = list(SECTIONS)
    told = [
        replace(row, seat=seat_words(seats, row.line), order=seats.get(row.line, (row.line,)))
        for row in merged
    ]
    told.sort(key=lambda row: (at.index(row.sort), row.order[:3], row.line, row.new))
    return HandLists(tuple(machine), tuple(told), plan.hand_set)


def _changed(plan: RecastPlan, change: Change, styled: tuple[Runs, ...]) -> list[StoneRow]:
    """Line by line what a change does; what is over on either side goes in or comes out alone."""
    what = "new line" if plan.hand_set else "slug"
    pairs = min(len(change.lines), len(change.slugs))
    rows = []
    for place in range(pairs):
        number = change.slugs[place].number
        words = f"Line {change.lines[place]} out, {what} {number} in"
        rows.append(
            StoneRow("change", change.lines[place], words, change.faults, new=number,
                     runs=styled[place])
        )  # fmt: skip
    after = change.lines[-1] if change.lines else change.after
    for place in range(pairs, len(change.slugs)):
        number = change.slugs[place].number
        words = (
            f"{what.capitalize()} {number} in {f'after line {after}' if after else 'at the head'}"
        )
        rows.append(StoneRow("in", after, words, change.faults, new=number, runs=styled[place]))
    rows += [
        StoneRow("out", line, f"Take out line {line}, nothing goes in", change.faults)
        for line in change.lines[pairs:]
    ]
    rows = _with_ends(change, rows)
    if plan.hand_set and len(change.lines) > 1:
        first, last = change.lines[0], change.lines[-1]
        words = f"Line {first} must be overrun to line {last}: {rows[0].words[:1].lower()}"
        rows[0] = replace(rows[0], words=words + rows[0].words[1:])
    return rows


def _with_ends(change: Change, rows: list[StoneRow]) -> list[StoneRow]:
    """The first words that come out, the last ones, and how far all below moves."""
    depth = ""
    if change.gained:
        way, lines = "down" if change.gained > 0 else "up", abs(change.gained)
        depth = (
            f"; everything below in the column moves {way} {lines} "
            f"line{'s' if lines > 1 else ''} ({abs(change.depth_pt):.0f} pt)"
        )
    first, last = visible(change.first_words), visible(change.last_words)
    if len(change.lines) == 1:
        said = f"“{first}”" if first == last else f"“{first} … {last}”"
        rows[0] = replace(rows[0], words=f"{rows[0].words}; it reads {said}")
    elif change.lines:
        end = next(k for k, row in enumerate(rows) if row.line == change.lines[-1])
        rows[0] = replace(rows[0], words=f"{rows[0].words}; it begins “{first}”")
        rows[end] = replace(rows[end], words=f"{rows[end].words}; it ends “{last}”")
    rows[-1] = replace(rows[-1], words=rows[-1].words + depth)
    return rows


def _by_hand(plan: RecastPlan) -> Iterable[StoneRow]:
    for taken in plan.taken_out:
        words = f"Take out line {taken.line}, nothing goes in; matter below moves up one line"
        yield StoneRow("out", taken.line, words, (taken.fault,))
    for move in plan.moved:
        to = f"after line {move.after}" if move.after else "at the head"
        yield StoneRow("move", move.line, f"Move line {move.line} to stand {to}", (move.fault,))
    for work in plan.at_stone:
        words = visible(work.words[:1].upper() + work.words[1:])
        yield StoneRow("work", work.line, words, (work.fault,))


def _one_a_line(rows: Iterable[StoneRow]) -> list[StoneRow]:
    """One row a printed line: what else is to be done to it is told with what takes it away."""
    held: dict[tuple[int, str, int], StoneRow] = {}
    for row in rows:
        # What is put in after a line is no work on that line.
        key = (row.line, "in", row.new) if row.sort == "in" else (row.line, "", 0)
        before = held.get(key)
        if before is None:
            held[key] = row
            continue
        first, second = sorted((before, row), key=lambda one: _RANK[one.sort])
        faults = tuple(dict.fromkeys((*first.faults, *second.faults)))
        same = second.words.casefold() in first.words.casefold()
        words = (
            first.words if same else f"{first.words}; {second.words[:1].lower()}{second.words[1:]}"
        )
        held[key] = replace(first, words=words, faults=faults)
    return list(held.values())


_RANK = {"out": 0, "change": 1, "move": 2, "work": 3, "in": 4}
"""Which says more of what becomes of a line."""


def stone_entries(plan: RecastPlan) -> list[Entry]:
    """The list for the stone as plain entries, by section."""
    return [entry_of(row) for row in hand_lists(plan).stone]


def entry_of(row: StoneRow) -> Entry:
    """A row as a plain entry."""
    seat = f" {row.seat[:1].upper()}{row.seat[1:]}." if row.seat else ""
    return Entry(row.label, "", f"{row.words}.{seat} ({', '.join(row.faults)})")
