"""What the record came to when it was last gone through whole, so that one job is soon told.

Of every job it has how many entries it has and the hash of the last; of the whole docket the last
link, which stands for every entry up to it; and the hashes of all originals named. It lies with
the originals. It is no record and proves nothing by itself: it is believed only as far as the
rows of the docket bear it out (`quick`), and where they don't the record is gone through whole.
"""

from __future__ import annotations

import hashlib
import json
import os
import struct
import time
from contextlib import suppress
from dataclasses import dataclass
from typing import TYPE_CHECKING

from proofcheck.base.errors import ProofcheckError
from proofcheck.base.writing import write_whole

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path

__all__ = ["Snapshot", "read_snapshot", "write_snapshot"]

_FORM = 1
_JOB = struct.Struct(">32sI32s")
_HASH = 32
_LARGEST = 1 << 30
_ERRORS = (OSError, ValueError, KeyError, TypeError, struct.error, RecursionError)


@dataclass(frozen=True, slots=True)
class Snapshot:
    """The record as it stood."""

    number: int
    """Of its last entry then, from 1."""
    book: str
    """Its last link then."""
    listed: int
    """Bytes of the list of links then; those after them were noted since."""
    taken_ns: int
    """When, by the clock of the files."""
    folders: Mapping[str, int]
    """When each folder of originals was last changed: all that lay there then was named."""
    jobs: bytes
    named: bytes

    def job(self, number: str) -> tuple[int, str]:
        """How many entries a job had, and the hash of the last; (0, "") for none."""
        key = hashlib.sha256(number.encode("utf-8", "surrogateescape")).digest()
        at = _place(self.jobs, key, _JOB.size)
        if at < 0:
            return 0, ""
        _, count, last = _JOB.unpack_from(self.jobs, at)
        return count, last.hex()

    def names(self, sha256: str) -> bool:
        """Whether an original of that hash was named by an entry."""
        return _place(self.named, bytes.fromhex(sha256), _HASH) >= 0


def _place(rows: bytes, key: bytes, width: int) -> int:
    """Where a row that begins with the key lies among rows in order; -1 for nowhere."""
    low, high = 0, len(rows) // width
    while low < high:
        middle = (low + high) // 2
        if rows[middle * width : middle * width + len(key)] < key:
            low = middle + 1
        else:
            high = middle
    at = low * width
    return at if rows[at : at + len(key)] == key and at < len(rows) else -1


def read_snapshot(path: Path) -> Snapshot | None:
    """The snapshot in a file; None where there is none, or it is not as it was written."""
    try:
        if path.stat().st_size > _LARGEST:
            return None
        held = path.read_bytes()
        data, digest = held[:-_HASH], held[-_HASH:]
        if hashlib.sha256(data).digest() != digest:
            return None
        line, _, rows = data.partition(b"\n")
        told = json.loads(line)
        cut = told["jobs"] * _JOB.size
        if told["snapshot"] != _FORM or len(rows) != cut + told["named"] * _HASH:
            return None
        return Snapshot(
            number=int(told["number"]),
            book=str(told["book"]),
            listed=int(told["listed"]),
            taken_ns=int(told["taken_ns"]),
            folders={str(name): int(changed) for name, changed in told["folders"]},
            jobs=rows[:cut],
            named=rows[cut:],
        )
    except _ERRORS:
        return None


def write_snapshot(
    path: Path,
    end: tuple[int, str],
    jobs: Mapping[str, tuple[int, str]],
    named: Iterable[str],
    listed: int,
    before: Snapshot | None = None,
) -> None:
    """Write what the record came to; where that can't be done, it is only slower next time.

    Args:
        path: beside the originals.
        end: number and link of the last entry.
        jobs: of each job (and the docket's own entries) how many, and the hash of the last.
        named: hashes of all originals that entries name.
        listed: bytes of the list of links that were held against it.
        before: an earlier snapshot that these add to.
    """
    rows = {row[:_HASH]: row for row in _cut(before.jobs, _JOB.size)} if before else {}
    for job, (count, last) in jobs.items():
        key = hashlib.sha256(job.encode("utf-8", "surrogateescape")).digest()
        rows[key] = _JOB.pack(key, count, bytes.fromhex(last))
    hashes = {bytes.fromhex(sha256) for sha256 in named}
    hashes |= set(_cut(before.named, _HASH)) if before else set()
    told = {
        "snapshot": _FORM,
        "number": end[0],
        "book": end[1],
        "listed": listed,
        "taken_ns": time.time_ns(),
        "folders": _folders(path.parent, {one.hex() for one in hashes}),
        "jobs": len(rows),
        "named": len(hashes),
    }
    line = json.dumps(told).encode("ascii") + b"\n"
    data = b"".join((line, *(rows[key] for key in sorted(rows)), *sorted(hashes)))
    with suppress(OSError, ProofcheckError):
        write_whole(path, data + hashlib.sha256(data).digest(), overwrite=True)


def _cut(rows: bytes, width: int) -> list[bytes]:
    return [rows[at : at + width] for at in range(0, len(rows), width)]


def _folders(folder: Path, named: set[str]) -> list[tuple[str, int]]:
    """The folders of originals in which nothing lies unnamed, and when each was last changed."""
    out = []
    with suppress(OSError):
        for held in os.scandir(folder):
            if len(held.name) == 2 and held.is_dir():
                # Looked at before what lies in it: what comes in between changes it again.
                changed = held.stat().st_mtime_ns
                if set(os.listdir(held.path)) <= named:  # noqa: PTH208 - names alone
                    out.append((held.name, changed))
    return out
