"""What was not proved, and what was proved in another way than usual.

Each is a reason against the press till a named person answers for exactly that (`vouching`).
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.base.visible import visible
from proofcheck.docket.canonical import sha256_of
from proofcheck.docket.job import standing_proofs
from proofcheck.docket.proved import (
    BY_PERSON,
    TAKEN_IN,
    choices_words,
    how_taken,
    lax_choices,
    laxness,
    left_out,
    lines_words,
)
from proofcheck.docket.vouching import Reason, facts_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from proofcheck.docket.facts import Found, ProofPulled
    from proofcheck.docket.job import Job

__all__ = ["unproved_reasons"]

_SHOWN = 4
"""Stretches or faults named in a key or a line before the rest are only counted."""


def unproved_reasons(job: Job) -> tuple[Reason, ...]:
    """Reasons of this kind, whether or not anybody answers for them."""
    proofs = standing_proofs(job)
    return (
        *(reason for proof in proofs for reason in _of_proof(proof)),
        *_not_proved(job),
        *_from_archives(job),
        *_left_behind(job),
    )


def _of_proof(proof: ProofPulled) -> Iterator[Reason]:
    """How one proof was read."""
    name, number, read = proof.name, proof.number, proof.read
    facts = {"scans": list(proof.hashes), "report": proof.report_sha256}
    if read is None:
        words = f"the record does not say how the {name} was read: an older version recorded it"
        yield Reason(f"not-said:{number}", words, facts_of("not-said", facts))
        return
    if read["how"] == BY_PERSON:
        words = f"the {name} was {how_taken(proof)}"
        yield Reason(f"by-person:{number}", words, facts_of("by-person", facts))
    if read["how"] == TAKEN_IN:
        words = (
            f"the report on the {name} was taken in, not read here ({choices_words(read)}, as it "
            "says)"
        )
        yield Reason(f"taken-in:{number}", words, facts_of("taken-in", facts))
    lax = laxness(proof)
    if lax:
        words = f"the {name} was read under other choices than usual: {'; '.join(lax)}"
        yield Reason(
            f"choices:{number}", words, facts_of("choices", {**facts, "lax": lax_choices(proof)})
        )
    if read["unread"] or proof.verdict == "not-wholly-read":
        shown = [visible(words) for words in read["unread"][:_SHOWN]]
        more = len(read["unread"]) - len(shown)
        told = "; ".join([*shown, *([f"{more} places more"] if more else [])])
        words = f"not read on the {name}: {told or 'some of its ink'}"
        yield Reason(f"unread:{number}", words, facts_of("unread", facts))


def _not_proved(job: Job) -> list[Reason]:
    """Copy that no standing proof holds."""
    spans = left_out(job)
    if not spans or job.copy is None:
        return []
    text = job.copy.entry.data["text"]
    lines = lines_words(spans, text)
    parts = lines.split(", ")
    name = ",".join(parts) if len(parts) <= _SHOWN else f"{len(parts)}-{sha256_of(lines)[:8]}"
    shown = ", ".join(parts[:_SHOWN]) + (" …" if len(parts) > _SHOWN else "")
    first, last = (visible(text[a:b]) for a, b in (spans[0], spans[-1]))
    words = (
        f"line{'s' if len(parts) > 1 or '-' in lines else ''} {shown} of the copy not proved: "
        f"from “{first[:30]}” to “{last[-30:]}”"
    )
    facts = {
        "copy": job.copy.sha256,
        "proofs": [list(proof.hashes) for proof in standing_proofs(job)],
        "spans": [list(span) for span in spans],
    }
    return [Reason(f"not-proved:{name}", words, facts_of("not-proved", facts))]


def _from_archives(job: Job) -> list[Reason]:
    """Entries that were made elsewhere: no better than the hand they came from."""
    if not job.taken_in:
        return []
    spans = ", ".join(f"{t.first}-{t.last}" for t in job.taken_in)
    last = job.taken_in[-1]
    kinds = {e.kind for t in job.taken_in for e in job.entries[t.first - 1 : t.last]}
    if not kinds & {"proof", "decided", "answered", "signed", "vouched", "copy"}:
        return []
    words = (
        f"entries {spans} were not recorded here but taken in from {visible(last.archive)} by "
        f"{visible(last.by)}"
    )
    facts = {"entries": [e.sha256 for t in job.taken_in for e in job.entries[t.last - 1 : t.last]]}
    return [Reason(f"archive:{spans.replace(' ', '')}", words, facts_of("archive", facts))]


def _left_behind(job: Job) -> list[Reason]:
    """Faults of a superseded proof that nobody decided and that were not found again.

    The same metal pulled again may be read otherwise; what was seen once is not gone for that.
    """
    out = []
    still_open = {found.ref for found in job.undecided}
    for proof in job.proofs[:-1]:
        if job.copy is None or proof.copy != job.copy.number:
            continue
        later = [f for p in job.proofs[proof.number :] if p.copy == proof.copy for f in p.found]
        left = [
            found
            for found in proof.found
            if found.decision is None
            and found.ref not in still_open
            and not any(_same_place(found, other) for other in later)
        ]
        if left:
            shown = ", ".join(found.shown for found in left[:_SHOWN])
            more = f" and {len(left) - _SHOWN} more" if len(left) > _SHOWN else ""
            words = f"found on the {proof.name}, never decided, and not found again: {shown}{more}"
            facts = facts_of("left-behind", {"refs": [found.ref for found in left]})
            out.append(Reason(f"left-behind:{proof.number}", words, facts))
    return out


def _same_place(found: Found, other: Found) -> bool:
    if "revise" in {found.status, other.status}:
        return (found.status, found.kind) == (other.status, other.kind)
    (start, end), (a, b) = found.copy, other.copy
    return start <= b and a <= end
