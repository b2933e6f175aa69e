"""A whole job as one archive (ZIP) of plain files and JSON, which verifies on its own.

    job.json                 what the archive is, and the hash of its last entry
    entries/000001.json …    the job's entries, byte for byte as hashed
    originals/SHA256 …       the copy, scans, reports and sheets

The archive's comment holds the SHA-256 of every byte before it, so that any change is seen
however slight; whoever makes a new seal still has the chain of entries to answer to.
"""

from __future__ import annotations

import hashlib
import io
import json
import struct
import zipfile
import zlib
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from proofcheck.base.visible import visible
from proofcheck.base.writing import write_whole
from proofcheck.docket.against import reasons_against
from proofcheck.docket.canonical import Data, canonical, sha256_of
from proofcheck.docket.chain import Draft, Entry, entry_of, verify_job
from proofcheck.docket.docket_errors import ArchiveError, DocketError, RecordBrokenError
from proofcheck.docket.history import job_of
from proofcheck.docket.originals import Original
from proofcheck.docket.recording import checked_name
from proofcheck.docket.shapes import entry_misfit

if TYPE_CHECKING:
    from proofcheck.docket.book import Docket

__all__ = ["Archive", "Imported", "export_job", "import_job", "read_archive"]

FORM = 1
_SEAL = b"proofcheck job archive, sha256 "
_DATE = (1980, 1, 1, 0, 0, 0)
_LARGEST = 8 << 30
_DAMAGE = (
    zipfile.BadZipFile, struct.error, KeyError, TypeError, ValueError, EOFError, OSError,
    RuntimeError, OverflowError, zlib.error, DocketError,
)  # fmt: skip
"""What the ZIP reader says of damaged files (RuntimeError: made out to be locked or patched)."""


@dataclass(frozen=True, slots=True)
class Archive:
    """A job as read from an archive, proved whole."""

    job: str
    chain: tuple[Entry, ...]
    originals: tuple[Original, ...]
    sha256: str
    """Of the archive's own bytes."""
    name: str


@dataclass(frozen=True, slots=True)
class Imported:
    """What taking a job in came to."""

    job: str
    entries: int
    """Of the job in the archive."""
    new: int
    """How many of them were not on record here."""
    entry: Entry | None
    """The docket's own entry that says so; None where nothing was new."""
    before: tuple[Entry, ...]
    """The docket's own entries on what of the job was taken in earlier."""


def export_job(docket: Docket, number: str, path: Path | str, *, overwrite: bool = False) -> Path:
    """Write a job's whole record and its originals as one archive.

    Raises:
        DocketError: no such job; the record or an original is broken.
        OutputError: the archive can't be written.
    """
    job = docket.job(number)
    troubles = verify_job(visible(number), job.entries)
    if troubles:
        msg = f"a broken record is not passed on: {troubles[0]}"
        raise DocketError(msg)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_STORED) as held:
        about = {
            "archive": FORM,
            "job": number,
            "entries": len(job.entries),
            "last": job.entries[-1].sha256,
        }
        _put(held, "job.json", json.dumps(about, indent=1).encode("ascii") + b"\n")
        for entry in job.entries:
            _put(held, _entry_name(entry.place), entry.body)
        for sha256 in _named(job.entries):
            _put(held, f"originals/{sha256}", docket.originals.read(sha256))
        held.comment = _SEAL + b"0" * 64
    unsealed = out.getvalue()[: -len(_SEAL) - 64]
    seal = hashlib.sha256(unsealed).hexdigest().encode("ascii")
    return write_whole(path, unsealed + _SEAL + seal, overwrite=overwrite)


def import_job(docket: Docket, path: Path | str, *, by: str, another: bool = False) -> Imported:
    """Take a job in from an archive, or bring it up to date.

    The job's chain stays as it was made, so that it goes on to verify here and elsewhere; what
    was taken in, from which archive, when and by whom is an entry of the docket's own.

    Args:
        docket: the record.
        path: of the archive.
        by: initials.
        another: it is another job, though its number looks like that of one here.

    Raises:
        ArchiveError: the archive was tampered with or is damaged; or the job here and the job
            there have parted ways (each named).
        DocketError: no initials; the record can't be written.
    """
    archive = read_archive(path)
    initials = checked_name(by, "initials")
    before = docket.imports(archive.job)

    def drafting(here: tuple[Entry, ...]) -> tuple[int, Draft]:
        known = _alike(here, archive)
        data: Data = {
            "job": archive.job,
            "archive": archive.name,
            "sha256": archive.sha256,
            "entries": [known + 1, len(archive.chain)],
            "last": archive.chain[-1].sha256,
        }
        return known, Draft("imported", initials, data)

    docket.originals.keep(archive.originals)
    entry = docket.take_in(archive.chain, drafting, confirmed=another)
    new = entry.data["entries"][1] - entry.data["entries"][0] + 1 if entry else 0
    return Imported(archive.job, len(archive.chain), new, entry, before)


def _alike(here: tuple[Entry, ...], archive: Archive) -> int:
    """How many of the archive's entries are here. Raises ArchiveError where they part."""
    for mine, theirs in zip(here, archive.chain, strict=False):
        if mine.sha256 != theirs.sha256:
            what = "is another job of the same number" if mine.place == 1 else "has gone on"
            msg = (
                f"job {visible(archive.job)} in {visible(archive.name)} {what}: from entry "
                f"{mine.place} on it is at odds with the record here; nothing was taken in"
            )
            raise ArchiveError(msg)
    return min(len(here), len(archive.chain))


def read_archive(path: Path | str) -> Archive:
    """Read an archive and prove it whole: seal, chain, and every original.

    Raises:
        ArchiveError: it is none, is damaged or was tampered with; the text says where.
    """
    path = Path(path)
    try:
        if path.stat().st_size > _LARGEST:
            msg = f"{_shown(path)} is too large for an archive of one job"
            raise ArchiveError(msg)
        data = path.read_bytes()
    except OSError as error:
        msg = f"{_shown(path)} can't be read ({error.strerror}); check the path"
        raise ArchiveError(msg) from error
    try:
        files = _files(path, data)
        about = json.loads(files.pop("job.json"))
        job, count, last = str(about["job"]), int(about["entries"]), str(about["last"])
        newer = int(about["archive"]) > FORM
        if checked_name(job, "a job's number") != job:
            msg = "it names no job"
            raise ValueError(msg)
    except _DAMAGE as error:
        msg = f"{_shown(path)} is no archive of a job, or is damaged ({error})"
        raise ArchiveError(msg) from error
    if newer:
        msg = f"{_shown(path)} was written by a newer version; take it in with that"
        raise ArchiveError(msg)
    seal = _broken_seal(data)
    chain, found = _chain(files, job, count, last)
    found += [] if found else _senseless(chain)
    originals, missed = _originals(files, chain)
    troubles = [*found, *missed, *([seal] if seal else [])]
    if troubles:
        msg = f"{_shown(path)} has been tampered with or is damaged: {'; '.join(troubles)}"
        raise ArchiveError(msg)
    return Archive(job, tuple(chain), tuple(originals), sha256_of(data), visible(path.name))


def _files(path: Path, data: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(data)) as held:
        files: dict[str, bytes] = {}
        for info in held.infolist():
            # Nothing is packed tight, so that nothing can swell beyond the archive's own size.
            if info.compress_type != zipfile.ZIP_STORED or info.filename in files:
                msg = f"{_shown(path)}: {visible(info.filename)} is not as an archive has it"
                raise ArchiveError(msg)
            files[info.filename] = held.read(info)
    return files


def _broken_seal(data: bytes) -> str:
    unsealed, seal = data[: -len(_SEAL) - 64], data[-len(_SEAL) - 64 :]
    if not seal.startswith(_SEAL):
        return "its seal is missing (was it packed anew?)"
    right = seal[len(_SEAL) :] == hashlib.sha256(unsealed).hexdigest().encode("ascii")
    return "" if right else "its seal is broken"


def _chain(
    files: dict[str, bytes], job: str, count: int, last: str
) -> tuple[list[Entry], list[str]]:
    chain: list[Entry] = []
    troubles: list[str] = []
    for place in range(1, min(count, len(files)) + 1):
        body = files.pop(_entry_name(place), None)
        if body is None:
            troubles.append(f"entry {place} is missing")
            continue
        try:
            chain.append(entry_of(body))
        except ValueError:
            troubles.append(f"entry {place} has been changed")
    if not troubles:
        troubles = verify_job(visible(job), chain)
    if not chain or len(chain) != count or chain[-1].sha256 != last:
        troubles.append("the last entry is not the one the archive was closed with")
    return chain, troubles


def _senseless(chain: list[Entry]) -> list[str]:
    """What of whole entries a docket could make no sense of, or could read in two ways."""
    for entry in chain:
        wrong = entry_misfit(entry.kind, entry.data)
        if not wrong and canonical(json.loads(entry.body)) != entry.body:
            wrong = "it is not written as entries are"
        if wrong:
            return [f"entry {entry.place} is not as entries of its kind are ({wrong})"]
    try:
        reasons_against(job_of(chain))
    except RecordBrokenError as error:
        return [str(error)]
    return []


def _originals(files: dict[str, bytes], chain: list[Entry]) -> tuple[list[Original], list[str]]:
    originals, troubles = [], []
    names: dict[str, Data] = {o["sha256"]: o for entry in chain for o in entry.originals}
    for sha256, named in names.items():
        data = files.pop(f"originals/{sha256}", None)
        if data is None or sha256_of(data) != sha256:
            what = "is missing" if data is None else "has been changed"
            troubles.append(f"the original {visible(str(named['name']))} {what}")
        else:
            originals.append(Original(str(named["name"]), data))
    troubles += [f"{visible(name)} does not belong in it" for name in files]
    return originals, troubles


def _named(chain: tuple[Entry, ...]) -> list[str]:
    return list(dict.fromkeys(o["sha256"] for entry in chain for o in entry.originals))


def _entry_name(place: int) -> str:
    return f"entries/{place:06d}.json"


def _put(held: zipfile.ZipFile, name: str, data: bytes) -> None:
    held.writestr(zipfile.ZipInfo(name, _DATE), data)


def _shown(path: Path | str) -> str:
    return visible(str(path))
