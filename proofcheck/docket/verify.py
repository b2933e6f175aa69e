"""Finding what has been changed, removed or put in another order, and saying which."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, NamedTuple

import sqlalchemy as sa

from proofcheck.base.visible import visible
from proofcheck.docket.agreeing import at_odds
from proofcheck.docket.canonical import sha256_of
from proofcheck.docket.chain import HOUSE, Entry, entry_of, verify_job
from proofcheck.docket.checkpoint import Anchor, anchor_text, anchor_troubles, origin_of
from proofcheck.docket.docket_errors import RecordBrokenError
from proofcheck.docket.filecheck import file_troubles
from proofcheck.docket.quick import keep_snapshot
from proofcheck.docket.schema import START, VERSION, about, entries, head, link
from proofcheck.docket.shapes import entry_misfit

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from proofcheck.docket.book import Docket

__all__ = ["Checked", "Gone", "check_originals", "go_through", "links_of", "verify"]


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
    notes: tuple[str, ...] = ()
    """What is not wrong of itself, but to be known."""
    origin: str = ""
    """Which docket it is (`checkpoint.origin_of`); "" for an empty one."""

    @property
    def anchor(self) -> str:
        """Where its chain stands, in lines to be noted outside it; "" for an empty one."""
        return anchor_text(self.origin, self.number, self.book) if self.origin else ""


@dataclass(frozen=True, slots=True)
class Gone:
    """The record as it was gone through: read whole, row by row, through no index."""

    checked: Checked
    chains: dict[str, list[Entry]] = field(default_factory=dict)
    """Entries by job (`HOUSE` for the docket's own), in their order; to be trusted only where
    there are no troubles."""
    unnamed: tuple[str, ...] | None = None
    """Hashes of originals lying there that no entry names, where that was looked at."""


class _Row(NamedTuple):
    number: Any
    job: Any
    place: Any
    body: Any
    sha256: Any
    book: Any


_ROW_KINDS = (int, str, int, bytes, str, str)


def verify(
    docket: Docket,
    *,
    noted: Anchor | tuple[int, str] | None = None,
    originals_of: str | None = None,
    tell: Callable[[str], None] = lambda _: None,
) -> Checked:
    """Go through the whole record and every original.

    Args:
        docket: the record.
        noted: number and link written down earlier, to be held against it.
        originals_of: look only at the originals of this job.
        tell: called with a few words on how far it is.
    """
    return go_through(docket, noted=noted, originals_of=originals_of, tell=tell).checked


def go_through(
    docket: Docket,
    *,
    noted: Anchor | tuple[int, str] | None = None,
    originals_of: str | None = None,
    tell: Callable[[str], None] = lambda _: None,
) -> Gone:
    """Go through the record as `verify` does, and give back what was read of it on the way."""
    listed = docket.heads.read()
    try:
        troubles, rows, end = _everything(docket)
    except RecordBrokenError as error:
        return Gone(Checked(0, 0, (str(error),), 0, ""))
    chains: dict[str, list[Entry]] = defaultdict(list)
    book, links = START, {}
    for place, row in enumerate(rows, 1):
        if place % _STEP == 0:
            tell(f"entry {place} of {len(rows)}")
        book = _check_row(row, place, book, troubles, chains)
        links[row.number] = row.book
    for job, chain in chains.items():
        troubles += verify_job(visible(job), chain)
    troubles += _check_end(end, rows)
    origin = origin_of(rows[0].sha256) if rows else ""
    if noted is not None:
        troubles += anchor_troubles(Anchor(*noted), links, origin)
    troubles += listed.troubles(links, _settled(chains[HOUSE]))
    held = (chain for job, chain in chains.items() if originals_of in {None, job})
    originals, missed = check_originals(docket, _sound(held, rows), tell)
    checked = Checked(
        len(rows),
        originals,
        tuple(dict.fromkeys((*troubles, *missed))),
        rows[-1].number if rows else 0,
        str(rows[-1].book) if rows else START,
        () if docket.heads.there or not rows else (_NO_LIST,),
        origin,
    )
    if not checked.troubles:
        keep_snapshot(docket, chains, (checked.number, checked.book), listed.size)
    return Gone(checked, dict(chains))


def _sound(chains: Iterable[list[Entry]], rows: Iterable[_Row]) -> list[list[Entry]]:
    """Entries as recorded: what one that was changed says of its originals is worth nothing."""
    sound = {row.sha256 for row in rows}
    return [[entry for entry in chain if entry.sha256 in sound] for chain in chains]


def check_originals(
    docket: Docket,
    chains: Iterable[Sequence[Entry]],
    tell: Callable[[str], None] = lambda _: None,
) -> tuple[int, list[str]]:
    """How many originals these entries of jobs name, and what is wrong with them, a line each.

    Only where none is missing or changed are the entries held against the reports they name.
    """
    held = list(chains)
    named = _originals_of(entry for chain in held for entry in chain)
    out = []
    for place, (sha256, words) in enumerate(named.items(), 1):
        if place % _STEP == 0:
            tell(f"original {place} of {len(named)}")
        trouble = docket.originals.trouble(sha256)
        if trouble:
            out.append(f"the original {words} ({sha256[:12]}…) {trouble}")
    return len(named), out or [words for chain in held for words in at_odds(docket, chain)]


_STEP = 1000
"""Entries or originals from word to word on how far it is."""
_NO_LIST = "no list of links lies with the originals yet; it is begun with the next entry"


def links_of(docket: Docket) -> tuple[dict[int, str], set[tuple[int, str]]]:
    """Links of the record as it stands, by number; and lines of the list that are settled."""
    _, rows, _ = _everything(docket)
    return {row.number: row.book for row in rows}, _settled(docket.entries(HOUSE))


def _everything(docket: Docket) -> tuple[list[str], list[_Row], list[Any]]:
    """Troubles of the file, and all rows at one moment, in their order, read through no index."""
    with docket.store.reading() as connection:
        troubles: list[str] = []
        if docket.store.is_file:
            query = "SELECT number, job, place, body, sha256, book FROM docket_entries NOT INDEXED"
            found = connection.exec_driver_sql(f"{query} ORDER BY number").all()
            troubles = file_troubles(connection, found)
        else:
            found = connection.execute(sa.select(entries).order_by(entries.c.number)).all()
        if troubles and "damaged" in troubles[0]:
            raise RecordBrokenError(troubles[0])
        told = connection.execute(sa.select(about.c.name, about.c.value)).all()
        if [tuple(row) for row in told] != [("version", str(VERSION))]:
            troubles.append("what the docket says of itself has been changed")
        end = list(connection.execute(sa.select(head)).all())
    return troubles, [_Row(*_as_bytes(row)) for row in found], end


def _as_bytes(row: Any) -> tuple[Any, ...]:  # noqa: ANN401 - a row of the table
    number, job, place, body, *rest = row
    return number, job, place, bytes(body) if isinstance(body, memoryview) else body, *rest


def _check_row(
    row: _Row,
    place: int,
    book: str,
    troubles: list[str],
    chains: dict[str, list[Entry]],
) -> str:
    """Check one row; returns the link the next one follows on."""
    named = f"entry {row.number}"
    if row.number != place and (not troubles or "is missing" not in troubles[-1]):
        troubles.append(f"an entry before entry {row.number} is missing (there are {place - 1})")
    if any(type(held) is not kind for held, kind in zip(row, _ROW_KINDS, strict=True)):
        troubles.append(f"{named} is not stored as it was recorded")
    body = row.body.encode("utf-8", "surrogateescape") if isinstance(row.body, str) else row.body
    body = body if isinstance(body, bytes) else b""
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
    if link(book, row.number, str(row.sha256)) != row.book:
        troubles.append(f"{named} does not follow on the entry before it in the docket")
    return str(row.book)


def _check_end(end: list[Any], rows: list[_Row]) -> list[str]:
    if len(end) != 1 or end[0].only != 1:
        return ["the docket's last link is missing"]
    number, book = (rows[-1].number, rows[-1].book) if rows else (0, START)
    if end[0].number > number:
        first = f"entry {number + 1}"
        return [f"{first} and all after it, up to entry {end[0].number}, have been removed"]
    if (end[0].number, end[0].book) != (number, book):
        return [f"the docket's last link is not that of its last entry ({number})"]
    return []


def _settled(house: Iterable[Entry]) -> set[tuple[int, str]]:
    """Lines of the list of links that a person answered for when the docket was put back."""
    return {
        (int(number), str(book))
        for entry in house
        if entry.kind == "put-back" and not entry_misfit(entry.kind, entry.data)
        for number, book in entry.data["links"]
    }


def _originals_of(held: Iterable[Entry]) -> dict[str, str]:
    """Hashes of the originals named, each with a word on what it is."""
    named: dict[str, str] = {}
    for entry in held:
        for original in entry.originals:
            words = f"{visible(original['name'])} of job {visible(entry.job)}"
            named.setdefault(original["sha256"], words)
    return named
