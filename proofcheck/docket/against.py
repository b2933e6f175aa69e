"""Every reason on the record why a job may not go to press."""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.base.decision_words import decided_called
from proofcheck.base.fault_numbers import shown_ref
from proofcheck.base.visible import visible
from proofcheck.docket.job import standing_proofs
from proofcheck.docket.signoff import WORDS
from proofcheck.docket.unproved import unproved_reasons
from proofcheck.docket.vouching import Reason, unless_vouched

if TYPE_CHECKING:
    from collections.abc import Iterable

    from proofcheck.docket.facts import CopyVersion, Found, ProofPulled, SignOff
    from proofcheck.docket.job import Job

__all__ = ["disputed_words", "reasons_against", "record_reason"]


def record_reason(words: str) -> Reason:
    """That the record itself can't be trusted; nothing settles that but a kept copy."""
    return Reason("record", f"the record is broken: {words}")


def reasons_against(job: Job) -> tuple[Reason, ...]:
    """Every reason on the record why the job may not go to press; none if it may."""
    if job.broken:
        return (record_reason(job.broken),)
    if job.copy is None:
        return (Reason("no-copy", "no copy is on the docket"),)
    if job.proof is None:
        return (Reason("no-proof", "no proof has been pulled"),)
    return (
        *_copy_changed(job.copy, job.proof),
        *unless_vouched(job, unproved_reasons(job)),
        *(
            Reason(f"undecided:{f.ref}", f"{_named(f.status)} {f.shown} is undecided: {_plain(f)}")
            for f in job.undecided
        ),
        *(
            Reason(f"disputed:{f.ref}", f"{f.shown} is decided in two ways: {disputed_words(f)}")
            for f in job.disputed
        ),
        *(
            Reason(f"query:{f.ref}", f"query {f.shown} to the customer is open: {_asked(f)}")
            for f in job.open_queries
        ),
        *(
            Reason(
                f"correction:{f.ref}",
                f"correction {f.shown} is not shown made{_seen(job, f.ref)}: {f.words}",
            )
            for f in job.corrections
        ),
        *_words_of_customer(job, job.copy, job.proof),
    )


def _copy_changed(copy: CopyVersion, proof: ProofPulled) -> list[Reason]:
    if proof.copy == copy.number:
        return []
    words = (
        f"the copy was changed since: the {proof.name} was read against version {proof.copy}, "
        f"version {copy.number} holds"
    )
    return [Reason("copy-changed", words)]


# ------------------------------------------------------------------ the customer's word


def _words_of_customer(job: Job, copy: CopyVersion, proof: ProofPulled) -> list[Reason]:
    """What his word lacks: on the latest proof, and on those that stand for other parts."""
    if not job.signoffs:
        return [Reason("no-ok", "the customer has not given an O.K.")]
    others = [held for held in standing_proofs(job) if held is not proof]
    if not others:
        word = job.signoffs[-1]
        return [*_word_on(job, word, copy, proof), *_decided_after(job, [word])]
    words = {held.number: _last_word(job, held) for held in (*others, proof)}
    out: list[Reason] = []
    for held in (*others, proof):
        word_on = words[held.number]
        if word_on is None:
            told = f"the customer has not given an O.K. on the {held.name}, which holds a part"
            out.append(Reason(f"no-ok:{held.number}", told))
        else:
            out += _word_on(job, word_on, copy, held)
    return [*out, *_decided_after(job, [word for word in words.values() if word])]


def _last_word(job: Job, proof: ProofPulled) -> SignOff | None:
    """The last word given on a proof, or carried over to it."""
    given = (
        word
        for word in reversed(job.signoffs)
        if word.proof == proof.number or _met(job, word, proof)
    )
    return next(given, None)


def _word_on(job: Job, word: SignOff, copy: CopyVersion, proof: ProofPulled) -> list[Reason]:
    if word.words == "revise-wanted":
        return _revise_wanted(word, proof)
    out = []
    said = f"{WORDS[word.words]} of {word.by}"
    if word.copy_sha256 != copy.sha256:
        out.append(Reason("ok-other-copy", f"the {said} was given on another copy"))
    if word.proof_hashes != proof.hashes and not _met(job, word, proof):
        named = job.proofs[word.proof - 1].name
        out.append(
            Reason(
                "ok-other-proof",
                f"the {said} was given on another proof: the {named}, superseded by the "
                f"{proof.name}",
            )
        )
    if word.words == "ok-with-corrections":
        out += [
            Reason(f"ok-correction:{ref}", f"the {said} asks for {shown_ref(ref)}, not shown made")
            for ref in word.corrections
            if job.made.get(ref) != "made" and ref not in {f.ref for f in job.corrections}
        ]
    return out


def _revise_wanted(word: SignOff, proof: ProofPulled) -> list[Reason]:
    if word.proof < proof.number:
        return [Reason("no-ok", f"{word.by} wanted a revised proof and has not O.K.’d it")]
    return [Reason("revise-wanted", f"{word.by} wants a revised proof")]


def _met(job: Job, word: SignOff, proof: ProofPulled) -> bool:
    """Whether an O.K. with corrections carries over to a later proof.

    It does where every proof since was laid on the one before it, so that nothing else moved
    unseen; what a revise found and whether the corrections are made is reckoned beside.
    """
    later = job.proofs[word.proof : proof.number]
    return (
        word.words == "ok-with-corrections"
        and proof.number > word.proof
        and all(p.revise is not None and p.copy == proof.copy for p in later)
        and job.proofs[word.proof - 1].copy == proof.copy
    )


_DONE = {"stand": "let stand", "sound": "called no fault", "correct": "put down to be corrected"}


def disputed_words(found: Found) -> str:
    """Who decided what about a fault that two decided differently."""
    held = (*found.others, *([found.decision] if found.decision else ()))
    return "; ".join(f"{visible(one.by)}: {decided_called(one.what)}" for one in held)


def _decided_after(job: Job, words: Iterable[SignOff]) -> list[Reason]:
    """Faults let stand when the customer had given his word already, without it."""
    held = max(words, key=lambda word: word.entry.place, default=None)
    if held is None or held.words == "revise-wanted":
        return []
    out = []
    for found in job.found:
        decision = found.decision
        added = decision is not None and decision.what == "correct" and found.proof <= held.proof
        if decision is None or found.carried_from or not (found.settled or added):
            continue
        if decision.entry.place > held.entry.place and not decision.answer:
            done = _DONE[decision.what]
            words_on = (
                f"{found.shown} was {done} by {decision.by} after the {WORDS[held.words]} of "
                f"{held.by}, who has not seen it so: {_plain(found)}; it takes the O.K. again"
            )
            out.append(Reason(f"decided-after:{found.ref}@{decision.entry.place}", words_on))
    return out


def _named(status: str) -> str:
    words = {"revise": "finding of the revise", "reader": "fault seen by the reader"}
    return words.get(status, status)


def _plain(found: Found) -> str:
    return found.words.removeprefix("query: ")


def _asked(found: Found) -> str:
    return (found.decision.note if found.decision else "") or _plain(found)


def _seen(job: Job, ref: str) -> str:
    return f" ({job.made[ref]} on the revise)" if ref in job.made else ""
