"""The docket on a terminal: a job's history, all jobs, a day's work."""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.base.visible import visible
from proofcheck.docket.clear import reasons_against
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.proved import how_taken
from proofcheck.docket.record_words import (
    WAITED_FOR,
    decision_words,
    details_of,
    entry_words,
    how_read,
    moment,
    reason_words,
    refs_words,
    to_do,
    waits_for,
)
from proofcheck.docket.signoff import WORDS, how_signed
from proofcheck.results.line_names import PLAIN

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable, Mapping, Sequence

    from proofcheck.docket.archive import Imported
    from proofcheck.docket.chain import Entry
    from proofcheck.docket.clear import Clearance
    from proofcheck.docket.facts import ProofPulled
    from proofcheck.docket.job import Job
    from proofcheck.docket.shop import Shop
    from proofcheck.docket.vouching import Reason
    from proofcheck.results.line_names import LineNames

__all__ = [
    "clearance_text",
    "day_text",
    "imported_text",
    "job_text",
    "list_text",
    "reason_line",
    "table",
    "vouching_text",
]


def job_text(
    job: Job,
    shop: Shop,
    taken_in: Iterable[Entry] = (),
    *,
    anchor: str = "",
    names: Mapping[int, LineNames] | None = None,
) -> str:
    """A job's history, to be read from the top.

    Args:
        job: the job.
        shop: the shop's choices.
        taken_in: the docket's entries on what of it came from archives (`Docket.imports`).
        anchor: where the docket's chain stands (`Docket.anchor`).
        names: of the lines of each proof, by its number (`named_lines`).
    """
    lines = [f"Job {visible(job.number)}", ""]
    lines += [f"  RECORD BROKEN: {visible(job.broken)}"] if job.broken else []
    lines += [f"  {key:<10}{visible(value)}" for key, value in details_of(job)]
    lines += _copies(job, shop)
    for proof in job.proofs:
        lines += ["", *_proof(job, proof, shop, (names or {}).get(proof.number, PLAIN))]
    lines += _signed(job, shop)
    for held in job.vouched:
        lines += ["", f"Answered for: {visible(held.by)}, {moment(held.entry, shop)}"]
        lines.append(f"  {visible(held.reason)}; in spite of:")
        lines += [f"    {visible(words)}" for words in held.words]
    for order in job.overrides:
        lines += ["", f"OVERRIDE: {visible(order.by)}, {moment(order.entry, shop)}"]
        lines.append(f"  {visible(order.reason)}; in spite of:")
        lines += [f"    {visible(words)}" for words in order.words]
    for entry in taken_in:
        lines += ["", f"{entry_words(entry)}", f"  {moment(entry, shop)}, {visible(entry.by)}"]
    reasons = reasons_against(job)
    lines += ["", "On the record clear for press: " + ("no" if reasons else "yes")]
    lines += [f"  {words}" for words in reason_words(reasons)]
    who, what = waits_for(job)
    lines.append(f"Waits for the {who}: {what}")
    if anchor:
        lines += ["", "The record stands at:", *(f"  {line}" for line in anchor.splitlines())]
    return "\n".join(lines) + "\n"


def _signed(job: Job, shop: Shop) -> list[str]:
    lines: list[str] = []
    for word in job.signoffs:
        named = job.proofs[word.proof - 1].name
        lines += [
            "",
            f"{WORDS[word.words]}: {visible(word.by)}, {how_signed(word)}, of the {named}",
        ]
        lines[-1] += f"; recorded by {visible(word.recorded_by)}" if word.recorded_by else ""
        taken = how_taken(job.proofs[word.proof - 1])
        lines += [f"  that proof was not read here: {taken}"] if taken else []
        lines.append(f"  {moment(word.entry, shop)}")
        lines += [f"  to correct: {refs_words(word.corrections)}"] if word.corrections else []
        lines += [f"  {visible(word.note)}"] if word.note else []
    return lines


def _copies(job: Job, shop: Shop) -> list[str]:
    lines: list[str] = []
    for copy in job.copies:
        lines += ["", f"Copy {copy.number}: {visible(copy.name)}", f"  sha256    {copy.sha256}"]
        lines.append(f"  taken in  {moment(copy.entry, shop)}, {visible(copy.by)}")
        lines += [
            f"  AA        “{visible(c['was'])}” now “{visible(c['now'])}”"
            + (f", {_slugs(c['slugs'])}" if c["slugs"] else "")
            for c in copy.alterations
        ]
    return lines


def _slugs(numbers: Sequence[int]) -> str:
    return f"slug{'s' if len(numbers) > 1 else ''} {', '.join(map(str, numbers))}"


def _proof(job: Job, proof: ProofPulled, shop: Shop, names: LineNames) -> list[str]:
    latest = proof is job.proofs[-1]
    name = proof.name[0].upper() + proof.name[1:]
    lines = [f"{name}{'' if latest else ', SUPERSEDED'}: read against copy {proof.copy}"]
    people = ", ".join(f"{what} {visible(who)}" for what, who in proof.people.items())
    lines.append(f"  {moment(proof.entry, shop)}{', ' if people else ''}{people}")
    lines += [f"  {words}" for words in how_read(proof)]
    lines += [f"  scan      {sha256}" for sha256 in proof.hashes]
    rows = [
        (f.shown, f"line {names.name(f.line)}", f.status, f.charged, names.words(to_do(f)),
         decision_words(job, f))
        for f in proof.found
    ]  # fmt: skip
    return lines + ["  " + line for line in table(rows)]


def list_text(jobs: Iterable[Job], *, waiting: str = "") -> str:
    """All jobs, a line each; `waiting` leaves those that wait for him alone.

    Raises DocketError where nobody of that name is waited for.
    """
    if waiting not in {"", *WAITED_FOR}:
        msg = f"nobody waits for {visible(waiting)!r}; name one of: {', '.join(WAITED_FOR)}"
        raise DocketError(msg)
    rows: list[tuple[str, ...]] = [("job", "customer", "wanted", "proof", "waits for", "")]
    for job in jobs:
        who, what = waits_for(job)
        if waiting in {"", who}:
            proof = job.proof.name if job.proof else "none"
            details = (visible(job.details.get(key, "")) for key in ("customer", "wanted"))
            rows.append((visible(job.number), *details, proof, who, what))
    return "\n".join(table(rows)) + "\n"


def day_text(entries: Iterable[Entry], day: dt.date, shop: Shop) -> str:
    """What was recorded on a day by the shop's clock."""
    zone = shop.clock_zone()
    rows = [
        (
            f"{e.at.astimezone(zone):%H:%M}",
            visible(e.job) or "docket",
            visible(e.by),
            entry_words(e),
        )
        for e in entries
        if e.at.astimezone(zone).date() == day
    ]
    head = f"{day:%d %b %Y}, {shop.zone or 'local time'}"
    return "\n".join([head, *(table(rows) or ["nothing recorded"])]) + "\n"


def imported_text(taken: Imported, shop: Shop) -> str:
    """What taking a job in came to, in a line."""
    job, last = visible(taken.job), taken.before[-1] if taken.before else None
    if taken.entry is not None:
        return f"{taken.new} of {taken.entries} entries new: {entry_words(taken.entry)}"
    came = (
        f"last taken in from {visible(last.data['archive'])} by {visible(last.by)}, "
        f"{moment(last, shop)}"
        if last
        else "made here"
    )
    return (
        f"nothing new: all {taken.entries} entries of job {job} in the archive are on record "
        f"here already ({came}); nothing was recorded"
    )


def clearance_text(answer: Clearance) -> str:
    """The answer for press, with every reason."""
    said = "yes" if answer.clear else "no"
    lines = [f"Clear for press, job {visible(answer.job)}: {said}"]
    if answer.overridden is not None:
        order = answer.overridden
        lines.append(f"  by order of {visible(order.by)}: {visible(order.reason)}; in spite of:")
    deep = "    " if answer.overridden is not None else "  "
    lines += [f"{deep}{reason_line(reason)}" for reason in answer.reasons]
    if answer.signoff is not None:
        word = answer.signoff
        lines.append(f"  {WORDS[word.words]} of {visible(word.by)}, {how_signed(word)}")
    for held in answer.vouched:
        told = "; ".join(map(visible, held.words))
        lines.append(f"  {visible(held.by)} answers for: {told} ({visible(held.reason)})")
    if answer.checked is not None and answer.checked.book:
        lines.append(f"Record: {answer.checked.number}:{answer.checked.book}")
    return "\n".join(lines) + "\n"


def vouching_text(number: str, reasons: Sequence[Reason]) -> str:
    """What a person can answer for in a job, a line each."""
    head = f"Job {visible(number)}: "
    if not reasons:
        return f"{head}nothing that a person could answer for\n"
    lines = [f"{head}to be answered for, by the name in brackets:"]
    return "\n".join([*lines, *(f"  {reason_line(reason)}" for reason in reasons)]) + "\n"


def reason_line(reason: Reason) -> str:
    """A reason, with the name a person can answer for it by where there is one."""
    return visible(reason.words) + (f" [{reason.key}]" if reason.facts else "")


def table(rows: Sequence[Sequence[str]]) -> list[str]:
    """Rows with their columns lined up."""
    if not rows:
        return []
    widths = [max(len(row[k]) for row in rows) for k in range(len(rows[0]))]
    return [
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in rows
    ]
