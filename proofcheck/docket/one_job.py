"""The record of one job, checked: soon where the snapshot is borne out, else by all of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.docket.quick import told_quickly
from proofcheck.docket.verify import Checked, Gone, check_originals, go_through

if TYPE_CHECKING:
    from proofcheck.docket.book import Docket
    from proofcheck.docket.checkpoint import Anchor

__all__ = ["checked_job"]


def checked_job(docket: Docket, number: str, noted: Anchor | tuple[int, str] | None = None) -> Gone:
    """The record gone through as far as one job rests on it.

    Args:
        docket: the record.
        number: the job's.
        noted: number and link of the docket's chain written down earlier; with one, the whole
            record is gone through.
    """
    told = told_quickly(docket, number) if noted is None else None
    if told is not None and told.chains.get(number):
        originals, troubles = check_originals(docket, [told.chains[number]])
        if not troubles:
            checked = Checked(told.number, originals, (), told.number, told.book)
            return Gone(checked, told.chains, told.unnamed)
    # What is wrong, wherever it is, is told by going through all of it.
    return go_through(docket, noted=noted, originals_of=number)
