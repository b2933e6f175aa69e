"""What the machine has cast and the stone has changed, ticked off slug by slug.

A tick says that a hand has done it, no more: that it was done rightly only a revise shows.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.base.visible import visible
from proofcheck.docket.canonical import sha256_of
from proofcheck.docket.chain import Draft, Entry
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.recording import checked_name, known
from proofcheck.results.castlists.hand_rows import HandLists, SlugRow, StoneRow

if TYPE_CHECKING:
    from collections.abc import Mapping

    from proofcheck.docket.book import Docket
    from proofcheck.docket.job import Job

__all__ = ["LISTS", "row_key", "rows_of", "tick", "ticked"]

LISTS = ("machine", "stone")
_SHOWN = 200


def row_key(row: SlugRow | StoneRow) -> str:
    """The name of a row, by all that it says: another plan's row has another."""
    return sha256_of(row.key)


def rows_of(lists: HandLists, which: str) -> tuple[SlugRow | StoneRow, ...]:
    """The rows of one of the `LISTS`."""
    return lists.machine if which == "machine" else lists.stone


def ticked(job: Job, proof: int, which: str) -> Mapping[str, Entry]:
    """What is ticked off on one list of a proof, by the row's key: who did it last."""
    out: dict[str, Entry] = {}
    for entry in job.entries:
        data = entry.data
        if entry.kind == "ticked" and (data["proof"], data["list"]) == (proof, which):
            out[data["key"]] = entry
    return {key: entry for key, entry in out.items() if entry.data["done"]}


def tick(
    docket: Docket,
    number: str,
    proof: int,
    which: str,
    row: SlugRow | StoneRow,
    *,
    done: bool,
    by: str,
) -> Entry | None:
    """Record that a row is done, or not done after all; None where that is on record already.

    Raises:
        DocketError: no such job or proof.
    """
    key = row_key(row)
    if which not in LISTS:
        msg = f"no list {visible(which)!r}; there are: {', '.join(LISTS)}"
        raise DocketError(msg)

    def draft(job: Job | None) -> Draft:
        held = known(job, number)
        if not 1 <= proof <= len(held.proofs):
            msg = f"job {visible(number)} has no proof {proof}"
            raise DocketError(msg)
        words = row.words if isinstance(row, StoneRow) else f"slug {row.number}, {row.words}"
        data = {
            "proof": proof,
            "list": which,
            "key": key,
            "words": visible(words)[:_SHOWN],
            "done": done,
        }
        return Draft("ticked", checked_name(by, "initials"), data)

    job = docket.current(number)
    if job is not None and (key in ticked(job, proof, which)) == done:
        return None
    return docket.record(number, draft)
