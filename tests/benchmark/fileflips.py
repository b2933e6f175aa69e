"""Which bytes of an SQLite file are used, and whether one bit turned over in them is seen.

    PYTHONPATH=tests:. python -m benchmark.fileflips --flips 5000

The file is taken apart here by the published file format alone (SQLite's "Database File Format"),
not by what the docket makes of it: its head, the head of every page, the pointers to the cells,
the cells with what runs over to other pages, the blocks of free room within a page, the list of
free pages. What is left is room that nothing reads. Of the head 8 bytes are counters of the
library's own (the schema cookie and the version that wrote last), which change nothing that is
read; flips in them are counted by themselves.
"""

from __future__ import annotations

import argparse
import random
from collections import Counter
from typing import TYPE_CHECKING

from docket_cases import JOB, add_copy, begun, decide_all, ok, pull, quick_folder
from report_cases import COPY_LINES

from proofcheck.base.errors import ProofcheckError
from proofcheck.docket import clear_for_press, open_docket, open_job, verify

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["docket_of_jobs", "flips_unseen", "main", "used_bytes"]

_COUNTERS = range(40, 44), range(96, 100)


def used_bytes(data: bytes) -> dict[str, list[int]]:
    """Places of all bytes that are used, by what they are: "head", "counters", "pages", "cells"."""
    size = int.from_bytes(data[16:18], "big")
    out: dict[str, set[int]] = {"head": set(), "counters": set(), "pages": set(), "cells": set()}
    counters = {at for held in _COUNTERS for at in held}
    out["counters"] |= counters
    out["head"] |= set(range(100)) - counters
    free = _free_pages(data, size, out["pages"])
    roots = {1}
    seen: set[int] = set()
    todo = list(roots)
    while todo:
        page = todo.pop()
        if page in seen or page in free:
            continue
        seen.add(page)
        todo += _page(data, size, page, out)
    out["cells"] -= out["pages"]
    return {name: sorted(places) for name, places in out.items()}


def _free_pages(data: bytes, size: int, used: set[int]) -> set[int]:
    trunk, out = int.from_bytes(data[32:36], "big"), set()
    while trunk:
        base = (trunk - 1) * size
        out.add(trunk)
        count = int.from_bytes(data[base + 4 : base + 8], "big")
        used |= set(range(base, base + 8 + 4 * count))
        out |= {
            int.from_bytes(data[base + 8 + 4 * n : base + 12 + 4 * n], "big") for n in range(count)
        }
        trunk = int.from_bytes(data[base : base + 4], "big")
    return out


def _page(data: bytes, size: int, page: int, out: dict[str, set[int]]) -> list[int]:
    """Note the used bytes of a page of a tree; pages it leads to."""
    base = (page - 1) * size
    head = base + (100 if page == 1 else 0)
    kind = data[head]
    inner = kind in (2, 5)
    count = int.from_bytes(data[head + 3 : head + 5], "big")
    first = head + (12 if inner else 8)
    out["pages"] |= set(range(head, first + 2 * count))
    block = int.from_bytes(data[head + 1 : head + 3], "big")
    while block:
        out["pages"] |= set(range(base + block, base + block + 4))
        block = int.from_bytes(data[base + block : base + block + 2], "big")
    leads = [int.from_bytes(data[head + 8 : head + 12], "big")] if inner else []
    for at in range(first, first + 2 * count, 2):
        cell = base + int.from_bytes(data[at : at + 2], "big")
        start, payload = cell, 0
        if inner:
            leads.append(int.from_bytes(data[cell : cell + 4], "big"))
            cell += 4
        if kind != 5:
            payload, cell = _number(data, cell)
        if kind in (5, 13):
            _, cell = _number(data, cell)
        local = _local(payload, size, table=kind == 13)
        end = cell + local
        if local < payload:
            _overflow(data, size, end, payload - local, out["cells"])
            end += 4
        out["cells"] |= set(range(start, end))
        if page == 1 and kind == 13:
            leads.append(_root_in(data[cell:end]))
    return [lead for lead in leads if lead]


def _number(data: bytes, at: int) -> tuple[int, int]:
    value = 0
    while True:
        value = value << 7 | data[at] & 0x7F
        at += 1
        if data[at - 1] < 0x80:
            return value, at


def _local(payload: int, size: int, *, table: bool) -> int:
    """Bytes of a cell's matter that lie in its own page (file format, section 1.6)."""
    most = size - 35 if table else (size - 12) * 64 // 255 - 23
    if payload <= most:
        return payload
    least = (size - 12) * 32 // 255 - 23
    held = least + (payload - least) % (size - 4)
    return held if held <= most else least


def _overflow(data: bytes, size: int, at: int, left: int, used: set[int]) -> None:
    page = int.from_bytes(data[at : at + 4], "big")
    while page and left:
        base = (page - 1) * size
        held = min(left, size - 4)
        used |= set(range(base, base + 4 + held))
        left -= held
        page = int.from_bytes(data[base : base + 4], "big")


def _root_in(record: bytes) -> int:
    """Root page in a record of sqlite_master: type, name, tbl_name, rootpage, sql."""
    length, at = _number(record, 0)
    kinds, end = [], length
    while at < length:
        kind, at = _number(record, at)
        kinds.append(kind)
    for kind in kinds[:3]:
        end += (kind - 12) // 2
    widths = {1: 1, 2: 2, 3: 3, 4: 4, 8: 0, 9: 0}
    if kinds[3] in (8, 9):
        return kinds[3] - 8
    return int.from_bytes(record[end : end + widths[kinds[3]]], "big")


def docket_of_jobs(folder: Path, jobs: int = 6):
    """A docket whose first job's copy was changed after the O.K.: it must never be clear."""
    docket = begun(folder)
    pull(docket)
    decide_all(docket, "stand")
    ok(docket)
    for number in range(jobs - 1):
        job = f"{2000 + number}"
        open_job(docket, job, {"customer": "Village band", "remarks": "x" * 60 * number}, by="P.C.")
        add_copy(docket, [*COPY_LINES, f"No. {number} of the season. " * 90], job=job)
        pull(docket, f"scan {number}".encode(), job=job, faults=False)
        ok(docket, job=job)
    add_copy(docket, [*COPY_LINES, "Should it rain, the concert is off."])
    return docket


def flips_unseen(flips: int, seed: int = 1, kinds: tuple[str, ...] = ()) -> dict[str, int]:
    """Turn over one bit at a time in the used bytes of a docket's file; count what was not seen.

    Seen is what `verify` names or refuses, with `clear` never saying yes to the job whose copy
    was changed, or its entries not being read as they were.
    """
    rng = random.Random(seed)
    told: Counter[str] = Counter()
    with quick_folder() as folder:
        place = folder / "docket.db"
        # Gone through once while it was sound: what was kept of it then must hide no flip.
        told["troubles at first"] = len(verify(docket_of_jobs(folder)).troubles)
        data = place.read_bytes()
        used = {name: at for name, at in used_bytes(data).items() if not kinds or name in kinds}
        places = [(name, at) for name, held in used.items() for at in held]
        told["bytes"], told["of them used"] = len(data), len(places)
        for _ in range(flips):
            name, at = rng.choice(places)
            changed = data[at] ^ 1 << rng.randrange(8)
            for left in folder.glob("docket.db*"):
                left.unlink()
            place.write_bytes(data[:at] + bytes([changed]) + data[at + 1 :])
            told[f"flips in {name}"] += 1
            told[f"unseen in {name}"] += not _seen(place)
            told["cleared wrongly"] += _cleared(place)
    return dict(told)


def _seen(place: Path) -> bool:
    try:
        return bool(verify(open_docket(place)).troubles)
    except ProofcheckError:
        return True


def _cleared(place: Path) -> bool:
    try:
        return clear_for_press(open_docket(place), JOB).clear
    except ProofcheckError:
        return False


def main() -> None:
    """Flip and print the counts."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--flips", type=int, default=5000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", default="", help="kinds of bytes, joined by commas")
    asked = parser.parse_args()
    kinds = tuple(filter(None, asked.only.split(",")))
    for name, count in sorted(flips_unseen(asked.flips, asked.seed, kinds).items()):
        print(f"{name:<24}{count:>8}")


if __name__ == "__main__":
    main()
