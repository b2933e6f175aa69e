"""Saying that an older copy of the docket was put back on purpose."""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.base.visible import visible
from proofcheck.docket.chain import HOUSE, Draft, Entry
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.recording import checked_name
from proofcheck.docket.verify import links_of

if TYPE_CHECKING:
    from proofcheck.docket.book import Docket

__all__ = ["record_put_back"]


def record_put_back(docket: Docket, *, by: str, reason: str) -> Entry:
    """Record on the docket's own chain that it was put back, with every link that was lost.

    Verify then takes those links, and no others, for settled; that they were lost stays on record.

    Raises:
        DocketError: the list of links beside the docket bears it out whole, so that nothing was
            put back; no initials or reason.
    """
    initials = checked_name(by, "initials")
    if not reason.strip():
        msg = "putting the docket back needs a reason; it stands in the record"
        raise DocketError(msg)
    listed = docket.heads.read()
    links, settled = links_of(docket)
    lost = [held for held in listed.against(links) if held not in settled]
    if not lost:
        msg = "the list of links beside the docket is borne out; nothing was put back"
        raise DocketError(msg)
    data = {"reason": visible(reason), "links": [list(held) for held in dict.fromkeys(lost)]}
    return docket.record(HOUSE, lambda _: Draft("put-back", initials, data), confirmed=True)
