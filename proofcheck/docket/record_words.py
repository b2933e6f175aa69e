"""Words for what stands on the record: dates, stages, decisions; shared by all who show it."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from proofcheck.base.decision_words import decided_called, in_full
from proofcheck.base.fault_numbers import shown_number, shown_ref
from proofcheck.base.visible import visible
from proofcheck.docket.against import disputed_words
from proofcheck.docket.clear import order_for, reasons_against
from proofcheck.docket.proved import BY_PERSON, TAKEN_IN, choices_words, how_taken, laxness
from proofcheck.docket.recording import DETAILS
from proofcheck.docket.shapes import entry_misfit
from proofcheck.docket.signoff import WORDS

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from proofcheck.docket.chain import Entry
    from proofcheck.docket.clear import Reason
    from proofcheck.docket.facts import Found, ProofPulled
    from proofcheck.docket.job import Job
    from proofcheck.docket.shop import Shop

__all__ = [
    "WAITED_FOR",
    "clock_time",
    "counted",
    "decision_words",
    "details_of",
    "entry_words",
    "how_read",
    "moment",
    "reason_words",
    "refs_words",
    "to_do",
    "waits_for",
]

WAITED_FOR = ("reader", "customer", "operator", "corrector", "press")
"""Whom a job can wait for."""
_TOGETHER = 4
"""From so many reasons of one sort on, where all is shown, they are named in one line."""


def moment(entry: Entry, shop: Shop) -> str:
    """When an entry was made: the shop's time with its zone, and UTC."""
    local = entry.at.astimezone(shop.clock_zone())
    text = f"{local:%d %b %Y %H:%M} {visible(shop.zone_at(entry.at))}"
    if local.utcoffset():
        text += f" ({entry.at:%H:%M} UTC)"
    return f"{text}, the clock having jumped back" if entry.clock_back else text


def clock_time(entry: Entry, shop: Shop) -> str:
    """When an entry was made, for a table: the shop's time and its offset from UTC."""
    local = entry.at.astimezone(shop.clock_zone())
    offset = f"{local:%z}"
    text = f"{local:%d %b %Y %H:%M} {offset[:3]}:{offset[3:5]}"
    return f"{text}, clock jumped back" if entry.clock_back else text


def details_of(job: Job) -> tuple[tuple[str, str], ...]:
    """What the docket says of a job, in the order of a docket, with what is empty left out."""
    ordered = sorted(job.details.items(), key=lambda held: _detail_order(held[0]))
    return tuple((key, text) for key, text in ordered if text)


def _detail_order(key: str) -> int:
    return DETAILS.index(key) if key in DETAILS else len(DETAILS)


def to_do(found: Found) -> str:
    """What to do about a fault; that a query is one is told beside it."""
    return visible(found.words).removeprefix("query: ")


def refs_words(refs: Iterable[str]) -> str:
    """References in the order of the proofs, as people see them: 1/2, 1/10, 2/1."""
    return ", ".join(shown_ref(visible(ref)) for ref in sorted(refs, key=_ref_order))


def _ref_order(ref: str) -> tuple[object, ...]:
    parts = re.split(r"(\d+)", visible(ref))
    return tuple(int(part) if part.isdecimal() else part for part in parts)


def reason_words(reasons: Sequence[Reason]) -> tuple[str, ...]:
    """Reasons against the press, those of one sort in one line where there are many."""
    sorts: dict[str, list[Reason]] = {}
    for reason in reasons:
        sorts.setdefault(reason.key.partition(":")[0], []).append(reason)
    out: list[str] = []
    for sort, held in sorts.items():
        if len(held) < _TOGETHER or sort not in _SORTS:
            out += [visible(reason.words) for reason in held]
        else:
            refs = refs_words(reason.key.partition(":")[2] for reason in held)
            out.append(f"{len(held)} {_SORTS[sort]}: {refs}")
    return tuple(out)


_SORTS = {
    "undecided": "undecided",
    "disputed": "decided in two ways",
    "query": "queries to the customer open",
    "correction": "corrections not shown made",
    "ok-correction": "corrections asked for with the O.K. not shown made",
}


_DECIDED = {
    "correct": decided_called("correct"),
    "stand": decided_called("stand"),
    "query": "query, open",
    "sound": in_full("sound"),
}


def decision_words(job: Job, found: Found) -> str:
    """What was decided about a fault, by whom, and how it stands."""
    held = found.decision
    if held is None:
        return "undecided" if found.proof == len(job.proofs) else "superseded, never decided"
    words = _DECIDED[held.what]
    words += f" ({visible(held.by)})"
    if found.others:
        return f"in two ways, to be settled: {disputed_words(found)}"
    if held.answer:
        words += f"; {visible(held.answered_by)}: “{visible(held.answer)}”"
    if found.carried_from:
        words += f", as {shown_ref(found.carried_from)}"
    if held.what == "correct" and not found.carried_from:
        words += f"; {job.made.get(found.ref, 'not yet shown made')}"
    return words


def counted(number: int, what: str, many: str = "") -> str:
    """So many of a thing, in words: 1 query, 2 queries."""
    return f"{number} {what if number == 1 else many or what + 's'}"


def waits_for(job: Job) -> tuple[str, str]:
    """Whom a job waits for, and for what."""
    reasons = reasons_against(job)
    order = order_for(job, reasons)
    if job.broken:
        return "reader", "the record is broken; run verify"
    if not reasons:
        return "press", "clear"
    if order is not None:
        return "press", f"by order of {visible(order.by)}"
    return _wanting(job)


def _wanting(job: Job) -> tuple[str, str]:
    if job.copy is None:
        return "customer", "copy"
    if job.proof is None or job.proof.copy != job.copy.number:
        return "operator", "a proof of the copy that holds"
    open_ = (
        ("reader", len(job.undecided), "to decide"),
        ("reader", len(job.disputed), "decided in two ways, to be settled"),
        ("customer", len(job.open_queries), "to answer"),
        ("corrector", len(job.corrections), "to correct and show on a revise"),
    )
    for who, count, what in open_:
        if count:
            return who, f"{count} {what}"
    unproved = sum(bool(reason.facts) for reason in reasons_against(job))
    told = f"{unproved} not proved, to be read or answered for"
    return ("reader", told) if unproved else ("customer", "O.K.")


def entry_words(entry: Entry) -> str:
    """One entry in a line; one that is not as its kind should be, as such."""
    telling = _TOLD.get(entry.kind)
    wrong = entry_misfit(entry.kind, entry.data)
    try:
        if telling and not wrong:
            return telling(entry)
    except (KeyError, IndexError):
        wrong = "a part is missing"
    return f"{visible(entry.kind)}, NOT TO BE READ: {visible(wrong or 'its kind is not known')}"


def how_read(proof: ProofPulled) -> tuple[str, ...]:
    """How a proof was read, a line each."""
    if proof.read is None:
        return ("how it was read is not on the record",)
    how = "report taken in, not read here" if proof.read["how"] == TAKEN_IN else "read"
    person = proof.read["how"] == BY_PERSON
    lines = [how_taken(proof) if person else f"{how}: {choices_words(proof.read)}"]
    lines += [f"not read: {visible(words)}" for words in proof.read["unread"]]
    lines += [f"under: {'; '.join(laxness(proof))}"] if laxness(proof) else []
    lines += [f"of the copy: {visible(note)}" for note in proof.read["notes"]]
    let_go = proof.read["let_go"]
    lines += [f"read otherwise and let go: {counted(let_go, 'place')}"] if let_go else []
    return tuple(lines)


def _details(entry: Entry) -> str:
    held = entry.data["details"]
    told = ", ".join(f"{key} {visible(held[key])}" for key in DETAILS if held.get(key))
    return f"job {entry.kind}{': ' if told else ''}{told}"


def _copy(entry: Entry) -> str:
    changes = len(entry.data["alterations"])
    name = visible(entry.originals[0]["name"])
    return f"copy taken in: {name}" + (f", {counted(changes, 'alteration')}" if changes else "")


def _proof(entry: Entry) -> str:
    found, copy = len(entry.data["found"]), entry.data["copy"]
    return f"proof pulled: {found} found, against copy {copy}"


def _decided(entry: Entry) -> str:
    note = f": {visible(entry.data['note'])}" if entry.data.get("note") else ""
    said = decided_called(entry.data["what"])
    return f"{shown_ref(visible(entry.data['fault']))} decided: {said}{note}"


def _marked(entry: Entry) -> str:
    data = entry.data
    note = f": {visible(data['note'])}" if data.get("note") else ""
    name, words = data["found"]["id"], visible(data["found"]["words"])
    return f"{shown_number(data['proof'], visible(name))} marked by the reader, {words}{note}"


def _answered(entry: Entry) -> str:
    data = entry.data
    said = decided_called(data["what"])
    return f"{shown_ref(visible(data['fault']))} answered, {said}: {visible(data['answer'])}"


def _signed(entry: Entry) -> str:
    data = entry.data
    who = visible(data.get("recorded_by", ""))
    recorded = f", recorded by {who}" if who else ""
    held = data.get("signature")
    known = "" if held is None else f" (certificate {'' if held['known'] else 'not '}known)"
    return f"{WORDS[data['words']]} of proof {data['proof']}, {data['how']}{known}{recorded}"


def _ticked(entry: Entry) -> str:
    data = entry.data
    what = "done" if data["done"] else "not done after all"
    return f"{data['list']} list of proof {data['proof']}, {what}: {visible(data['words'])}"


def _vouched(entry: Entry) -> str:
    data = entry.data
    return f"answered for: {visible(data['reason'])} ({'; '.join(map(visible, data['words']))})"


def _put_back(entry: Entry) -> str:
    lost = counted(len(entry.data["links"]), "link")
    return f"the docket was put back, {lost} no longer holding: {visible(entry.data['reason'])}"


def _overridden(entry: Entry) -> str:
    data = entry.data
    return f"overridden: {visible(data['reason'])} (against: {'; '.join(data['words'])})"


def _imported(entry: Entry) -> str:
    data = entry.data
    first, last = data["entries"]
    return (
        f"job {visible(data['job'])}, entries {first} to {last}, taken in from "
        f"{visible(data['archive'])} (sha256 {visible(data['sha256'])})"
    )


_TOLD = {
    "opened": _details,
    "amended": _details,
    "copy": _copy,
    "proof": _proof,
    "decided": _decided,
    "marked": _marked,
    "answered": _answered,
    "signed": _signed,
    "overridden": _overridden,
    "ticked": _ticked,
    "vouched": _vouched,
    "put-back": _put_back,
    "imported": _imported,
}
