"""Finding what has been changed, removed or put in another order, and saying which."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import sqlalchemy as sa

from proofcheck.docket.canonical import sha256_of
from proofcheck.docket.chain import HOUSE, Entry, body_bytes, entry_of, verify_job
from proofcheck.docket.schema import START, entries, head, link
from proofcheck.docket.troubles import RecordBrokenError
from proofcheck.visible import visible

if TYPE_CHECKING:
    from collections.abc import Iterable

    from proofcheck.docket.book import Docket

__all__ = ["Checked", "job_troubles", "verify"]


@dataclass(frozen=True, slots=True)
class Checked:
    """What going through the record showed."""

    entries: int
    originals: int
    troubles: tuple[str, ...]
    """What is wrong, a line each; empty if the record holds."""
    number: int
    """Number of the last entry, and the last link of the docket's chain: written down (a
    sign-off sheet bears them), they prove later that nothing was taken off the end."""
    book: str


def verify(
    docket: Docket, *, noted: tuple[int, str] | None = None, originals_of: str | None = None
) -> Checked:
    """Go through the whole record and every original.

    Args:
        docket: the record.
        noted: number and link written down earlier, to be held against it.
        originals_of: look only at the originals of this job.
    """
    try:
        rows, end = _everything(docket)
    except RecordBrokenError as error:
        return Checked(0, 0, (str(error),), 0, "")
    troubles: list[str] = []
    chains: dict[str, list[Entry]] = defaultdict(list)
    book, links = START, {}
    for place, row in enumerate(rows, 1):
        book = _check_row(row, place, book, troubles, chains)
        links[row.number] = row.book
    for job, chain in chains.items():
        troubles += verify_job(visible(job), chain)
    troubles += _check_end(end, rows)
    if noted is not None and links.get(noted[0]) != noted[1]:
        troubles.append(f"entry {noted[0]} is not the one whose link was written down")
    sound = {row.sha256 for row in rows}
    originals = _originals_of(
        entry
        for job, chain in chains.items()
        for entry in chain
        # What an entry that was changed says of its originals is worth nothing.
        if originals_of in {None, job} and entry.sha256 in sound
    )
    troubles += _check_originals(docket, originals)
    last = rows[-1] if rows else None
    return Checked(
        len(rows),
        len(originals),
        tuple(dict.fromkeys(troubles)),
        last.number if last else 0,
        last.book if last else START,
    )


def job_troubles(docket: Docket, number: str) -> tuple[str, ...]:
    """What is wrong with the record as far as it bears on one job."""
    checked = verify(docket, originals_of=number)
    if checked.troubles:
        return checked.troubles
    docket.job(number)
    return ()


def _everything(docket: Docket) -> tuple[list[Any], Any]:
    with docket.store.reading() as connection:
        if docket.store.is_file:
            said = connection.exec_driver_sql("PRAGMA quick_check(1)").scalar()
            if said != "ok":
                msg = f"the docket's file is damaged ({said}); go back to a kept copy"
                raise RecordBrokenError(msg)
        rows = connection.execute(sa.select(entries).order_by(entries.c.number)).all()
        return list(rows), connection.execute(sa.select(head)).all()


def _check_row(
    row: Any,  # noqa: ANN401 - a row of the table
    place: int,
    book: str,
    troubles: list[str],
    chains: dict[str, list[Entry]],
) -> str:
    """Check one row; returns the link the next one follows on."""
    named = f"entry {row.number}"
    if row.number != place and (not troubles or "is missing" not in troubles[-1]):
        troubles.append(f"an entry before entry {row.number} is missing (there are {place - 1})")
    body = body_bytes(row.body)
    if sha256_of(body) != row.sha256:
        of = f"job {visible(str(row.job))}" if row.job != HOUSE else "of the docket's own"
        troubles.append(f"{named} ({of}) has been changed")
    try:
        entry = entry_of(body, row.number)
    except ValueError:
        troubles.append(f"{named} can't be read as an entry")
    else:
        if (entry.job, entry.place) != (row.job, row.place):
            troubles.append(f"{named} is filed under another job or place than its own")
        chains[entry.job].append(entry)
    if link(book, row.number, row.sha256) != row.book:
        troubles.append(f"{named} does not follow on the entry before it in the docket")
    return str(row.book)


def _check_end(end: list[Any], rows: list[Any]) -> list[str]:
    if len(end) != 1 or end[0].only != 1:
        return ["the docket's last link is missing"]
    number, book = (rows[-1].number, rows[-1].book) if rows else (0, START)
    if end[0].number > number:
        first = f"entry {number + 1}"
        return [f"{first} and all after it, up to entry {end[0].number}, have been removed"]
    if (end[0].number, end[0].book) != (number, book):
        return [f"the docket's last link is not that of its last entry ({number})"]
    return []


def _originals_of(held: Iterable[Entry]) -> dict[str, str]:
    """Hashes of the originals named, each with a word on what it is."""
    named: dict[str, str] = {}
    for entry in held:
        for original in entry.originals:
            words = f"{visible(original['name'])} of job {visible(entry.job)}"
            named.setdefault(original["sha256"], words)
    return named


def _check_originals(docket: Docket, named: dict[str, str]) -> list[str]:
    out = []
    for sha256, words in named.items():
        trouble = docket.originals.trouble(sha256)
        if trouble:
            out.append(f"the original {words} ({sha256[:12]}…) {trouble}")
    return out
