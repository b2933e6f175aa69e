"""What each slug of the revise is."""

from __future__ import annotations

from bisect import bisect_left
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from rapidfuzz.distance import Indel

from proofcheck.base.carried import carried_span
from proofcheck.revise.odds import USUAL_NOISE
from proofcheck.revise.shown import Slug, Standing

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from proofcheck.base.values import Span
    from proofcheck.results.report import Report
    from proofcheck.revise.pairing import Pairing

__all__ = ["KEPT", "Stood", "stand", "wanted_slugs"]

_READS_ALIKE = 0.9
KEPT = frozenset({Standing.STOOD, Standing.MOVED})
"""The same metal as before."""


@dataclass(frozen=True, slots=True)
class Stood:
    """Every slug of the revise with its standing, and the earlier slugs that are gone."""

    slugs: tuple[Slug, ...]
    gone: tuple[int, ...]
    """Numbers of earlier lines with nothing in their place."""
    moved: tuple[int, ...]
    """Numbers of lines of the revise whose slugs stand out of their order."""


def wanted_slugs(earlier: Report, faults: Iterable[str]) -> frozenset[int]:
    """Numbers of the earlier lines that were to be recast for these faults."""
    asked = set(faults)
    out: set[int] = set()
    for fault in earlier.faults:
        if fault.id in asked:
            out.update({fault.line, *fault.other_lines} - {0})
    for recast in earlier.recast:
        if asked & set(recast.reason):
            out.update(recast.lines)
    return frozenset(out)


def stand(
    earlier: Report,
    later: Report,
    pairing: Pairing,
    wanted: frozenset[int],
) -> Stood:
    """Say of each slug what it is."""
    order = _out_of_order(pairing.same)
    texts = [_texts(report) for report in (earlier, later)]
    slugs: list[Slug] = []
    for index, line in enumerate(later.lines):
        standing, early = _standing(index, pairing, order)
        if standing is None:
            standing = _unpaired(texts, index, later.placed(line.number))
        slugs.append(_slug(earlier, later, pairing, index, (standing, early)))
    slugs = _run_over((earlier, later), slugs, wanted)
    held = {slug.earlier for slug in slugs}
    gone = tuple(line.number for line in earlier.lines if line.number not in held)
    moved = tuple(later.lines[index].number for index in sorted(order))
    return Stood(tuple(slugs), gone, moved)


def _texts(report: Report) -> list[str]:
    return [
        reading.text if (reading := report.reading(line.number)) else "" for line in report.lines
    ]


def _out_of_order(same: Mapping[int, int]) -> frozenset[int]:
    """Later indices that stand outside the longest run in the old order."""
    lates = sorted(same)
    tails: list[int] = []
    ends: list[int] = []
    before: dict[int, int | None] = {}
    for late in lates:
        at = bisect_left(tails, same[late])
        before[late] = ends[at - 1] if at else None
        tails[at : at + 1] = [same[late]]
        ends[at : at + 1] = [late]
    kept: set[int] = set()
    walk: int | None = ends[-1] if ends else None
    while walk is not None:
        kept.add(walk)
        walk = before[walk]
    return frozenset(set(lates) - kept)


def _standing(
    index: int, pairing: Pairing, order: frozenset[int]
) -> tuple[Standing | None, int | None]:
    if index in pairing.same:
        standing = Standing.MOVED if index in order else Standing.STOOD
        return standing, pairing.same[index]
    if index in pairing.turned:
        return Standing.TURNED, pairing.turned[index]
    if index in pairing.place:
        return Standing.ANOTHER, pairing.place[index]
    return None, None


def _unpaired(texts: list[list[str]], index: int, placed: Span | None) -> Standing:
    """A slug in the place of no other: doubled, foreign, or new."""
    earlier, later = texts
    own = later[index]
    now, before = (
        sum(Indel.normalized_similarity(own, text) >= _READS_ALIKE for text in proof)
        for proof in (later, earlier)
    )
    if own and now > max(before, 1):
        return Standing.DOUBLED
    return Standing.FOREIGN if placed is None else Standing.NEW


def _slug(
    earlier: Report,
    later: Report,
    pairing: Pairing,
    index: int,
    stands: tuple[Standing, int | None],
) -> Slug:
    standing, early = stands
    number = later.lines[index].number
    if early is None:
        return Slug(number, standing, None, 0.0, 0.0)
    before = earlier.lines[early].number
    overlay = pairing.overlays.get((early, index))
    if overlay is None or overlay.seats is None:
        return Slug(number, standing, before, 0.0, 0.0)
    odds = overlay.odds(pairing.noise.get(later.lines[index].sheet, USUAL_NOISE))
    return Slug(number, standing, before, overlay.shift, overlay.likeness, odds)


def _run_over(
    proofs: tuple[Report, Report],
    slugs: list[Slug],
    wanted: frozenset[int],
) -> list[Slug]:
    """Other casts that were asked for, and those that follow on from them in one paragraph.

    Words carried over go on to later lines until a line end falls where it did, or to the end
    of the paragraph (TRADE of the 1900s: over-running).
    """
    out: list[Slug] = []
    running: Span | None = None
    for slug in slugs:
        paragraph = _paragraph_at(proofs[1], slug.line)
        asked = slug.earlier in wanted or any(
            line in wanted for line in _held_before(*proofs, slug)
        )
        follows = running is not None and paragraph == running
        recast = slug.standing in (Standing.ANOTHER, Standing.NEW) and (asked or follows)
        if recast:
            out.append(replace(slug, standing=Standing.RECAST))
        else:
            out.append(slug)
        running = paragraph if recast else None
    return out


def _held_before(earlier: Report, later: Report, slug: Slug) -> list[int]:
    """Earlier lines that held the copy this slug holds."""
    span = later.placed(slug.line)
    if span is None:
        return []
    texts = earlier.copy.text, later.copy.text
    held = [(p.line, carried_span(p.copy, *texts)) for p in earlier.collation.placings if p.copy]
    return [line for line, (start, end) in held if start < span.end and span.start < end]


def _paragraph_at(report: Report, line: int) -> Span | None:
    span = report.placed(line)
    if span is None:
        return None
    middle = (span.start + span.end) // 2
    return next((p for p in report.copy.paragraphs if p.start <= middle <= p.end), None)
