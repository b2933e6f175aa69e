"""A later proof against an earlier one: what was corrected, and what else moved."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from proofcheck.base.found import Status, Verdict
from proofcheck.base.kinds import KINDS, Cure
from proofcheck.revise.corrections import Seen, judge_corrections, new_faults
from proofcheck.revise.pairing import pair_slugs
from proofcheck.revise.reordered import Reordered
from proofcheck.revise.revise_errors import ReviseError
from proofcheck.revise.revise_place import Places
from proofcheck.revise.sheet_place import SheetPlaces
from proofcheck.revise.shown import Made, Revise, Standing
from proofcheck.revise.standing import stand, wanted_slugs
from proofcheck.revise.unasked import findings_of

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable, Sequence

    from proofcheck.results.report import Report
    from proofcheck.revise.pairing import Pairing
    from proofcheck.revise.shown import Correction, Slug
    from proofcheck.revise.standing import Stood

__all__ = ["compare_proofs"]


def compare_proofs(
    earlier: Report,
    later: Report,
    asked: Iterable[str] | None = None,
    changes: Sequence[Any] = (),
    *,
    number: int = 2,
    to_put_back: Collection[int] = (),
) -> Revise:
    """Lay a revise on the proof before it, slug by slug.

    Args:
        earlier: the proof the corrections were asked for on.
        later: the revise, read against the copy that holds now.
        asked: ids of the faults to be corrected; if not given, all of status "fault", and of the
            queries those on slugs that were cast again.
        changes: where the copies differ, if they do: each with `old` and `new`, code points.
        number: which proof of its series the revise is; the earlier is the one before it.
        to_put_back: lines of the earlier proof that it found out of their places itself, being a
            revise, and that are to go back; where they now stand in the copy's order they have.

    Raises:
        ReviseError: of another job, sheets too few or in another order, or one was not judged.
    """
    pairing = _paired(earlier, later)
    faults = tuple(_faults_of(earlier) if asked is None else asked)
    wanted = wanted_slugs(earlier, faults) | _altered(earlier, changes)
    stood = stand(earlier, later, pairing, wanted)
    if asked is None and (granted := _granted(earlier, stood)):
        faults = (*faults, *granted)
        wanted |= wanted_slugs(earlier, faults)
        stood = stand(earlier, later, pairing, wanted)
    seen = _seen(earlier, later, pairing, stood)
    made = judge_corrections(earlier, later, stood, faults, seen)
    fresh = (*new_faults(earlier, later, stood), *(fault.id for fault in seen.sheets.new()))
    held = replace(stood, gone=tuple(line for line in stood.gone if line not in seen.beyond))
    back = _put_back(earlier, made) | _in_order(later, stood, {*to_put_back, *wanted})
    return Revise(
        slugs=stood.slugs,
        corrections=made,
        findings=findings_of((earlier, later), held, wanted, fresh, put_back=back),
        read_again=_read_again(stood.slugs, made),
        gone=held.gone,
        proofs=(number - 1, number),
    )


def _paired(earlier: Report, later: Report) -> Pairing:
    """The slugs of both, paired; refused as `compare_proofs` says."""
    _refuse_other_job(earlier, later)
    pairing = pair_slugs(earlier, later)
    for refuse in (_refuse_strange, _refuse_other_order, _refuse_too_few):
        refuse(earlier, later, pairing)
    return pairing


def _seen(earlier: Report, later: Report, pairing: Pairing, stood: Stood) -> Seen:
    return Seen(
        Places(earlier, later, pairing),
        SheetPlaces(earlier, later, pairing),
        Reordered(earlier, later, stood),
        hand_set=bool(later.provenance.settings.get("hand_set")),
        beyond=_beyond(later, stood),
    )


def _beyond(later: Report, stood: Stood) -> frozenset[int]:
    """Lines of the earlier proof before and after all that a revise of a part shows."""
    shown = [slug.earlier for slug in stood.slugs if slug.earlier is not None]
    if not _is_part(later) or not shown:
        return frozenset()
    return frozenset(line for line in stood.gone if not min(shown) < line < max(shown))


def _is_part(later: Report) -> bool:
    return bool(later.provenance.settings.get("part"))


def _faults_of(report: Report) -> list[str]:
    return [fault.id for fault in report.faults if fault.status is Status.FAULT]


def _put_back(earlier: Report, corrections: Sequence[Correction]) -> frozenset[int]:
    """Earlier lines that were to change their places, and did: that they moved is the cure."""
    made = {c.fault for c in corrections if c.made is Made.MADE}
    return frozenset(
        line
        for fault in earlier.faults
        if fault.id in made and KINDS[fault.kind].cure is Cure.MOVE
        for line in (fault.line, *fault.other_lines)
    )


def _in_order(later: Report, stood: Stood, lines: Collection[int]) -> frozenset[int]:
    """Those of the earlier lines whose slugs now stand where the copy has their matter.

    Asked of all that were to change: two short slugs swapped may have been told as what is missing
    here and too much there.
    """
    placed = [(p.line, p.copy.start) for p in later.collation.placings if p.copy is not None]
    starts = dict(placed)
    out: set[int] = set()
    for slug in stood.slugs:
        if slug.earlier is not None and slug.earlier in lines and slug.line in starts:
            here = starts[slug.line]
            before = max((at for line, at in placed if line < slug.line), default=here)
            after = min((at for line, at in placed if line > slug.line), default=here)
            if before <= here <= after:
                out.add(slug.earlier)
    return frozenset(out)


def _granted(earlier: Report, stood: Stood) -> tuple[str, ...]:
    """Queries on slugs that were cast again though no fault asked for it: someone granted them."""
    again = {slug.earlier for slug in stood.slugs if slug.standing is Standing.ANOTHER}
    return tuple(
        fault.id for fault in earlier.faults if fault.status is Status.QUERY and fault.line in again
    )


def _altered(earlier: Report, changes: Sequence[Any]) -> frozenset[int]:
    """Slugs of the earlier proof that hold copy changed since."""
    out = set()
    for placing in earlier.collation.placings:
        for change in changes:
            start, end = change["old"]
            if placing.copy and placing.copy.start <= end and start <= placing.copy.end:
                out.add(placing.line)
    return frozenset(out)


def _read_again(slugs: Sequence[Slug], corrections: Sequence[Correction]) -> tuple[int, ...]:
    """Each new slug and its two neighbours: the ones lifted or put in by mistake.

    A line that reads otherwise than it did is new, whatever its letters' seats say.
    """
    new = {s.line for s in slugs if s.standing is not Standing.STOOD}
    new |= {c.now for c in corrections if c.now is not None and c.made is not Made.MISSED}
    lines = {s.line for s in slugs}
    return tuple(sorted({n + k for n in new for k in (-1, 0, 1)} & lines))


def _refuse_other_job(earlier: Report, later: Report) -> None:
    for which, report in (("earlier proof", earlier), ("revise", later)):
        if report.verdict is Verdict.MISMATCH:
            msg = f"the {which} is not of this copy; is it a proof of another job?"
            raise ReviseError(msg)
        if report.verdict is Verdict.UNREADABLE or not report.lines:
            msg = f"the {which} could not be judged; scan it again"
            raise ReviseError(msg)
    hashes = [[s.scan.sha256 for s in report.sheets] for report in (earlier, later)]
    if hashes[0] == hashes[1] and [s.scan.page for s in earlier.sheets] == [
        s.scan.page for s in later.sheets
    ]:
        msg = "the revise is the very scan of the earlier proof; give the scan of the revise"
        raise ReviseError(msg)


def _refuse_strange(earlier: Report, later: Report, pairing: Pairing) -> None:
    found = len(pairing.same) + len(pairing.turned) + len(pairing.place)
    if found < 0.3 * min(len(earlier.lines), len(later.lines)):
        msg = (
            f"only {found} slugs of the revise are like any of the earlier proof; is it a proof "
            "of another job?"
        )
        raise ReviseError(msg)


def _refuse_other_order(earlier: Report, later: Report, pairing: Pairing) -> None:
    """Sheets given in another order than the earlier proof's: most slugs of one are another's."""
    from_sheet: dict[int, Counter[int]] = {}
    for late, early in pairing.same.items():
        held = from_sheet.setdefault(later.lines[late].sheet, Counter())
        held[earlier.lines[early].sheet] += 1
    for sheet, held in sorted(from_sheet.items()):
        whose, count = held.most_common(1)[0]
        if whose != sheet and count > 0.6 * held.total() and count >= 3:
            msg = (
                f"the pages are in another order: sheet {sheet + 1} of the revise is sheet "
                f"{whose + 1} of the earlier proof; give them in the same order"
            )
            raise ReviseError(msg)


def _refuse_too_few(earlier: Report, later: Report, pairing: Pairing) -> None:
    """A sheet of the earlier proof left out: all its slugs would seem dropped."""
    if len(later.sheets) >= len(earlier.sheets) or _is_part(later):
        return
    found = {*pairing.same.values(), *pairing.turned.values(), *pairing.place.values()}
    seen = {earlier.lines[index].sheet for index in found}
    for sheet in sorted({line.sheet for line in earlier.lines} - seen):
        msg = (
            f"no slug of sheet {sheet + 1} of the earlier proof is on the revise; give every "
            "sheet of the revise, in order"
        )
        raise ReviseError(msg)
