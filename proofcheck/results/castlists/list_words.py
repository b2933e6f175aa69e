"""Both lists as entries of plain words; and what a terminal shows of them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from proofcheck.base.fault_numbers import shown_number
from proofcheck.base.units import PICA_IN, SLUG_PICA_IN, pt_to_inches
from proofcheck.base.visible import in_ascii, visible
from proofcheck.recast.handset import spaces_for
from proofcheck.results.line_names import PLAIN

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.recast.change import Change, NewSlug
    from proofcheck.recast.plan import RecastPlan
    from proofcheck.results.castlists.slug_styles import Runs
    from proofcheck.results.line_names import LineNames

__all__ = [
    "SAFETY",
    "Entry",
    "machine_entries",
    "numbered_plan",
    "plan_notes",
    "short_list",
    "slug_words",
]

SAFETY = (
    "Hot metal burns deeply and lead harms: eye and arm cover, no water near the pot, wash hands; "
    "local codes, the maker's book and qualified people come first."
)


class Entry(NamedTuple):
    """One thing to do, with a box to check it off."""

    label: str
    """Short, for the left edge: the number of the new slug, or the printed line."""
    matter: str
    """Full matter to be keyed, "" for an entry at the stone."""
    words: str
    """Everything else, one sentence or more."""


def numbered_plan(plan: RecastPlan, proof: int) -> RecastPlan:
    """The plan with its faults named as people see them: "2/4" of the second proof."""

    def shown(name: str) -> str:
        return ", ".join(shown_number(proof, one.strip()) for one in name.split(",") if one.strip())

    return replace(
        plan,
        changes=tuple(replace(c, faults=tuple(map(shown, c.faults))) for c in plan.changes),
        taken_out=tuple(replace(taken, fault=shown(taken.fault)) for taken in plan.taken_out),
        moved=tuple(replace(move, fault=shown(move.fault)) for move in plan.moved),
        at_stone=tuple(replace(work, fault=shown(work.fault)) for work in plan.at_stone),
    )


def machine_entries(plan: RecastPlan) -> list[Entry]:
    """One entry for each new slug, in galley order."""
    return [
        Entry(str(slug.number), visible(slug.text), slug_words(plan, change, slug))
        for change in plan.changes
        for slug in change.slugs
    ]


def slug_words(
    plan: RecastPlan, change: Change, slug: NewSlug, face: str = "", runs: Runs = ()
) -> str:
    """All that is to be known of a new slug beside its matter.

    Args:
        plan: the plan it is of.
        change: the change it is of.
        slug: the slug.
        face: name of the face, where it is known.
        runs: its matter by styles: what is not roman is named.
    """
    place = next(place for place, one in enumerate(change.slugs) if one is slug)
    parts = [_where(change, place)]
    size = f"{slug.body_pt:.1f}".removesuffix(".0") + " pt" if slug.body_pt else ""
    parts.append(", ".join(filter(None, (visible(face), size))))
    if slug.measure_pt:
        pica = PICA_IN if plan.hand_set else SLUG_PICA_IN
        parts.append(f"{pt_to_inches(slug.measure_pt) / pica:.1f} picas")
    if slug.indent_pt > 1:
        parts.append(f"indent {slug.indent_pt:.0f} pt")
    parts.append(_spacing(plan, slug))
    if slug.divided:
        parts.append("ends with a division")
    for style in dict.fromkeys(style for _, style in runs if style):
        told = ", ".join(f"“{text.strip()}”" for text, own in runs if own == style)
        parts.append(f"{style.replace('-', ' ')}: {told}")
    parts.append(", ".join(change.faults))
    return "; ".join(part for part in parts if part)


def _where(change: Change, place: int) -> str:
    """Which line of the proof a new slug stands for: its own, and the stretch it goes in with."""
    if not change.lines:
        return f"new, {_at(change.after)}"
    if len(change.lines) == 1 == len(change.slugs):
        return f"for {_lines(change.lines)}"
    own = change.lines[min(place, len(change.lines) - 1)]
    more = place >= len(change.lines)
    return f"{'after' if more else 'for'} line {own} ({_lines(change.lines)} go together)"


def _spacing(plan: RecastPlan, slug: NewSlug) -> str:
    if not slug.spread or not slug.space_pt:
        return "not spread"
    if plan.hand_set:
        spaces = " + ".join(spaces_for(slug.space_pt / slug.body_pt))
        return f"word spaces {slug.space_pt:.1f} pt ({spaces})"
    thin = ", a thin space beside each" if slug.thin else ""
    return f"bands come to {slug.space_pt:.1f} pt{thin}"


def _lines(lines: Sequence[int]) -> str:
    if len(lines) == 1:
        return f"line {lines[0]}"
    if list(lines) == list(range(lines[0], lines[-1] + 1)):
        return f"lines {lines[0]} to {lines[-1]}"
    return "lines " + ", ".join(map(str, lines))


def _at(line: int) -> str:
    return f"after line {line}" if line else "at the head"


def plan_notes(plan: RecastPlan, names: LineNames = PLAIN) -> list[str]:
    """What the plan comes to, and what a person should know of it."""
    toll = plan.toll
    what = "line" if plan.hand_set else "slug"
    saved = plan.run_on_slugs - toll.slugs
    out = [
        f"{toll.slugs} new {what}{'s' if toll.slugs != 1 else ''}, {toll.ems:.0f} ems"
        + (f"; simple running on would take {plan.run_on_slugs}" if saved > 0 else "")
        + (f"; about {toll.minutes:.0f} minutes at the shop's rates" if toll.minutes else "")
        + "."
    ]
    if toll.alteration_slugs:
        out.append(f"Author's alterations: {toll.alteration_slugs} of them.")
    if plan.sorts is not None:
        sorts = ", ".join(f"{count} {sort}" for sort, count in plan.sorts.put_in.items())
        out.append(f"Sorts wanted: {sorts or 'none beyond those that come out'}.")
        if plan.sorts.in_galley:
            lines = ", ".join(map(names.name, plan.sorts.in_galley))
            out.append(f"In the galley, spacing untouched: lines {lines}.")
        if plan.sorts.short:
            wants = ", ".join(f"{sort} {n} (holds {held})" for sort, n, held in plan.sorts.short)
            out.append(f"The font runs short; this matter wants: {wants}.")
    said = (names.words(note) for note in (*plan.notes, *plan.queries))
    return [visible(note) for note in (*out, *said)]


_TOLD = 6
"""Sorts to turn or change that the terminal names one by one."""


def short_list(plan: RecastPlan, names: LineNames = PLAIN, *, ascii_only: bool = False) -> str:
    """One or two lines for the terminal; "" where there is nothing to do."""
    if plan.empty:
        return ""
    what = "set again" if plan.hand_set else "recast"
    parts = []
    if plan.changes:
        places = ", ".join(_place(change, names) for change in plan.changes)
        saved = plan.run_on_slugs > plan.toll.slugs
        more = f" (running on: {plan.run_on_slugs})" if saved else ""
        parts.append(f"{what} {plan.toll.slugs}{more}: {places}")
    if plan.taken_out:
        parts.append("take out " + ", ".join(names.name(taken.line) for taken in plan.taken_out))
    if plan.moved:
        parts.append("move " + ", ".join(names.name(move.line) for move in plan.moved))
    if plan.at_stone and plan.hand_set and len(plan.at_stone) <= _TOLD:
        parts += [names.words(visible(work.words)) for work in plan.at_stone]
    elif plan.at_stone:
        parts.append("at the stone " + ", ".join(names.name(work.line) for work in plan.at_stone))
    text = "To do: " + "; ".join(parts) + "\n"
    return in_ascii(text) if ascii_only else text


def _place(change: Change, names: LineNames) -> str:
    if not change.lines:
        return f"after {names.name(change.after)}"
    if len(change.lines) == 1:
        return names.name(change.lines[0])
    return f"{names.name(change.lines[0])}–{names.name(change.lines[-1])}"
