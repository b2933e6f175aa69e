"""Each correction asked for: made, partly made, or missed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from proofcheck.base.carried import carried_span
from proofcheck.base.found import Status
from proofcheck.base.kinds import Cure, Group, Kind, cured_by, of_group
from proofcheck.base.values import Span
from proofcheck.revise.sheet_place import OF_NO_SLUG
from proofcheck.revise.shown import Correction, Made, Standing
from proofcheck.revise.standing import KEPT

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from proofcheck.base.found import Fault
    from proofcheck.results.report import Report
    from proofcheck.revise.reordered import Reordered
    from proofcheck.revise.revise_place import Places
    from proofcheck.revise.sheet_place import SheetPlaces
    from proofcheck.revise.shown import Slug
    from proofcheck.revise.standing import Stood

__all__ = ["Seen", "judge_corrections", "new_faults"]

_OF_SLUGS = cured_by(Cure.PUT_IN, Cure.TAKE_OUT, Cure.MOVE)
"""Faults cured by moving slugs about, so that the same metal may well be right."""

_OF_STONE = cured_by(Cure.STONE)
"""Faults cured by a hand at the stone: the same slug is to stand there, without them."""

_OF_TYPE = of_group(Group.TYPE, Group.RULES)
"""Faults of the type and its setting, which leave the text as it is."""


@dataclass(frozen=True, slots=True)
class Seen:
    """What the two pulls themselves show, whatever was read of them."""

    places: Places
    """Of letters, on slugs that stayed."""
    sheets: SheetPlaces
    """Of rules and borders."""
    order: Reordered
    hand_set: bool = False
    """Type from the case: a letter can be changed on a line that stays."""
    beyond: frozenset[int] = frozenset()
    """Lines of the earlier proof that the revise, a part, does not show."""


def judge_corrections(
    earlier: Report,
    later: Report,
    stood: Stood,
    asked: Iterable[str],
    seen: Seen,
) -> tuple[Correction, ...]:
    """Judge each fault that was to be corrected.

    One is made only where the metal is seen to be another and the place reads as the copy. The
    same metal still has its fault, whatever a reader makes of it this time; and what is queried
    there, or was read otherwise and let go, does not read as the copy.

    Args:
        earlier: the proof they were asked for on.
        later: the revise.
        stood: what each slug of the revise is.
        asked: ids of the faults to correct.
        seen: what the pulls show.
    """
    wanted = set(asked)
    return tuple(
        _judged(fault, later, stood, _here(fault.copy, earlier, later), seen)
        for fault in earlier.faults
        if fault.id in wanted
    )


def _here(span: Span, earlier: Report, later: Report) -> Span:
    """A place in the earlier proof's copy as one in the later's."""
    return Span(*carried_span((span.start, span.end), earlier.copy.text, later.copy.text))


def _judged(fault: Fault, later: Report, stood: Stood, span: Span, seen: Seen) -> Correction:
    slug = next((s for s in stood.slugs if s.earlier == fault.line), None)
    if fault.line in seen.beyond:
        why = "its line is not on this revise, which holds only a part"
        return Correction(fault.id, fault.line, None, fault.mark.words, Made.UNSEEN, why)
    now = slug.line if slug is not None else _line_holding(later, span)
    taken_over = _taken_over(fault, slug, later, stood, span)
    if fault.kind in OF_NO_SLUG:
        made, why = _of_rule(fault, seen.sheets)
        return Correction(fault.id, fault.line, now, fault.mark.words, made, why)
    still = [f for f in later.faults if f.kind not in OF_NO_SLUG and _touch(f.copy, span)]
    let_go = [f for f in later.let_go if f.kind not in OF_NO_SLUG and _touch(f.copy, span)]
    if fault.kind in _OF_SLUGS:
        made, why = _of_slugs(fault, still, stirred=_stirred(fault, later, stood, span))
    elif taken_over is not None:
        now = taken_over
        made, why = _of_matter(fault, still)
    elif slug is not None and slug.standing in KEPT:
        made, why = _of_kept(fault, still, span, seen)
    elif now is None:
        made, why = Made.PARTLY, "its slug is gone, and none has its place"
    else:
        made, why = _of_matter(fault, still)
    if made is Made.MADE and let_go:
        read = let_go[0].proof_text or "nothing"
        made, why = Made.PARTLY, f"it was read as “{read}” there, and that let go: look at it"
    return Correction(fault.id, fault.line, now, fault.mark.words, made, why)


def _taken_over(
    fault: Fault, slug: Slug | None, later: Report, stood: Stood, span: Span
) -> int | None:
    """The new slug that holds what was missing at a line's end, though that line stayed; or None.

    Matter put in there may begin the next line, which is set anew from it.
    """
    if slug is None or slug.standing not in KEPT or fault.proof_text.strip():
        return None
    line = _line_holding(later, span) if span.start < span.end else None
    if line is None or line == slug.line:
        return None
    other = next((one for one in stood.slugs if one.line == line), None)
    return line if other is not None and other.standing not in KEPT else None


def _of_rule(fault: Fault, sheets: SheetPlaces) -> tuple[Made, str]:
    """A rule or a border, which stands on no slug."""
    still = sheets.still(fault)
    if any(f.kind is fault.kind for f in still):
        return Made.MISSED, "it is still so"
    if not sheets.changed(fault):
        return Made.MISSED, "it prints there as it did"
    if still:
        return Made.PARTLY, f"changed there; now: {still[0].mark.words}"
    return Made.MADE, "put right at the stone: it prints otherwise there, and is so no more"


def _of_kept(fault: Fault, still: list[Fault], span: Span, seen: Seen) -> tuple[Made, str]:
    """A fault on a slug that stayed."""
    changed = seen.places.changed
    if fault.kind in _OF_STONE:
        return _at_stone(fault, still, changed)
    if fault.kind not in _OF_TYPE and not still and seen.order.cures(span):
        return Made.MADE, "the same slugs, in another order, and it reads as the copy there"
    if seen.hand_set and fault.proof_text == fault.copy_text:
        return _of_sort(fault, still, changed)
    return _of_same_slug(fault, still, changed)


def _of_sort(
    fault: Fault, still: list[Fault], changed: Callable[[Fault], bool]
) -> tuple[Made, str]:
    """A sort that was broken, of another fount or off its line, in type from the case."""
    if any(f.kind is fault.kind for f in still):
        return Made.MISSED, "it is still so"
    if not changed(fault):
        return Made.MISSED, "the same sort stands there"
    if still:
        return Made.PARTLY, f"changed there; now: {still[0].mark.words}"
    return Made.MADE, "the sort there is another, or stands otherwise, and is sound"


def _of_same_slug(
    fault: Fault, still: list[Fault], changed: Callable[[Fault], bool]
) -> tuple[Made, str]:
    """A slug that stayed; in type set by hand a letter may have been changed in it."""
    if fault.proof_text == fault.copy_text:
        return Made.MISSED, "the same slug stands there"
    if not changed(fault):
        if still:
            return Made.MISSED, "the same slug stands there"
        return Made.MISSED, "the same metal stands there, though it was read otherwise this time"
    if any(f.kind == fault.kind and f.proof_text == fault.proof_text for f in still):
        return Made.MISSED, "it is still so"
    if still:
        return Made.PARTLY, f"changed there; now: {still[0].mark.words}"
    return Made.MADE, "the letter is another, and it reads as the copy there"


def _at_stone(
    fault: Fault, still: list[Fault], changed: Callable[[Fault], bool]
) -> tuple[Made, str]:
    """What a hand at the stone puts right, on the same slug: a space that printed, pushed down."""
    if any(f.kind == fault.kind for f in still):
        return Made.MISSED, "it is still so"
    if changed(fault):
        return Made.MADE, "put right at the stone: the same slug, and it is so no more"
    return Made.MISSED, "it prints there as it did"


def _stirred(fault: Fault, later: Report, stood: Stood, span: Span) -> bool:
    """Whether slugs were put in, taken out or moved where a fault of whole slugs was."""
    if fault.kind in {Kind.LINE_MISSING, Kind.MATTER_MISSING}:
        by_line = {slug.line: slug.standing for slug in stood.slugs}
        return any(
            by_line.get(placing.line) not in {Standing.STOOD, None}
            for placing in later.collation.placings
            if placing.copy is not None and _touch(placing.copy, span)
        )
    where = {slug.earlier: slug.standing for slug in stood.slugs if slug.earlier is not None}
    lines = {fault.line, *fault.other_lines} - {0}
    return any(where.get(line) is not Standing.STOOD for line in lines)


def _of_slugs(fault: Fault, still: list[Fault], *, stirred: bool) -> tuple[Made, str]:
    if any(f.kind == fault.kind for f in still):
        return Made.MISSED, "it is still so"
    if not stirred:
        return Made.MISSED, "every slug there stands as it stood"
    if still:
        return Made.PARTLY, f"something else is wrong there: {still[0].mark.words}"
    return Made.MADE, "it is so no more"


def _of_matter(fault: Fault, still: list[Fault]) -> tuple[Made, str]:
    if any(f.kind == fault.kind and f.proof_text == fault.proof_text for f in still):
        return Made.MISSED, "another slug, with the same fault"
    if still:
        return Made.PARTLY, f"another slug; now: {still[0].mark.words}"
    return Made.MADE, "another slug, and it reads as the copy there"


def _touch(a: Span, b: Span) -> bool:
    if a.start == a.end or b.start == b.end:
        return a.start <= b.end and b.start <= a.end
    return a.start < b.end and b.start < a.end


def _line_holding(report: Report, span: Span) -> int | None:
    for placing in report.collation.placings:
        if placing.copy is not None and _touch(placing.copy, span):
            return placing.line
    return None


def new_faults(earlier: Report, later: Report, stood: Stood) -> tuple[str, ...]:
    """Ids of the faults of the revise that the earlier proof did not have.

    On a slug that stood, only those of the text, and no queries: in type set by hand a letter may
    have been changed and nothing else stirred, or the earlier reading may have missed it; how a
    letter is inked changes from pull to pull. On any other, queries too.
    """
    held = {
        slug.line: span and _here(span, earlier, later)
        for slug in stood.slugs
        if slug.standing in KEPT
        for span in (earlier.placed(slug.earlier or 0),)
    }
    old = [(f.kind, _here(f.copy, earlier, later), f.proof_text) for f in earlier.faults]
    return tuple(
        fault.id
        for fault in later.faults
        if (fault.status is Status.FAULT or fault.line not in held)
        and fault.kind not in _OF_SLUGS
        and fault.kind not in OF_NO_SLUG
        and (fault.line not in held or _in_the_line(fault, held[fault.line]))
        and not any(
            kind == fault.kind and _touch(span, fault.copy) and printed == fault.proof_text
            for kind, span, printed in old
        )
    )


def _in_the_line(fault: Fault, held: Span | None) -> bool:
    """Whether a fault of the text lies in what the slug held before.

    What is missing after it belongs to a slug that is gone.
    """
    return fault.kind not in _OF_TYPE and held is not None and _touch(fault.copy, held)
