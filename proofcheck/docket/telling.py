"""Words for what stands on the record: dates, stages, decisions; shared by all who show it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.docket.clear import reasons_against
from proofcheck.docket.signoff import WORDS
from proofcheck.visible import visible

if TYPE_CHECKING:
    from proofcheck.docket.chain import Entry
    from proofcheck.docket.job import Found, Job
    from proofcheck.docket.shop import Shop

__all__ = ["decision_words", "entry_words", "moment", "waits_for"]


def moment(entry: Entry, shop: Shop) -> str:
    """When an entry was made: the shop's time with its zone, and UTC."""
    local = entry.at.astimezone(shop.clock_zone())
    text = f"{local:%d %b %Y %H:%M} {visible(shop.zone_at(entry.at))} ({entry.at:%H:%M} UTC)"
    return f"{text}, the clock having jumped back" if entry.clock_back else text


def decision_words(job: Job, found: Found) -> str:
    """What was decided about a fault, by whom, and how it stands."""
    held = found.decision
    if held is None:
        return "undecided" if found.proof == len(job.proofs) else "superseded, never decided"
    words = {"correct": "correct", "stand": "let it stand", "query": "query, open"}[held.what]
    words += f" ({visible(held.by)})"
    if held.answer:
        words += f"; {visible(held.answered_by)}: “{visible(held.answer)}”"
    if found.carried_from:
        words += f", as {found.carried_from}"
    if held.what == "correct" and not found.carried_from:
        words += f"; {job.made.get(found.ref, 'not yet shown made')}"
    return words


def waits_for(job: Job) -> tuple[str, str]:
    """Whom a job waits for, and for what."""
    if job.copy is None:
        return "customer", "copy"
    if job.proof is None or job.proof.copy != job.copy.number:
        return "operator", "a proof of the copy that holds"
    if job.undecided:
        return "reader", f"{len(job.undecided)} to decide"
    if job.open_queries:
        return "customer", f"{len(job.open_queries)} to answer"
    if job.corrections:
        return "corrector", f"{len(job.corrections)} to correct and show on a revise"
    return ("customer", "O.K.") if reasons_against(job) else ("press", "clear")


def entry_words(entry: Entry) -> str:
    """One entry in a line."""
    telling = _TOLD.get(entry.kind)
    return telling(entry) if telling else visible(entry.kind)


def _details(entry: Entry) -> str:
    told = ", ".join(f"{key} {visible(text)}" for key, text in entry.data["details"].items())
    return f"job {entry.kind}{': ' if told else ''}{told}"


def _copy(entry: Entry) -> str:
    changes = len(entry.data["alterations"])
    name = visible(entry.originals[0]["name"])
    return f"copy taken in: {name}" + (f", {changes} alterations" if changes else "")


def _proof(entry: Entry) -> str:
    found, copy = len(entry.data["found"]), entry.data["copy"]
    return f"proof pulled: {found} found, against copy {copy}"


def _decided(entry: Entry) -> str:
    note = f": {visible(entry.data['note'])}" if entry.data.get("note") else ""
    return f"{entry.data['fault']} decided: {entry.data['what']}{note}"


def _answered(entry: Entry) -> str:
    data = entry.data
    return f"{data['fault']} answered, {data['what']}: {visible(data['answer'])}"


def _signed(entry: Entry) -> str:
    data = entry.data
    return f"{WORDS[data['words']]} of proof {data['proof']}, {data['how']}"


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
    "answered": _answered,
    "signed": _signed,
    "overridden": _overridden,
    "imported": _imported,
}
