"""Where the docket's chain stands, in three lines to be noted outside it: an anchor.

    docket-5f1d0c2a9be84e77
    1042
    vX0Hq1Jc…=

The first says which docket it is, by its first entry; the second how many entries it has; the third
is its last link in base 64 (RFC 4648). Whoever puts an older copy back, swaps the docket, splices
foreign entries in or works the whole chain out anew can't make a docket that bears it out.

In its order of lines it follows the custom of logs that are made public; it claims to keep to no
specification of theirs.
"""

from __future__ import annotations

import base64
import binascii
import re
from typing import TYPE_CHECKING, NamedTuple

from proofcheck.base.visible import visible
from proofcheck.docket.docket_errors import DocketError

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["Anchor", "anchor_of", "anchor_text", "anchor_troubles", "origin_of"]

_ORIGIN = re.compile(r"docket-[0-9a-f]{16}")
_BYTES = 32
_WHERE = "by what was noted outside"


class Anchor(NamedTuple):
    """What was noted."""

    number: int
    link: str
    """In hexadecimal."""
    origin: str = ""
    """"" where it was noted as number and link alone."""


def origin_of(first: str) -> str:
    """Which docket it is, by the hash of its first entry."""
    return f"docket-{first[:16]}"


def anchor_text(origin: str, number: int, link: str) -> str:
    """The three lines."""
    root = base64.b64encode(bytes.fromhex(link)).decode("ascii")
    return f"{origin}\n{number}\n{root}\n"


def anchor_of(text: str) -> Anchor | None:
    """What a person hands in: the three lines (or on one line), or NUMBER:LINK; None for "".

    Raises:
        DocketError: it is neither.
    """
    words = text.split()
    if not words:
        return None
    if len(words) == 1:
        number, _, link = words[0].partition(":")
        if number.isascii() and number.isdigit() and len(number) < 16 and link:
            return Anchor(int(number), link)
    if len(words) == 3 and _ORIGIN.fullmatch(words[0]):
        number, root = words[1], _bytes(words[2])
        if number.isascii() and number.isdigit() and len(number) < 16 and len(root) == _BYTES:
            return Anchor(int(number), root.hex(), words[0])
    msg = (
        f"no link {visible(text.strip())[:60]!r}; it is written NUMBER:LINK, as verify shows it, "
        "or as the three lines of a sign-off sheet, or it is a file with them"
    )
    raise DocketError(msg)


def _bytes(text: str) -> bytes:
    try:
        return base64.b64decode(text, validate=True)
    except (binascii.Error, ValueError):
        return b""


def anchor_troubles(anchor: Anchor, links: Mapping[int, str], origin: str) -> list[str]:
    """What an anchor says against the record as it stands, a line each; empty if it bears it out.

    Args:
        anchor: what was noted.
        links: of the record as it stands, by number of the entry.
        origin: of the record as it stands; "" for an empty one.
    """
    if links.get(anchor.number) == anchor.link:
        return []
    last = max(links, default=0)
    named = f"entry {anchor.number} is not the one whose link was written down"
    if anchor.origin and anchor.origin != origin:
        told = (
            f"this is another docket ({origin or 'an empty one'}) than the one noted "
            f"({anchor.origin}): it was swapped, or begun and worked out anew"
        )
        return [f"{named}: {told} ({_WHERE})"]
    if anchor.number > last:
        told = f"the docket went on to entry {anchor.number} and ends at {last}: an older copy"
        return [f"{named}: {told} was put back, or its end taken off ({_WHERE})"]
    told = "its entries were worked out anew, or others spliced in among them"
    return [f"{named}: {told} ({_WHERE})"]
