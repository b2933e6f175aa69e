"""A pile of proofs: each job with its scans and its copy, and what was left over."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field, replace
from hashlib import sha256
from typing import TYPE_CHECKING

from proofcheck.base.options import Options

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

__all__ = ["LeftOut", "Pile", "Piled", "Source", "folder_names", "natural", "without_twins"]


@dataclass(frozen=True, slots=True)
class Source:
    """A file to be read: where it is, and what it is called in papers and lines."""

    address: str
    """Path on this machine, or an address with "://" that fsspec opens."""
    name: str
    """As a person knows it; of signs that can be seen alone."""

    @property
    def is_address(self) -> bool:
        """Whether it lies elsewhere."""
        return "://" in self.address


@dataclass(frozen=True, slots=True)
class Piled:
    """One job of the pile."""

    job: str
    """Its name or number."""
    scans: tuple[Source, ...] = ()
    """Its sheets, in order."""
    copy: Source | None = None
    options: Options = field(default_factory=Options)
    trouble: str = ""
    """Why it can't be read, in one line; "" where it can be tried."""
    notes: tuple[str, ...] = ()
    """What a person should know of how it was paired."""


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A file that was taken for neither scan nor copy."""

    name: str
    why: str


@dataclass(frozen=True, slots=True)
class Pile:
    """All of it."""

    jobs: tuple[Piled, ...]
    left: tuple[LeftOut, ...] = ()


def without_twins(jobs: Sequence[Piled]) -> tuple[Piled, ...]:
    """The same jobs, but of those that share a name none can be read: their papers would too."""
    counted = Counter(each.job.casefold() for each in jobs)
    found, met = [], Counter[str]()
    for each in jobs:
        name = each.job.casefold()
        met[name] += 1
        if counted[name] > 1:
            words = "the job stands more than once in the pile; give each a name of its own"
            told = f"{each.job} ({met[name]})"
            found.append(replace(each, job=told, trouble=each.trouble or words))
        else:
            found.append(each)
    return tuple(found)


def natural(text: str) -> tuple[tuple[int, str], ...]:
    """A key to sort by that puts 2 before 10."""
    parts = re.findall(r"[0-9]+|[^0-9]+", text.casefold())
    return tuple((int(p), "") if p[0] in "0123456789" else (-1, p) for p in parts)


def folder_names(jobs: Iterable[str]) -> dict[str, str]:
    """A folder's name for each job, by job: plain, and no two alike on any file system."""
    plain = {job: _plain(job) for job in jobs}
    seen: dict[str, int] = {}
    for name in plain.values():
        seen[name.casefold()] = seen.get(name.casefold(), 0) + 1
    return {
        job: name if name == job and seen[name.casefold()] == 1 else f"{name}-{_tag(job)}"
        for job, name in plain.items()
    }


def _plain(job: str) -> str:
    kept = "".join(char if char.isalnum() or char in "-_" else "-" for char in job)
    return kept.strip("-")[:80] or "job"


def _tag(job: str) -> str:
    return sha256(job.encode("utf-8", "surrogatepass")).hexdigest()[:6]
