"""The docket itself: the one place through which anything is recorded or read back."""

from __future__ import annotations

import json
import os
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from proofcheck.base.visible import visible
from proofcheck.docket.alike import alike_among, refuse_alike
from proofcheck.docket.canonical import canonical
from proofcheck.docket.chain import (
    HOUSE,
    Draft,
    Entry,
    add_entry,
    as_far_as_read,
    entries_after,
    jobs_named,
    jobs_naming,
    last_number,
    put_entry,
    read_entries,
    standing,
    stands,
)
from proofcheck.docket.chain_heads import Heads
from proofcheck.docket.docket_errors import DocketError, RecordBrokenError
from proofcheck.docket.history import job_as_far, job_of, job_with
from proofcheck.docket.originals import Original, Originals
from proofcheck.docket.shapes import entry_misfit
from proofcheck.docket.shop import Shop, load_shop
from proofcheck.docket.store import PATIENCE_S, open_store

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    import sqlalchemy as sa

    from proofcheck.docket.database import Store
    from proofcheck.docket.job import Job

__all__ = ["Docket", "open_docket"]


@dataclass(frozen=True, slots=True)
class Docket:
    """A record of jobs. Make one with `open_docket`."""

    store: Store
    originals: Originals
    shop: Shop
    clock: Callable[[], datetime]
    """Tells the time; swapped in tests."""
    heads: Heads
    """Links of its chain, noted beside it."""
    _seen: dict[str, Job] = field(default_factory=dict, repr=False, compare=False)
    """Jobs as they stood when last recorded on, so that only what came since is read again."""

    def numbers(self) -> tuple[str, ...]:
        """Numbers of all jobs, in the order they were opened."""
        with self.store.reading() as connection:
            return jobs_named(connection)

    def entries(self, job: str | None = None) -> tuple[Entry, ...]:
        """Entries of one job or of all. Raises RecordBrokenError where one was changed."""
        with self.store.reading() as connection:
            return read_entries(connection, job)

    def job(self, number: str) -> Job:
        """All that is recorded of a job.

        Raises:
            DocketError: there is no job of that number.
            RecordBrokenError: an entry is not as it was recorded.
        """
        with self.store.reading() as connection:
            held = read_entries(connection, number) if number != HOUSE else ()
            house = read_entries(connection, HOUSE) if held else ()
        if not held:
            raise DocketError(self._unknown(number))
        return job_of(held, house)

    def current(self, number: str) -> Job | None:
        """A job as it stands, read on from where it was last seen; None if there is none such.

        Quick for who looks again and again; what lies before is trusted as it was read.
        """
        with self.store.reading() as connection:
            return self._caught_up(connection, number)

    def last_number(self) -> int:
        """Number of the last entry; 0 for an empty docket."""
        with self.store.reading() as connection:
            return last_number(connection)

    def anchor(self) -> str:
        """Where its chain stands, in lines to be noted outside it (`checkpoint`).

        "" for an empty docket, and where its end is broken, which is for verify to tell.
        """
        with self.store.reading() as connection, suppress(RecordBrokenError):
            return standing(connection)
        return ""

    def later(self, number: int) -> tuple[Entry, ...]:
        """Entries of all jobs recorded after the docket's entry of that number, in order."""
        with self.store.reading() as connection:
            return entries_after(connection, number)

    def jobs(self) -> tuple[Job, ...]:
        """All jobs, in the order they were opened; one whose record can't be read says so."""
        chains, broken = self.as_far_as_read()
        house = chains.get(HOUSE, [])
        return tuple(
            job_as_far(chain, broken.get(number, ""), house)
            for number, chain in chains.items()
            if number != HOUSE and (chain or number in broken)
        )

    def as_far_as_read(self) -> tuple[dict[str, list[Entry]], dict[str, str]]:
        """All entries that can be read, by job, and of jobs with others what is wrong."""
        with self.store.reading() as connection:
            return as_far_as_read(connection)

    def jobs_naming(self, hashes: Sequence[str]) -> tuple[Job, ...]:
        """The jobs on whose record one of these hashes stands."""
        with self.store.reading() as connection:
            numbers = jobs_naming(connection, hashes)
            chains = [read_entries(connection, number) for number in numbers if number != HOUSE]
        return tuple(job_of(chain) for chain in chains)

    def imports(self, number: str) -> tuple[Entry, ...]:
        """The docket's own entries on what of a job was taken in from archives."""
        return tuple(e for e in self.entries(HOUSE) if e.data.get("job") == number)

    def record(
        self,
        number: str,
        drafting: Callable[[Job | None], Draft],
        originals: Sequence[Original] = (),
        *,
        confirmed: bool = False,
    ) -> Entry:
        """Record one thing about a job; when this returns, it is on disk.

        Args:
            number: the job's.
            drafting: makes the draft from the job as it stands (None if there is no such job
                yet), with nobody else recording meanwhile; what it raises stops the recording.
            originals: what belongs to it; safely stored before the entry that names it.
            confirmed: a new job may have a number that looks like another's.

        Raises:
            DocketBusyError: others were recording all the while; try again.
            DocketError, OutputError: it can't be written.
        """
        with self.store.reading() as connection:
            # Most of the reading is done before anybody is kept waiting; and what is refused
            # leaves no originals behind that no entry names.
            drafting(self._caught_up(connection, number))
        references = self.originals.keep(originals)
        with self.store.writing() as connection:
            job = self._caught_up(connection, number)
            draft = drafting(job)
            if job is None and not confirmed:
                refuse_alike(number, jobs_named(connection))
            draft = Draft(draft.kind, draft.by, draft.data, [*draft.originals, *references])
            entry = self._added(connection, number, draft)
        self._note([entry])
        return entry

    def _added(self, connection: sa.Connection, number: str, draft: Draft) -> Entry:
        # As it will be read back: pairs are lists there.
        wrong = entry_misfit(draft.kind, json.loads(canonical(draft.data)))
        if wrong:
            msg = f"nothing was recorded for job {visible(number)}: {wrong}"
            raise DocketError(msg)
        now = self.clock().astimezone(UTC)
        return add_entry(connection, number, draft, now, self.shop.zone_at(now))

    def _note(self, added: Sequence[Entry]) -> None:
        """Note the links of entries just recorded in the list beside the docket."""
        for entry in added:
            self.heads.note(entry.number, entry.link)

    def _caught_up(self, connection: sa.Connection, number: str) -> Job | None:
        """The job as it stands, read on from where it was last seen."""
        job = self._seen.get(number)
        if job is not None and stands(connection, job.entries[-1]):
            job = job_with(job, read_entries(connection, number, after=job.entries[-1].place))
        else:
            held = read_entries(connection, number)
            job = job_of(held) if held else None
        if job is None:
            self._seen.pop(number, None)
        else:
            self._seen[number] = job
        return job

    def take_in(
        self,
        chain: Sequence[Entry],
        drafting: Callable[[tuple[Entry, ...]], tuple[int, Draft]],
        *,
        confirmed: bool = False,
    ) -> Entry | None:
        """Add entries made elsewhere and one of the docket's own that says so, all or none.

        Args:
            chain: the job's whole chain.
            drafting: given the job's entries here, says how many of the chain are here already,
                and drafts the docket's own entry; raises where the two are at odds.
            confirmed: it may have a number that looks like another job's here.

        Returns:
            The docket's own entry; None where nothing was new, and nothing was recorded.
        """
        with self.store.writing() as connection:
            number = chain[0].job
            before = read_entries(connection, number)
            here, draft = drafting(before)
            if here == len(chain):
                return None
            if not before and not confirmed:
                refuse_alike(number, jobs_named(connection))
            added = [put_entry(connection, entry) for entry in chain[here:]]
            added.append(self._added(connection, HOUSE, draft))
        self._note(added)
        return added[-1]

    def _unknown(self, number: str) -> str:
        known = self.numbers()
        tail = f"; the last opened is {visible(known[-1])}" if known else ""
        alike = alike_among(number, known)
        tail = f"; it looks like job {visible(alike[0])}" if alike else tail
        return f"there is no job {visible(number)} in the docket {self.store.place}{tail}"


def open_docket(
    place: str | Path,
    *,
    create: bool = False,
    originals: Path | None = None,
    patience_s: float = PATIENCE_S,
    clock: Callable[[], datetime] | None = None,
) -> Docket:
    """Open the docket at a path, or at the address of a database.

    Args:
        place: path of the docket's file, or an address SQLAlchemy understands.
        create: begin one where there is none.
        originals: folder of the originals; for a file the folder beside it of the same name
            with `-originals`. A database elsewhere needs one named.
        patience_s: how long to wait for others who are recording.
        clock: tells the time.

    Raises:
        DocketError: as for `store.open_store`.
        SettingError: the shop's settings beside the docket can't be used.
    """
    address = os.fspath(place)
    file = Path(address)
    if originals is None and "://" in address:
        msg = "a docket in a database elsewhere needs a folder for its originals; name one"
        raise DocketError(msg)
    if not file.name:
        msg = (
            f"{visible(address) or 'nothing'} is no file for a docket; name one, such as docket.db"
        )
        raise DocketError(msg)
    folder = originals or file.with_name(f"{file.stem}-originals")
    shop = Shop() if "://" in address else load_shop(file.with_suffix(".toml"))
    store = open_store(address, create=create, patience_s=patience_s)
    name = store.engine.url.database if "://" in address else file.name
    heads = Heads(folder / f"{Path(name or 'docket').stem}.heads")
    return Docket(store, Originals(folder), shop, clock or _now, heads)


def _now() -> datetime:
    return datetime.now(UTC)
