"""The links of the docket's chain, noted beside it as they come to be.

Whoever puts an older copy of the docket's file back, swaps it for another, or works its chain out
anew leaves this list at odds with it; so does a log of the file's that was lost. It lies with the
originals, a line an entry: `NUMBER:LINK`. Whoever changes the list as well is found only by a
link that was noted elsewhere: on a sign-off sheet, in a book, with the customer.
"""

from __future__ import annotations

import os
import re
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING

from proofcheck.base.visible import visible
from proofcheck.docket.docket_errors import DocketError

if TYPE_CHECKING:
    from collections.abc import Collection, Mapping
    from pathlib import Path

__all__ = ["Heads", "Noted"]

_LINE = re.compile(rb"([1-9][0-9]{0,17}):([0-9a-f]{64})")


@dataclass(frozen=True, slots=True)
class Heads:
    """The list of links beside a docket."""

    path: Path

    def note(self, number: int, link: str) -> None:
        """Note the link of an entry that is on record.

        What can't be noted is left out: the entry itself is on disk, and any later line vouches
        for it too.
        """
        with suppress(OSError):
            self.path.parent.mkdir(parents=True, exist_ok=True)
            handle = os.open(self.path, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o666)
            try:
                # In one piece, so that two who record at once do not write into one another; on
                # a line of its own, whatever a stop may have left of the one before.
                os.write(handle, f"\n{number}:{link}\n".encode("ascii"))
                os.fsync(handle)
            finally:
                os.close(handle)

    @property
    def there(self) -> bool:
        """Whether there is a list."""
        return self.path.exists()

    def read(self, start: int = 0) -> Noted:
        """What the list says now, from that byte on.

        It is to be read before the record it is held against: whoever records meanwhile notes his
        link only when the entry is there. Raises DocketError where it can't be read.
        """
        try:
            with self.path.open("rb") as file:
                file.seek(start)
                held = file.read()
                size = file.seek(0, os.SEEK_END)
        except FileNotFoundError:
            held, size = b"", 0
        except OSError as error:
            msg = f"the list of links {visible(str(self.path))} can't be read ({error.strerror})"
            raise DocketError(msg) from error
        lines, torn = [], []
        for line in held.split(b"\n"):
            found = _LINE.fullmatch(line)
            if found:
                lines.append((int(found[1]), found[2].decode("ascii")))
            elif line:
                torn.append(line)
        return Noted(tuple(lines), tuple(torn), size)


@dataclass(frozen=True, slots=True)
class Noted:
    """What a list of links says."""

    lines: tuple[tuple[int, str], ...]
    """Number and link of each entry noted, in order."""
    torn: tuple[bytes, ...]
    """What is no line: broken off by a stop, or changed."""
    size: int = 0
    """Bytes of the list as it was read."""

    def troubles(
        self, links: Mapping[int, str], settled: Collection[tuple[int, str]] = ()
    ) -> list[str]:
        """What the list says against the record.

        Args:
            links: of the record as it stands, by number of the entry.
            settled: lines that a person has answered for (the docket was put back).
        """
        out: list[str] = []
        last = max(links, default=0)
        for number, _ in (held for held in self.against(links) if held not in settled):
            if number > last:
                out.append(
                    f"the docket once went on to entry {number} and ends at {last}: an older copy "
                    "was put back, another was put in its place, or its log was lost (by the list "
                    "of links beside it)"
                )
            else:
                out.append(
                    f"entry {number} had another link when it was recorded: the record was worked "
                    "out anew, other entries were spliced in, or another docket was put in its "
                    "place (by the list of links beside it)"
                )
            break
        right = [
            f"{number}:{link}".encode("utf-8", "surrogateescape")
            for number, link in (links.items() if self.torn else ())
        ]
        if any(not any(line.startswith(begun) for line in right) for begun in self.torn):
            out.append("the list of links beside the docket has been changed")
        return out

    def against(self, links: Mapping[int, str]) -> list[tuple[int, str]]:
        """All lines that the record as it stands does not bear out."""
        return [held for held in self.lines if links.get(held[0]) != held[1]]
