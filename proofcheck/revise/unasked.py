"""What happened to the slugs that nobody asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.base.carried import carried_span
from proofcheck.revise.shown import Finding, Move, Slug, Standing
from proofcheck.revise.standing import KEPT

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from proofcheck.results.report import Report
    from proofcheck.revise.standing import Stood

__all__ = ["findings_of"]


_Told = tuple[int, Move, int | None, str, str]
"""Line, what happened, line of the earlier proof, words, id of the fault."""


def findings_of(
    proofs: tuple[Report, Report],
    stood: Stood,
    wanted: frozenset[int],
    new_faults: Iterable[str],
    *,
    put_back: frozenset[int] = frozenset(),
) -> tuple[Finding, ...]:
    """Everything that happened to a slug unasked, down the revise.

    Args:
        proofs: the earlier and the later.
        stood: what each slug is.
        wanted: earlier lines that were to be recast.
        new_faults: ids of faults of the revise that are new with it.
        put_back: earlier lines that were to be moved, and were.
    """
    earlier, later = proofs
    found, swapped = _swaps(stood, put_back)
    for slug in stood.slugs:
        telling = _TELLING.get(slug.standing)
        if slug.standing is Standing.MOVED and slug.earlier in put_back:
            continue
        if telling is not None and slug.line not in swapped:
            kind, tell = telling
            found.append((slug.line, kind, slug.earlier, tell(slug), ""))
    for line in stood.gone:
        if line not in wanted and not _covered(proofs, stood, line):
            after = _after(stood, line)
            words = f"slug {line} of the earlier proof has been dropped: {_start(earlier, line)}"
            found.append((after, Move.DROPPED, line, words, ""))
    fresh = set(new_faults)
    found += [
        (fault.line, Move.NEW_FAULT, None, fault.mark.words, fault.id)
        for fault in later.faults
        if fault.id in fresh
    ]
    found.sort(key=lambda item: (item[0], item[1]))
    return tuple(
        Finding(f"R{number}", kind, line, early, words, fault)
        for number, (line, kind, early, words, fault) in enumerate(found, 1)
    )


def _swaps(stood: Stood, put_back: frozenset[int]) -> tuple[list[_Told], set[int]]:
    """Slugs that have changed places unasked, told once for two; and all their lines."""
    found: list[_Told] = []
    swapped: set[int] = set()
    by_line = {slug.line: slug for slug in stood.slugs}
    for line in stood.moved:
        if line in swapped:
            continue
        partner = _swapped_with(line, by_line, stood)
        if partner is not None:
            swapped |= {line, partner}
            if {by_line[line].earlier, by_line[partner].earlier} <= put_back:
                continue
            words = f"slugs {min(line, partner)} and {max(line, partner)} have changed places"
            found.append((min(line, partner), Move.SWAPPED, by_line[line].earlier, words, ""))
    return found, swapped


_TELLING: dict[Standing, tuple[Move, Callable[[Slug], str]]] = {
    Standing.MOVED: (
        Move.MOVED,
        lambda slug: f"slug {slug.earlier} of the earlier proof stands here, out of its place",
    ),
    Standing.ANOTHER: (
        Move.ANOTHER_CAST,
        lambda slug: f"not the slug that stood at {slug.earlier}; none was to be recast here",
    ),
    Standing.DOUBLED: (Move.DOUBLED, lambda _: "the slug stands twice: take out the wrong one"),
    Standing.TURNED: (Move.TURNED, lambda _: "the slug stands end for end: turn it"),
    Standing.FOREIGN: (Move.FOREIGN, lambda _: "the slug is not of this job: take it out"),
    Standing.NEW: (
        Move.ANOTHER_CAST,
        lambda _: "a slug that was not there; none was to be put in here",
    ),
}


def _swapped_with(line: int, by_line: Mapping[int, Slug], stood: Stood) -> int | None:
    """The slug that stands where this one stood, if this one stands where that one did."""
    moved = by_line[line]
    for other in stood.slugs:
        if other.line == line or other.earlier is None or moved.earlier is None:
            continue
        kept = other.standing in KEPT
        crossed = (other.line - line) * (other.earlier - moved.earlier) < 0
        lines, places = abs(other.line - line), abs(other.earlier - moved.earlier)
        between = [
            s.earlier for s in stood.slugs if min(line, other.line) < s.line < max(line, other.line)
        ]
        within = all(
            e is not None
            and min(moved.earlier, other.earlier) < e < max(moved.earlier, other.earlier)
            for e in between
        )
        if kept and crossed and lines == places and within:
            return other.line
    return None


def _covered(proofs: tuple[Report, Report], stood: Stood, line: int) -> bool:
    """Whether the copy a gone slug held still stands on the revise (matter run over)."""
    earlier, later = proofs
    span = earlier.placed(line)
    if span is None:
        return True  # it was no matter of this copy: to take it out was right
    texts = earlier.copy.text, later.copy.text
    start, end = carried_span(span, *texts)
    # The same metal holds what it held, whatever the laying of the copy stretched over a gap.
    held = [
        carried_span(before, *texts)
        for slug in stood.slugs
        if slug.standing in KEPT and (before := earlier.placed(slug.earlier or 0)) is not None
    ] + [
        (now.start, now.end)
        for slug in stood.slugs
        if slug.standing not in KEPT and (now := later.placed(slug.line)) is not None
    ]
    covered = sum(max(0, min(end, last) - max(start, first)) for first, last in held)
    return covered >= 0.8 * (end - start)


def _after(stood: Stood, line: int) -> int:
    above = [s.line for s in stood.slugs if s.earlier is not None and s.earlier < line]
    return max(above, default=0)


def _start(report: Report, line: int) -> str:
    reading = report.reading(line)
    text = reading.text if reading else ""
    return f"“{text[:40]}{'…' if len(text) > 40 else ''}”"
