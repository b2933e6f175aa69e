"""Of which proof a paper is: said in each mark's name and on each page, so that it can come back.

A mark's name (`/NM`) and a page's private data (`/PieceInfo`, ISO 32000-1, 14.5) go with the file
wherever it is opened and saved again.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass
from urllib.parse import quote, unquote

__all__ = [
    "PIECE",
    "Paper",
    "contents_digest",
    "mark_name",
    "named_mark",
    "named_paper",
]

PIECE = "/Proofcheck"
"""Under which name a page's private data stand."""
_NAME = re.compile(r"proofcheck:([^:]+):([1-9][0-9]{0,8}):([0-9a-f]{16})")
_MARK = re.compile(_NAME.pattern + r":([A-Z][1-9][0-9]{0,8}):([0-9a-f]{8})")


@dataclass(frozen=True, slots=True)
class Paper:
    """Of which proof on a docket a paper is."""

    job: str
    proof: int
    """From 1."""
    entry: str
    """First sixteen digits of the hash of the proof's entry: it names docket, job and proof."""

    @property
    def name(self) -> str:
        """All of it, as it is written."""
        return f"proofcheck:{quote(self.job, safe='')}:{self.proof}:{self.entry}"


def mark_name(paper: Paper | None, fault: str, contents: str) -> str:
    """A mark's name: unique on its page, and where the paper is a docket's, anywhere."""
    return f"{paper.name}:{fault}:{contents_digest(contents)}" if paper else fault


def contents_digest(contents: str) -> str:
    """What shows whether a mark's own words were written over."""
    return hashlib.sha256(contents.encode("utf-8", "replace")).hexdigest()[:8]


def named_mark(name: str) -> tuple[Paper, str, str] | None:
    """Paper, fault and digest of its words by a mark's name; None where it is no such name."""
    found = _MARK.fullmatch(name)
    if found is None:
        return None
    return Paper(unquote(found[1]), int(found[2]), found[3]), found[4], found[5]


def named_paper(name: str) -> Paper | None:
    """A paper by its name; None where it is no such name."""
    found = _NAME.fullmatch(name)
    return Paper(unquote(found[1]), int(found[2]), found[3]) if found else None
