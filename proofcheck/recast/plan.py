"""The plan: for all faults of a proof together, which slugs to cast and what each must say."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from proofcheck.base.found import Status
from proofcheck.recast.change import Recast
from proofcheck.recast.cost import Toll, toll_of
from proofcheck.recast.galley import Galley, galley_of
from proofcheck.recast.handset import SortsWanted, sorts_wanted
from proofcheck.recast.resetting import Resetter
from proofcheck.recast.settings import CastSettings
from proofcheck.recast.stretch import damage_of, touched_paragraphs

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping, Sequence

    from proofcheck.base.found import Collation, Fault
    from proofcheck.base.values import Copy, Line, Reading, Span
    from proofcheck.recast.change import Change, NewSlug
    from proofcheck.recast.stretch import Damage

__all__ = ["Move", "RecastPlan", "StoneWork", "TakenOut", "plan_recast"]


@dataclass(frozen=True, slots=True)
class TakenOut:
    """A printed line to be taken out and not replaced."""

    line: int
    fault: str


@dataclass(frozen=True, slots=True)
class Move:
    """A line that stands in the wrong place."""

    line: int
    after: int
    """The line it belongs after, 0 for the head."""
    fault: str


@dataclass(frozen=True, slots=True)
class StoneWork:
    """What is put right at the stone with no new matter: a space that has risen, a crooked line."""

    line: int
    words: str
    """The instruction, as on the mark."""
    fault: str


@dataclass(frozen=True, slots=True)
class RecastPlan:
    """All that is to be done to the matter of one proof."""

    changes: tuple[Change, ...] = ()
    """In order of the proof."""
    taken_out: tuple[TakenOut, ...] = ()
    moved: tuple[Move, ...] = ()
    at_stone: tuple[StoneWork, ...] = ()
    toll: Toll = field(default_factory=lambda: toll_of(()))
    run_on_slugs: int = 0
    """Slugs that simple running on would take for the same faults."""
    sorts: SortsWanted | None = None
    """For type from the case: the sorts wanted, counted against the font."""
    notes: tuple[str, ...] = ()
    """What a person should know, one line each."""
    queries: tuple[str, ...] = ()
    """Other wording that would save slugs: for the customer to allow, never part of the plan."""
    hand_set: bool = False

    @property
    def empty(self) -> bool:
        """Whether there is nothing to do."""
        return not (self.changes or self.taken_out or self.moved or self.at_stone)

    @property
    def slugs(self) -> tuple[NewSlug, ...]:
        """Every new slug in galley order."""
        return tuple(slug for change in self.changes for slug in change.slugs)

    def recasts(self) -> tuple[Recast, ...]:
        """The plan as the report holds it."""
        return tuple(
            Recast(
                change.lines,
                tuple(slug.text for slug in change.slugs),
                change.faults,
                after=change.after,
                spaces_pt=tuple(slug.space_pt for slug in change.slugs),
            )
            for change in self.changes
        )


def plan_recast(
    lines: Sequence[Line],
    readings: Sequence[Reading],
    copy: Copy,
    collation: Collation,
    faults: Sequence[Fault],
    *,
    dpi: Mapping[int, float],
    settings: CastSettings | None = None,
    alterations: Collection[str] = (),
) -> RecastPlan:
    """Plan the fewest slugs that put every fault right; queries ask for none.

    Args:
        lines: the printed lines.
        readings: what was read on them.
        copy: the approved copy, which says what each slug must hold.
        collation: the lines laid on it.
        faults: what was found.
        dpi: resolution of each sheet, by its number.
        settings: the shop's.
        alterations: ids of faults that are the customer's alterations, not the printer's errors.
    """
    settings = settings or CastSettings()
    if collation.mismatch or not any(fault.status is Status.FAULT for fault in faults):
        return RecastPlan(hand_set=settings.hand_set)
    damage = damage_of(faults, collation, hand_set=settings.hand_set)
    galley = _galley(lines, readings, copy, collation, dpi, settings)
    resetter = Resetter(galley, copy, readings, damage, settings)
    for paragraph in touched_paragraphs(copy, collation, damage):
        resetter.put_right(paragraph)
    changes = _with_turned(resetter.numbered(), damage)
    taken, moved, at_stone = _by_hand(collation, damage)
    return RecastPlan(
        changes,
        taken,
        moved,
        at_stone,
        _toll(changes, len(taken) + len(moved) + len(at_stone), alterations, settings),
        resetter.run_on_slugs,
        _sorts(changes, readings, settings),
        tuple(dict.fromkeys(resetter.notes)),
        tuple(dict.fromkeys(resetter.queries)),
        settings.hand_set,
    )


def _with_turned(changes: Sequence[Change], damage: Damage) -> tuple[Change, ...]:
    """The changes, with what would be put right sort by sort in lines that are set again anyway."""
    out = []
    for change in changes:
        more = [fault for line, fault, _ in damage.in_galley if line in change.lines]
        out.append(replace(change, faults=(*change.faults, *more)))
    again = {line for change in out for line in change.lines}
    damage.at_stone += [held for held in damage.in_galley if held[0] not in again]
    damage.at_stone.sort(key=lambda held: held[0])
    return tuple(out)


def _by_hand(
    collation: Collation, damage: Damage
) -> tuple[tuple[TakenOut, ...], tuple[Move, ...], tuple[StoneWork, ...]]:
    """What the hand at the stone does: lines taken out, lines moved, and the rest."""
    taken = tuple(TakenOut(line, fault) for line, fault in sorted(damage.out.items()))
    at_stone = tuple(StoneWork(line, words, fault) for line, fault, words in damage.at_stone)
    return taken, _moves(collation, damage), at_stone


def _sorts(
    changes: Sequence[Change], readings: Sequence[Reading], settings: CastSettings
) -> SortsWanted | None:
    """The sorts that type set by hand wants."""
    if not settings.hand_set:
        return None
    texts = {reading.line: reading.text for reading in readings}
    return sorts_wanted(changes, texts, settings.bill)


def _toll(
    changes: Sequence[Change], by_hand: int, alterations: Collection[str], settings: CastSettings
) -> Toll:
    """What it costs: the slugs, and so many places put right at the stone."""
    cast = (
        (
            len(change.slugs),
            sum(slug.measure_pt / slug.body_pt for slug in change.slugs),
            bool(change.faults) and set(change.faults) <= set(alterations),
        )
        for change in changes
    )
    return toll_of(cast, by_hand, settings.rates)


def _galley(
    lines: Sequence[Line],
    readings: Sequence[Reading],
    copy: Copy,
    collation: Collation,
    dpi: Mapping[int, float],
    settings: CastSettings,
) -> Galley:
    placed = {placing.line: placing.copy for placing in collation.placings}

    def styles(reading: Reading) -> Sequence[str] | None:
        # Where another style stands in a line its place in print is not known to the letter.
        span = placed.get(reading.line)
        roman = [""] * len(reading.letters)
        if span is None:
            return roman
        other = any(e.span.start < span.end and span.start < e.span.end for e in copy.emphasis)
        return None if other else roman

    return galley_of(lines, readings, dpi, settings.face, styles)


def _moves(collation: Collation, damage: Damage) -> tuple[Move, ...]:
    """Where each line that is out of place belongs, after the line that precedes it in copy."""
    if not damage.moved:
        return ()
    first: dict[Span, int] = {}
    for placing in collation.placings:
        if placing.copy is not None and placing.line not in damage.out:
            # A head that comes again on a later sheet has the same copy, and no place in its order.
            first.setdefault(placing.copy, placing.line)
    order = [line for _, line in sorted((span.start, line) for span, line in first.items())]
    standing = sorted(order)
    out = []
    for at, line in enumerate(order):
        before = order[at - 1] if at else 0
        place = standing.index(line)
        follows = standing[place - 1] if place else 0
        if line not in damage.moved or follows == before:
            continue
        standing.remove(line)
        standing.insert(standing.index(before) + 1 if before else 0, line)
        out.append(Move(line, before, damage.moved[line]))
    return tuple(out)
