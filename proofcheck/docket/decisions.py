"""What is decided about each fault: correct, let it stand, or query to the customer."""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.base.fault_numbers import named_in_full, names_in_full, shown_ref
from proofcheck.base.visible import visible
from proofcheck.docket.came_back import taken_data
from proofcheck.docket.chain import Draft, Entry
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.recording import checked_name, known

if TYPE_CHECKING:
    from proofcheck.docket.book import Docket
    from proofcheck.docket.came_back import CameBack
    from proofcheck.docket.canonical import Data
    from proofcheck.docket.facts import Found
    from proofcheck.docket.job import Job

__all__ = [
    "ANSWERS",
    "CHARGES",
    "DECISIONS",
    "answer_query",
    "decide",
    "decide_several",
    "reason_wanting",
]

DECISIONS = ("correct", "stand", "query", "sound", "undecided")
"""Set it right; let it stand (stet); ask the customer; it is not so, the tool read it wrongly; or
what was decided is taken back."""
ANSWERS = ("correct", "stand")
CHARGES = ("", "PE", "AA")


def decide(  # noqa: PLR0913 - each is a fact of its own
    docket: Docket,
    number: str,
    fault: str,
    what: str,
    *,
    by: str,
    note: str = "",
    charge: str = "",
    settles: bool = False,
    paper: CameBack | None = None,
) -> Entry:
    """Record what was decided about a fault; a later decision takes the place of an earlier.

    Where another has decided differently both stand, and bar the press, till they agree or one
    decision settles it. After the customer's O.K. a decision withdraws it, and says why.

    Args:
        docket: the record.
        number: the job's.
        fault: its number: "3" (or "F3") of the latest proof, "1/3" of the first.
        what: one of `DECISIONS`.
        by: initials.
        note: why, or the question to the customer.
        charge: "PE" or "AA" where the reckoning is not to hold.
        settles: it settles what others decided differently; with the reason in the note.
        paper: the paper it was decided on.

    Raises:
        DocketError: no such job, fault or decision; no reason; or taken from that paper before.
    """
    _refuse_other(what, DECISIONS, "decision")
    _refuse_other(charge, CHARGES, "charge")

    def draft(job: Job | None) -> Draft:
        held = known(job, number)
        found = found_at(held, fault)
        _refuse_bare(held, found, note, settles=settles)
        told = {"fault": found.carried_from or found.ref, "what": what, "note": visible(note)}
        data: Data = told | taken_data(job, paper)
        data |= {"charge": charge} if charge else {}
        data |= {"settles": True} if settles else {}
        return Draft("decided", checked_name(by, "initials"), data)

    return docket.record(number, draft, paper.originals if paper else ())


def decide_several(
    docket: Docket,
    number: str,
    faults: str,
    what: str,
    *,
    by: str,
    note: str = "",
    charge: str = "",
    settles: bool = False,
) -> tuple[Entry, ...]:
    """Record one decision about several faults, an entry each: "F2,F5,F9", "2/1-5".

    Raises:
        DocketError: as for `decide`; nothing is recorded where one of them is not known.
    """
    job = docket.job(number)
    try:
        named = names_in_full(faults, len(job.proofs))
    except ValueError as error:
        msg = f"{visible(str(error))}; nothing was recorded"
        raise DocketError(msg) from error
    refs = [found_at(job, ref).ref for ref in named]
    if not refs:
        msg = "no fault is named; name one, or several with commas: F2,F5"
        raise DocketError(msg)
    return tuple(
        decide(docket, number, ref, what, by=by, note=note, charge=charge, settles=settles)
        for ref in dict.fromkeys(refs)
    )


def answer_query(
    docket: Docket,
    number: str,
    fault: str,
    what: str,
    words: str,
    *,
    answered_by: str,
    by: str,
    paper: CameBack | None = None,
) -> Entry:
    """Record the customer's answer to a query, and what follows from it.

    Raises:
        DocketError: no such job or fault, no query open on it, or no answer given.
    """
    _refuse_other(what, ANSWERS, "decision on an answer")
    if not words.strip():
        msg = "an answer has words; give what the customer said"
        raise DocketError(msg)

    def draft(job: Job | None) -> Draft:
        found = found_at(known(job, number), fault)
        if found.decision is None or not found.decision.open:
            msg = f"no query is open on {found.shown} of job {visible(number)}"
            raise DocketError(msg)
        data = {
            "fault": found.carried_from or found.ref,
            "what": what,
            "answer": visible(words),
            "answered_by": checked_name(answered_by, "the customer's name"),
            **taken_data(job, paper),
        }
        return Draft("answered", checked_name(by, "initials"), data)

    return docket.record(number, draft, paper.originals if paper else ())


def _refuse_bare(job: Job, found: Found, note: str, *, settles: bool) -> None:
    """Refuse what needs a reason and has none."""
    if note.strip():
        return
    wanting = reason_wanting(job, found)
    if wanting:
        msg = f"{wanting} (--note)"
        raise DocketError(msg)
    if settles:
        msg = "what settles a thing decided in two ways needs a reason (--note)"
        raise DocketError(msg)


def reason_wanting(job: Job, found: Found) -> str:
    """Why a decision on a fault is made only with a reason; "" where none is asked for."""
    word = job.word_on(found)
    if word is None:
        return ""
    return (
        f"{visible(word.by)} has given an O.K. on the {job.proofs[word.proof - 1].name}; a "
        "decision after it withdraws it and needs a reason"
    )


def found_at(job: Job, ref: str) -> Found:
    """The fault a person names. Raises DocketError where there is none of that name."""
    if job.proof is None:
        msg = f"job {visible(job.number)} has no proof yet"
        raise DocketError(msg)
    named = named_in_full(ref, job.proof.number)
    found = job.at(named)
    if found is None:
        there = ", ".join(f.shown for f in job.proof.found[:8]) or "none"
        more = " …" if len(job.proof.found) > 8 else ""
        msg = (
            f"no fault {shown_ref(visible(named))} in job {visible(job.number)}; "
            f"the {job.proof.name} has: {there}{more}"
        )
        raise DocketError(msg)
    return found


def _refuse_other(given: str, choices: tuple[str, ...], what: str) -> None:
    if given not in choices:
        msg = f"no {what} {visible(given)!r}; choose one of: {', '.join(filter(None, choices))}"
        raise DocketError(msg)
