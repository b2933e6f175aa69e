"""Which slugs a change of copy asks for: the lines it falls in and those run over after them.

Reckoned before anything is set, from what the report on the proof says of its lines: where each
stands, its size, and its stretch of copy. A letter's width is taken from the usual face, scaled
to the lines; every paragraph that was changed is then a problem of line ends like any other
(`recast`), whose best answer has the fewest new slugs.
"""

from __future__ import annotations

import json
from collections import Counter, defaultdict
from dataclasses import asdict, dataclass
from itertools import pairwise
from statistics import median, quantiles
from typing import TYPE_CHECKING

from proofcheck.base.carried import carried_span
from proofcheck.base.found import Collation, Placing
from proofcheck.base.units import px_to_pt
from proofcheck.base.values import Box, Letter, Reading, Span
from proofcheck.docket.alterations import alterations_of, slugs_touched
from proofcheck.recast.faces import usual_face
from proofcheck.recast.galley import Galley, Measure, StandingLine
from proofcheck.recast.keyed import units_of
from proofcheck.recast.resetting import Resetter
from proofcheck.recast.settings import CastSettings
from proofcheck.recast.stretch import Damage, touched_paragraphs
from proofcheck.recast.widths import SetWidths

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from proofcheck.base.values import Copy
    from proofcheck.docket.alterations import Alteration
    from proofcheck.docket.book import Docket
    from proofcheck.docket.canonical import Data
    from proofcheck.docket.job import Job
    from proofcheck.recast.faces import Face
    from proofcheck.results.report_json import Json

__all__ = ["Overrun", "alteration_data", "overrun_of"]

_SPACE_EM = 0.36
"""A word space of slugs as set, between the 3-to-em and what lines are spread to."""
_SAME_BODY_PT = 0.8
_EDGE_EM = 0.5
"""A line ends at the measure when it comes so near to it."""
_NEAR_PT = 4.0
_UNSURE = 0.006
"""Share by which a full line's length is off with another face's widths (seen on three faces)."""


@dataclass(frozen=True, slots=True)
class Overrun:
    """What the alterations of one version of the copy come to in slugs."""

    new_slugs: int
    """Slugs to be cast anew."""
    taken_out: int
    """Lines that only go, with no slug in their place."""
    by_alteration: tuple[tuple[int, ...], ...]
    """For each alteration the printed lines that go for it, over-run ones too."""


@dataclass(frozen=True, slots=True)
class _Seen:
    """A printed line as the report has it."""

    number: int
    column: tuple[int, int]
    left_pt: float
    right_pt: float
    foot_pt: float
    body_pt: float
    text: str
    copy: tuple[int, int]


def alteration_data(docket: Docket, job: Job, copy: Copy) -> Data:
    """What the record says of new copy: its alterations against the copy before, in slugs.

    Reckoned on the latest proof. Where the copy was changed twice since, the slugs that the first
    change took already are not counted again. Before there is a proof nothing is set, so that
    nothing is to be set again.
    """
    if job.copy is None:
        return {"alterations": []}
    every = alterations_of(job.copy.entry.data["text"], copy.text)
    changes = [change for change in every if not change.prints_alike]
    alike = {"alike": len(every) - len(changes)}
    if job.proof is None:
        return {"alterations": [{**asdict(change), "slugs": []} for change in changes], **alike}
    report = json.loads(docket.originals.read(job.proof.report_sha256))
    set_from, *since = job.copies[job.proof.copy - 1 :]
    old = str(set_from.entry.data["text"])
    whole = alterations_of(old, copy.text)
    overrun = overrun_of(report, old, copy, whole)
    lines = [
        sorted(
            number
            for one, numbers in zip(whole, overrun.by_alteration, strict=True)
            if one.new[0] <= change.new[1] and change.new[0] <= one.new[1]
            for number in numbers
        )
        for change in changes
    ]
    return {
        "alterations": [
            {**asdict(change), "slugs": list(dict.fromkeys(numbers))}
            for change, numbers in zip(changes, lines, strict=True)
        ],
        "new_slugs": max(0, overrun.new_slugs - sum(held.new_slugs for held in since)),
        "taken_out": max(0, overrun.taken_out - sum(held.taken_out for held in since)),
        **alike,
    }


def overrun_of(report: Json, old: str, copy: Copy, alterations: Sequence[Alteration]) -> Overrun:
    """Reckon the slugs that alterations take.

    Args:
        report: on the latest proof of the old copy, in its JSON form.
        old: text of the old copy.
        copy: the new copy.
        alterations: of it against the old, in order (`alterations_of`).
    """
    seen = _seen(report)
    if not seen or not alterations or any(scan["turned_deg"] for scan in report["scans"]):
        return _touched_alone(report, alterations)
    placed = {line.number: carried_span(line.copy, old, copy.text) for line in seen}
    damage = _damage(report, seen, placed, alterations)
    collation = Collation(
        tuple(Placing(n, Span(*span) if span[0] < span[1] else None) for n, span in placed.items()),
        (),
    )
    resetter = Resetter(
        _galley(seen, usual_face()), copy, [_reading(line) for line in seen], damage, CastSettings()
    )
    for paragraph in touched_paragraphs(copy, collation, damage):
        resetter.put_right(paragraph)
    lines: dict[str, set[int]] = defaultdict(set)
    slugs = 0
    for change in resetter.numbered():
        slugs += len(change.slugs)
        for name in change.faults:
            lines[name].update(change.lines)
    touched = [
        () if change.prints_alike else slugs_touched(change, report["lines"])
        for change in alterations
    ]
    return Overrun(
        slugs,
        len(damage.out),
        tuple(
            tuple(sorted(lines[_name(place)] | (set(at) if change.was else set())))
            for place, (change, at) in enumerate(zip(alterations, touched, strict=True))
        ),
    )


def _touched_alone(report: Json, alterations: Sequence[Alteration]) -> Overrun:
    """The lines the alterations fall in, where the places on the scan are not the sheet's own."""
    touched = tuple(
        () if change.prints_alike else slugs_touched(change, report["lines"])
        for change in alterations
    )
    return Overrun(len({number for numbers in touched for number in numbers}), 0, touched)


def _name(place: int) -> str:
    return f"A{place}"


def _seen(report: Json) -> list[_Seen]:
    out = []
    for line in report["lines"]:
        if line["copy"] is None:
            continue
        dpi = report["scans"][line["scan"]]["dpi"]
        x, y, width, height = (px_to_pt(float(side), dpi) for side in line["box"])
        column = line["scan"], line["column"]
        out.append(
            _Seen(
                line["number"], column, x, x + width, y + height, line["body_pt"], line["text"],
                (line["copy"][0], line["copy"][1]),
            )
        )  # fmt: skip
    return out


def _damage(
    report: Json,
    seen: Sequence[_Seen],
    placed: Mapping[int, tuple[int, int]],
    alterations: Sequence[Alteration],
) -> Damage:
    """The alterations as faults of the lines they fall in."""
    damage = Damage()
    for place, change in enumerate(alterations):
        if change.prints_alike:
            continue
        for number in slugs_touched(change, report["lines"]):
            line = next(line for line in seen if line.number == number)
            if placed[number][0] >= placed[number][1]:
                damage.out[number] = _name(place)
            elif change.was or line.copy[0] < change.old[0] < line.copy[1]:
                damage.recast[number].append(_name(place))
            damage.after[change.new[0]] = number
        damage.wanting.append((Span(*change.new), _name(place)))
    return damage


def _reading(line: _Seen) -> Reading:
    box = Box(0, 0, 1, 1)
    return Reading(line.number, tuple(Letter(char, box, 1.0) for char in line.text))


def _galley(seen: Sequence[_Seen], face: Face) -> Galley:
    """The lines as set matter."""
    sizes = _sizes(seen)
    measures = _measures(seen)
    ems: dict[int, list[float]] = defaultdict(list)
    for line in seen:
        ems[sizes[line.number]].append(
            (line.right_pt - line.left_pt)
            / max(_letters_em(line.text, face) + _SPACE_EM * line.text.count(" "), 0.1)
        )
    widths = {size: SetWidths(median(found), face) for size, found in ems.items()}
    standing = {}
    for line in seen:
        size, measure = sizes[line.number], measures[line.column]
        em, gaps = widths[size].em_pt, line.text.count(" ")
        space = (line.right_pt - line.left_pt - em * _letters_em(line.text, face)) / max(gaps, 1)
        standing[line.number] = StandingLine(
            line.number,
            line.column,
            size,
            line.left_pt,
            line.right_pt,
            abs(line.right_pt - measure.right_pt) < _EDGE_EM * em,
            line.left_pt - measure.left_pt,
            space if gaps else None,
        )
    bodies = {
        size: median(line.body_pt for line in seen if sizes[line.number] == size) for size in ems
    }
    unsure = {
        size: _UNSURE
        * median(measures[ln.column].length_pt for ln in seen if sizes[ln.number] == size)
        for size in ems
    }
    return Galley(standing, measures, widths, bodies, unsure)


def _letters_em(text: str, face: Face) -> float:
    return sum(face.width_em(unit) for unit in units_of(text) if unit != " ")


def _sizes(seen: Sequence[_Seen]) -> dict[int, int]:
    """Which size of type each line is of, by its body."""
    out: dict[int, int] = {}
    size, start = -1, 0.0
    for line in sorted(seen, key=lambda line: line.body_pt):
        if size < 0 or line.body_pt > start + _SAME_BODY_PT:
            size, start = size + 1, line.body_pt
        out[line.number] = size
    return out


def _measures(seen: Sequence[_Seen]) -> dict[tuple[int, int], Measure]:
    out = {}
    for column, count in Counter(line.column for line in seen).items():
        own = [line for line in seen if line.column == column]
        left = _edge([line.left_pt for line in own], 0.25)
        right = _edge([line.right_pt for line in own], 0.8)
        feet = sorted(line.foot_pt for line in own)
        steps = [below - above for above, below in pairwise(feet)]
        out[column] = Measure(left, right, median(steps) if count > 1 else 0.0)
    return out


def _edge(places: Sequence[float], share: float) -> float:
    """The edge that lines keep to: the middle of those near the given quantile."""
    at = quantiles(places, n=100)[round(share * 100) - 1] if len(places) > 1 else places[0]
    return median([place for place in places if abs(place - at) <= _NEAR_PT] or [at])
