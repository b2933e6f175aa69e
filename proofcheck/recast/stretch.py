"""Paragraphs with faults in them, as problems of line ends."""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from proofcheck.base.found import Cause, Status
from proofcheck.base.kinds import Cure, Kind, cured_by
from proofcheck.recast.keyed import Keyed, keyed

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from proofcheck.base.found import Collation, Fault
    from proofcheck.base.values import Copy, Span

__all__ = ["Damage", "OldLine", "Paragraph", "damage_of", "touched_paragraphs"]

_AT_THE_STONE = cured_by(Cure.STONE)
"""Faults put right without a new slug."""
_OUT = cured_by(Cure.TAKE_OUT)
_WANTING = cured_by(Cure.PUT_IN)


@dataclass(slots=True)
class Damage:
    """What the faults ask of each line; only faults, never queries."""

    recast: dict[int, list[str]] = field(default_factory=lambda: defaultdict(list))
    """Fault ids by lines that can't stand as they are."""
    out: dict[int, str] = field(default_factory=dict)
    """Lines to be taken out, with their fault."""
    moved: dict[int, str] = field(default_factory=dict)
    """Lines said to be out of place, with their fault."""
    at_stone: list[tuple[int, str, str]] = field(default_factory=list)
    """Line, fault id and instruction of what is put right without new matter."""
    in_galley: list[tuple[int, str, str]] = field(default_factory=list)
    """Of type from the case, the same of what is put right sort by sort, the line standing."""
    wanting: list[tuple[Span, str]] = field(default_factory=list)
    """Stretches of copy that are not printed."""
    after: dict[int, int] = field(default_factory=dict)
    """The printed line that matter not printed follows, by where it begins in the copy."""
    ends: set[int] = field(default_factory=set)
    """Copy positions of divisions that are bad."""


def damage_of(faults: Iterable[Fault], collation: Collation, *, hand_set: bool = False) -> Damage:
    """Sort the faults by what they ask for.

    Args:
        faults: what was found.
        collation: the lines laid on the copy.
        hand_set: type from the case: a sort can be turned where it stands, a slug's can't.
    """
    spans = {placing.line: placing.copy for placing in collation.placings}
    damage = Damage()
    for fault in faults:
        if fault.status is not Status.FAULT:
            continue
        if fault.kind in _OUT:
            rest = fault.other_lines if fault.kind is Kind.LINE_FOREIGN else ()
            damage.out.update(dict.fromkeys((fault.line, *rest), fault.id))
        elif fault.kind is Kind.LINES_TRANSPOSED:
            damage.moved.update(dict.fromkeys((fault.line, *fault.other_lines), fault.id))
        elif fault.kind in _WANTING:
            damage.wanting.append((fault.copy, fault.id))
            damage.after[fault.copy.start] = fault.line
            span = spans.get(fault.line)
            if span and span.start < fault.copy.end and fault.copy.start < span.end:
                damage.recast[fault.line].append(fault.id)
        elif fault.kind in _AT_THE_STONE:
            damage.at_stone.append((fault.line, fault.id, fault.mark.words))
        elif hand_set and (words := _with_the_same_sorts(fault)):
            damage.in_galley.append((fault.line, fault.id, words))
        else:
            _set_again(fault, damage)
    return damage


def _with_the_same_sorts(fault: Fault) -> str:
    """What to do with the very sorts that stand there; "" where others are wanted.

    Correcting in the galley, the spacing untouched (Stewart 1919).
    """
    printed, wanted = fault.proof_text, fault.copy_text
    turned = Kind.TURNED_SORT is fault.kind or fault.cause is Cause.TURNED_SORT
    if turned and len(wanted or printed) == 1:
        return f"turn the {wanted or printed} in line {fault.line}"
    if fault.kind is Kind.LETTERS_TRANSPOSED and sorted(printed) == sorted(wanted):
        return f"change the places of “{printed}” in line {fault.line}, so that it is “{wanted}”"
    return ""


def _set_again(fault: Fault, damage: Damage) -> None:
    lines = {fault.line}
    if fault.kind in (Kind.WORDS_TRANSPOSED, Kind.CASE):
        lines.update(fault.other_lines)
    if fault.kind is Kind.PARAGRAPH and fault.proof_text:
        lines.add(fault.line - 1)
    if fault.kind is Kind.BAD_DIVISION:
        damage.ends.add(fault.copy.start)
    for line in lines:
        damage.recast[line].append(fault.id)
    if fault.copy.start < fault.copy.end:
        damage.wanting.append((fault.copy, fault.id))


@dataclass(frozen=True, slots=True)
class OldLine:
    """A printed line in its place in a paragraph, by characters of the matter to be keyed."""

    number: int
    """0 for a stretch of which nothing is known and that is left alone."""
    start: int
    next: int
    """First character of the line that follows."""
    stands: bool
    """Whether it may stay as it is."""


@dataclass(frozen=True, slots=True)
class Paragraph:
    """A paragraph of copy in which something must be set again."""

    number: int
    span: Span
    matter: Keyed
    old: tuple[OldLine, ...]
    never: frozenset[int]
    """Characters before which no line may end."""


def touched_paragraphs(copy: Copy, collation: Collation, damage: Damage) -> tuple[Paragraph, ...]:
    """The paragraphs that hold a line to be recast, or lack matter."""
    starts = [paragraph.start for paragraph in copy.paragraphs]
    held: dict[int, list[tuple[Span, int]]] = defaultdict(list)
    for placing in collation.placings:
        if placing.copy is None or placing.line in damage.out:
            continue
        first = max(bisect_right(starts, placing.copy.start) - 1, 0)
        for number in range(first, len(starts)):
            paragraph = copy.paragraphs[number]
            if paragraph.start >= placing.copy.end:
                break
            if placing.copy.start < paragraph.end:
                held[number].append((placing.copy, placing.line))
    touched = {
        number for number, lines in held.items() if any(line in damage.recast for _, line in lines)
    }
    for span, _ in damage.wanting:
        first = max(bisect_right(starts, span.start) - 1, 0)
        touched.update(
            number
            for number in range(first, min(len(starts), bisect_right(starts, span.end) + 1))
            if copy.paragraphs[number].start < span.end and span.start < copy.paragraphs[number].end
        )
    return tuple(
        _paragraph(copy, number, lines, damage)
        for number in sorted(touched)
        for lines in _printings(sorted(held[number]), damage)
    )


def _printings(
    placed: Sequence[tuple[Span, int]], damage: Damage
) -> list[Sequence[tuple[Span, int]]]:
    """The lines of a paragraph, and apart from them a head that comes again with a fault in it."""
    first: dict[Span, int] = {}
    for span, line in placed:
        first.setdefault(span, line)
    again = [(span, line) for span, line in placed if first[span] != line]
    kept = [(span, line) for span, line in placed if first[span] == line]
    return [kept, *([one] for one in again if one[1] in damage.recast)]


def _paragraph(
    copy: Copy,
    number: int,
    placed: Sequence[tuple[Span, int]],
    damage: Damage,
) -> Paragraph:
    span = copy.paragraphs[number]
    matter = keyed(copy.text, span.start, span.end)
    never = frozenset(matter.index(at) for at in damage.ends if span.start < at < span.end)
    gaps = [
        (matter.index(gap.start), matter.index(gap.end))
        for gap, _ in damage.wanting
        if gap.start < span.end and span.start < gap.end
    ]
    old: list[OldLine] = []
    for held, line in placed:
        start = _next(matter.text, matter.index(max(held.start, span.start)))
        end = _next(matter.text, matter.index(min(held.end, span.end)))
        whole = span.start <= held.start and held.end <= span.end
        before = old[-1].next if old else 0
        if start < before or not _holds_letter(matter.text[before:start]):
            # Spaces, points passed as style, an overlap of a letter: the lines meet.
            start = before
        elif not _wanting(before, start, gaps):
            old.append(OldLine(0, before, start, stands=True))
        if end <= start:
            continue
        stands = whole and line not in damage.recast and start not in never and end not in never
        old.append(OldLine(line, start, end, stands))
    before = old[-1].next if old else 0
    rest = matter.text[before:]
    if rest and old and not _holds_letter(rest):
        old[-1] = OldLine(old[-1].number, old[-1].start, len(matter.text), old[-1].stands)
    elif rest and not _wanting(before, len(matter.text), gaps):
        old.append(OldLine(0, before, len(matter.text), stands=True))
    return Paragraph(number, span, matter, tuple(old), never)


def _next(text: str, at: int) -> int:
    while at < len(text) and text[at] == " ":
        at += 1
    return at


def _holds_letter(text: str) -> bool:
    return any(char.isalnum() for char in text)


def _wanting(start: int, end: int, gaps: Sequence[tuple[int, int]]) -> bool:
    return any(low < end and start < high for low, high in gaps)
