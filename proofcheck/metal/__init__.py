"""Faults of the type itself: what a reader sees that text alone doesn't show.

Turned, broken and strange letters, spaces that print, letters off their line, word spaces, rules
and borders. What is measured of the letters (`context`) is judged once (`judged`); each kind has a
module of its own, which takes that.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from proofcheck.base.kinds import Kind
from proofcheck.metal.context import Matter
from proofcheck.metal.face_book import FaceBookError, load_faces
from proofcheck.metal.finder import finders_in
from proofcheck.metal.findings import MetalFinding, MetalSettings
from proofcheck.metal.grading import graded
from proofcheck.metal.impression_map import ImpressionMap, impression_maps, impression_notes
from proofcheck.metal.judged import Judged, judge
from proofcheck.metal.make_up_notes import make_up_notes

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from proofcheck.base.found import Collation
    from proofcheck.base.values import Copy, Line, Reading, Sheet
    from proofcheck.metal.face_book import FaceBook

__all__ = [
    "ImpressionMap",
    "MetalFinding",
    "MetalSeen",
    "MetalSettings",
    "look_at_type",
]

_FINDERS = finders_in(__name__, __path__)
"""In order of standing: of two findings at one letter the earlier one's is kept."""


@dataclass(frozen=True, slots=True, eq=False)
class MetalSeen:
    """All that was seen of the type."""

    findings: tuple[MetalFinding, ...] = ()
    """In order of the proof, at most one at a letter."""
    impression: tuple[ImpressionMap, ...] = ()
    notes: tuple[str, ...] = ()
    """On impression, make-up and wear, a plain sentence each: for a person, no faults."""


def look_at_type(
    sheets: Sequence[Sheet],
    lines: Sequence[Line],
    readings: Sequence[Reading],
    collation: Collation,
    copy: Copy,
    *,
    settings: MetalSettings | None = None,
) -> MetalSeen:
    """Look at the type itself: its faults, the impression of the sheets, the make-up.

    Args:
        sheets: the sheets of the proof.
        lines: its lines.
        readings: one a line, in the same order.
        collation: the lines laid against the copy.
        copy: the approved copy.
        settings: what the shop holds to; the usual if not given.
    """
    if collation.mismatch or not any(reading.letters for reading in readings):
        return MetalSeen()
    matter = Matter.of(sheets, lines, readings, collation, copy, settings or MetalSettings())
    book, trouble = _book_of(matter.settings.faces)
    judged = judge(matter, book)
    maps = impression_maps(matter)
    told = graded(matter, _findings(judged))
    notes = (*impression_notes(maps), *make_up_notes(judged), *told.notes)
    notes = (*notes, *_held_against(judged), *trouble)
    return MetalSeen(told.findings, maps, notes)


def _book_of(path: Path | None) -> tuple[FaceBook | None, tuple[str, ...]]:
    """The shop's book of faces; where it can't be used, a note that says so and no book."""
    if path is None:
        return None, ()
    try:
        return load_faces(path), ()
    except FaceBookError as error:
        return None, (f"the type was looked at without the book of faces: {error}",)


def _held_against(judged: Judged) -> list[str]:
    """A note on each face of the book that the proof is set in."""
    return [
        f"set in {face.called} of the shop's book: letters were held against "
        f"{len(face.letters.text)} of {len(face.proofs)} proofs too"
        for face in judged.face.known
    ]


def _is_told(found: Sequence[MetalFinding], finding: MetalFinding) -> bool:
    """Whether a space that prints was found in just that ink."""
    box = finding.box
    return any(
        each.kind is Kind.WORK_UP
        and each.line == finding.line
        and each.box.x < box.right
        and each.box.right > box.x
        and each.box.y < box.bottom
        and each.box.bottom > box.y
        for each in found
        if finding.kind in (Kind.WORK_UP, Kind.HAIRLINE)
    )


def _findings(judged: Judged) -> tuple[MetalFinding, ...]:
    """What all of them found, at most one at a letter."""
    taken: set[tuple[int, int]] = set()
    found: list[MetalFinding] = []
    for finder in _FINDERS:
        for finding in finder.find(judged):
            places = {(finding.line, at) for at in range(*finding.letters)}
            if len(places) <= 1 and (places & taken or _is_told(found, finding)):
                continue
            taken |= places if len(places) <= 1 else set()
            found.append(finding)
    found.sort(key=lambda each: (each.line, each.letters.start))
    return tuple(found)
