"""Try the docket's word: kill it, crowd it, and flip its bytes.

    PYTHONPATH=tests:. python -m benchmark.crash --kills 1000 --flips 2000
    PYTHONPATH=tests:. python -m benchmark.crash --writers 20 --entries 2000
    PYTHONPATH=tests:. python -m benchmark.crash --writers 20 --entries 2000 --address URL

Kills: a process records one entry after another and says so as each is acknowledged; it is killed
(SIGKILL) at a random moment, and the record must verify and hold every entry acknowledged.
Writers: as many processes record at once, in a file or in an empty database at an address. Flips:
one bit of one byte is turned over, in the rows of the record and its last link, in the originals
and in an exported archive, and must be found; and as many times in all bytes of the docket's file
that are used (`benchmark.fileflips`).
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import random
import signal
import sqlite3
import tempfile
import time
from pathlib import Path

from benchmark.fileflips import flips_unseen
from docket_cases import JOB, begun, decide_all, ok, pull

from proofcheck.base.errors import ProofcheckError
from proofcheck.base.values import Copy
from proofcheck.docket import decide, export_job, open_docket, read_archive, take_copy, verify
from proofcheck.docket.canonical import sha256_of
from proofcheck.docket.docket_errors import DocketBusyError
from proofcheck.docket.originals import Original

__all__ = ["crowd", "flips_missed", "kills_survived", "main"]

_FORK = multiprocessing.get_context("fork")
_A_DOCKET = 50
"""Kills before a new docket is begun: the record is gone through after each."""


def _record_on(place: Path, told) -> None:
    """Record without end, with and without originals; say each number once it is on record."""
    docket = open_docket(place)
    turn = 0
    while True:
        turn += 1
        if turn % 3 == 0:
            text = f"Programme {os.getpid()} {turn}\n"
            copy = Copy(text, "copy.txt", sha256_of(text), "utf-8", ())
            entry = take_copy(docket, JOB, copy, Original("copy.txt", text.encode()), by="P.C.")
        else:
            entry = decide(docket, JOB, "F1", "stand", by="B.A.", note=str(turn))
        told.send((entry.number, entry.sha256))


def kills_survived(kills: int, seed: int = 1) -> dict[str, int]:
    """Kill a recording process `kills` times; count entries lost and records that fail."""
    rng = random.Random(seed)
    lost = broken = acknowledged = done = 0
    while done < kills:
        with tempfile.TemporaryDirectory() as name:
            docket = begun(Path(name))
            pull(docket)
            known: dict[int, str] = {}
            for _ in range(min(_A_DOCKET, kills - done)):
                known |= _one_kill(Path(name) / "docket.db", rng)
                done += 1
                docket = open_docket(Path(name) / "docket.db")
                held = {entry.number: entry.sha256 for entry in docket.entries()}
                lost += sum(held.get(number) != sha256 for number, sha256 in known.items())
                broken += bool(verify(docket).troubles)
            acknowledged += len(known)
    return {"kills": done, "acknowledged": acknowledged, "lost": lost, "broken": broken}


def _one_kill(place: Path, rng: random.Random) -> dict[int, str]:
    here, there = _FORK.Pipe(duplex=False)
    process = _FORK.Process(target=_record_on, args=(place, there))
    process.start()
    there.close()
    time.sleep(rng.uniform(0.0, 0.4))
    os.kill(process.pid, signal.SIGKILL)
    process.join()
    known = {}
    try:
        while here.poll():
            number, sha256 = here.recv()
            known[number] = sha256
    except (EOFError, OSError):
        pass
    here.close()
    return known


def _write_many(place: str, folder: Path, entries: int, told) -> None:
    docket = open_docket(place, originals=folder / "docket-originals")
    refused = 0
    for turn in range(entries):
        while True:
            try:
                decide(docket, JOB, "F1", "stand", by="B.A.", note=f"{os.getpid()} {turn}")
            except DocketBusyError:
                refused += 1
            else:
                break
    told.put(refused)


def crowd(writers: int, entries: int, address: str = "") -> dict[str, float]:
    """Let `writers` processes record `entries` in all at once; count what is on record."""
    with tempfile.TemporaryDirectory() as name:
        docket = begun(Path(name), address=address)
        place = address or str(Path(name) / "docket.db")
        pull(docket)
        before = len(docket.entries())
        told = _FORK.SimpleQueue()
        start = time.monotonic()
        processes = [
            _FORK.Process(target=_write_many, args=(place, Path(name), entries // writers, told))
            for _ in range(writers)
        ]
        for process in processes:
            process.start()
        for process in processes:
            process.join()
        refused = sum(told.get() for _ in processes)
        return {
            "recorded": len(docket.entries()) - before,
            "told to try again": refused,
            "troubles": len(verify(docket).troubles),
            "seconds": round(time.monotonic() - start, 1),
        }


def flips_missed(flips: int, seed: int = 1) -> dict[str, int]:
    """Flip bytes one at a time, a third each in rows, originals and an archive; count misses."""
    rng = random.Random(seed)
    missed = {"rows": 0, "last link": 0, "originals": 0, "archive": 0}
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        docket = begun(folder)
        pull(docket)
        decide_all(docket)
        ok(docket, "ok-with-corrections")
        archive = export_job(docket, JOB, folder / "job.zip").read_bytes()
        originals = [p for p in docket.originals.folder.rglob("*") if p.is_file()]
        for turn in range(flips):
            if turn % 30 == 0:
                missed["last link"] += not _head_flip_found(folder / "docket.db", rng)
            elif turn % 3 == 0:
                missed["rows"] += not _row_flip_found(folder / "docket.db", rng)
            elif turn % 3 == 1:
                missed["originals"] += not _original_flip_found(docket, rng.choice(originals), rng)
            else:
                missed["archive"] += not _archive_flip_found(folder / "a.zip", archive, rng)
    return missed


def _flip(data: bytes, rng: random.Random) -> bytes:
    at = rng.randrange(len(data))
    return data[:at] + bytes([data[at] ^ (1 << rng.randrange(8))]) + data[at + 1 :]


def _row_flip_found(place: Path, rng: random.Random) -> bool:
    columns = ("job", "place", "body", "sha256", "book", "number")
    held = sqlite3.connect(place)
    rows = held.execute("SELECT number, length(body) FROM docket_entries").fetchall()
    number = rng.choices([row[0] for row in rows], [row[1] for row in rows])[0]
    column = rng.choices(columns, [4, 1, 60, 15, 15, 1])[0]
    (was,) = held.execute(
        f"SELECT {column} FROM docket_entries WHERE number = ?",  # noqa: S608
        (number,),
    ).fetchone()
    if isinstance(was, int):
        now: object = was ^ (1 << (8 + rng.randrange(8)))
    elif isinstance(was, str):
        now = _flip(was.encode(), rng)
    else:
        now = _flip(was, rng)
    cast = f"CAST(? AS {'TEXT' if isinstance(was, str) else 'BLOB'})"
    value = "?" if isinstance(was, int) else cast
    changing = f"UPDATE docket_entries SET {column} = {value} WHERE number = ?"  # noqa: S608
    held.execute(changing, (now, number))
    held.commit()
    found = bool(verify(open_docket(place)).troubles)
    changed = now if column == "number" else number
    changing = f"UPDATE docket_entries SET {column} = ? WHERE number = ?"  # noqa: S608
    held.execute(changing, (was, changed))
    held.commit()
    held.close()
    return found


def _head_flip_found(place: Path, rng: random.Random) -> bool:
    held = sqlite3.connect(place)
    number, book = held.execute("SELECT number, book FROM docket_head").fetchone()
    if rng.random() < 0.2:
        now = (number ^ (1 << rng.randrange(16)), book)
    else:
        now = (number, _flip(book.encode(), rng).decode("latin-1"))
    held.execute("UPDATE docket_head SET number = ?, book = ?", now)
    held.commit()
    found = bool(verify(open_docket(place)).troubles)
    held.execute("UPDATE docket_head SET number = ?, book = ?", (number, book))
    held.commit()
    held.close()
    return found


def _original_flip_found(docket, path: Path, rng: random.Random) -> bool:
    was = path.read_bytes()
    path.write_bytes(_flip(was, rng))
    found = bool(verify(docket).troubles)
    path.write_bytes(was)
    return found


def _archive_flip_found(path: Path, archive: bytes, rng: random.Random) -> bool:
    path.write_bytes(_flip(archive, rng))
    try:
        read_archive(path)
    except ProofcheckError:
        return True
    return False


def main() -> None:
    """Run what is asked for and print the counts."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    for name in ("kills", "writers", "entries", "flips"):
        parser.add_argument(f"--{name}", type=int, default=0)
    parser.add_argument("--address", default="", help="of an empty database, for the writers")
    asked = parser.parse_args()
    if asked.kills:
        print("kills:", kills_survived(asked.kills))
    if asked.writers:
        print("writers:", crowd(asked.writers, asked.entries, asked.address))
    if asked.flips:
        print("flips missed:", flips_missed(asked.flips), "of", asked.flips)
        print("flips in the file:", flips_unseen(asked.flips))


if __name__ == "__main__":
    main()
