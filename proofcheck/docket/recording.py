"""Recording a job: opening it, its copy in versions, its proofs in series."""

from __future__ import annotations

import tempfile
from dataclasses import asdict, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from proofcheck.base.visible import visible
from proofcheck.docket.alike import alike_among
from proofcheck.docket.chain import Draft, Entry
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.originals import Original
from proofcheck.docket.proof_taken import (
    People,
    ProofTaken,
    refuse_recorded,
    refuse_strange,
    version_of,
)
from proofcheck.docket.proved import read_data
from proofcheck.docket.recorded_fault import fault_data
from proofcheck.results.sealing import laid_out

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from proofcheck.base.values import Copy
    from proofcheck.docket.book import Docket
    from proofcheck.docket.facts import CopyVersion
    from proofcheck.docket.job import Job

__all__ = [
    "DETAILS",
    "People",
    "ProofTaken",
    "amend_job",
    "checked_name",
    "job_copy",
    "open_job",
    "pull_proof",
    "stored_copy",
    "take_copy",
]

DETAILS = (
    "customer", "wanted", "quantity", "stock", "ink", "size", "measure", "face", "machine",
    "remarks",
)  # fmt: skip
"""What a docket can say of a job, by key; a shop's form of 1906 had most of them."""
_LONGEST = 200


def open_job(
    docket: Docket, number: str, details: Mapping[str, str], *, by: str, another: bool = False
) -> Entry:
    """Open a job.

    Args:
        docket: the record.
        number: the job's.
        details: what the docket says of it, by the keys of `DETAILS`.
        by: initials.
        another: it is another job, though its number looks like that of one there is.

    Raises:
        DocketError: the number is taken, looks like another's, or can't be used.
    """
    name = checked_name(number, "a job's number")
    data: dict[str, Any] = {"details": _details(details)}
    if another:
        data["alike"] = list(alike_among(name, docket.numbers()))

    def draft(job: Job | None) -> Draft:
        if job is not None:
            msg = f"job {visible(name)} is open already; amend it, or give the new one its own"
            raise DocketError(msg)
        return Draft("opened", checked_name(by, "initials"), data)

    return docket.record(name, draft, confirmed=another)


def amend_job(docket: Docket, number: str, details: Mapping[str, str], *, by: str) -> Entry:
    """Change what the docket says of a job; what it said stays on the record."""
    data = {"details": _details(details)}

    def draft(job: Job | None) -> Draft:
        known(job, number)
        return Draft("amended", checked_name(by, "initials"), data)

    return docket.record(number, draft)


def take_copy(docket: Docket, number: str, copy: Copy, original: Original, *, by: str) -> Entry:
    """Record a version of the copy; after the first, with the author's alterations in it.

    Raises:
        DocketError: no such job, or the copy is the one that holds already.
    """
    from proofcheck.docket.overrun import alteration_data

    reckoned: dict[tuple[int, int], dict[str, Any]] = {}

    def alterations(job: Job) -> dict[str, Any]:
        key = len(job.copies), len(job.proofs)
        if key not in reckoned:
            reckoned[key] = alteration_data(docket, job, copy)
        return reckoned[key]

    def draft(job: Job | None) -> Draft:
        held = known(job, number)
        if held.copy is not None and held.copy.sha256 == copy.sha256:
            msg = f"this copy is the one that holds for job {visible(number)} already"
            raise DocketError(msg)
        data = {"text": copy.text, "encoding": copy.encoding, **alterations(held)}
        return Draft("copy", checked_name(by, "initials"), data)

    # Reckoned before anybody is kept waiting; again only if the job went on meanwhile.
    alterations(docket.job(number))
    return docket.record(number, draft, [original])


def pull_proof(docket: Docket, number: str, taken: ProofTaken, *, by: str) -> Entry:
    """Record the next proof of the series; all earlier ones are superseded by it.

    Raises:
        DocketError: the proof was read against copy that is none of this job's, is not of its
            copy, is on record already, here or for another job, or a scan is not the one read.
    """
    report = taken.report
    refuse_strange(docket, number, taken)
    original = Original("report.json", laid_out(report).encode())

    def draft(job: Job | None) -> Draft:
        held = known(job, number)
        version = version_of(held, report)
        refuse_recorded(held, taken)
        altered = held.copies[version - 1].alterations
        fresh = bool(altered) and (held.proof is None or held.proof.copy < version)
        data = {
            "copy": version,
            "verdict": report["verdict"],
            "scans": [{"sha256": s["sha256"], "page": s["page"]} for s in report["scans"]],
            "people": {name: who for name, who in asdict(taken.people).items() if who},
            "report": original.reference()["sha256"],
            "found": [
                *(fault_data(fault, altered if fresh else ()) for fault in report["faults"]),
                *(_finding(finding) for finding in taken.findings),
            ],
            "carried": [found.ref for found in held.open_queries],
            "read": read_data(report, here=taken.here, person=_person(taken)),
        }
        if taken.revise is not None:
            data["revise"] = dict(taken.revise)
        return Draft("proof", checked_name(by, "initials"), data)

    return docket.record(number, draft, [*_once(taken.scans), original])


def stored_copy(docket: Docket, version: CopyVersion) -> Copy:
    """A version of the copy, loaded from its original."""
    from proofcheck.copytext import load_copy

    with tempfile.TemporaryDirectory(prefix="proofcheck-") as folder:
        # Its ending tells what kind of file it is.
        path = Path(folder) / f"copy{Path(version.name).suffix}"
        path.write_bytes(docket.originals.read(version.sha256))
        copy = load_copy(path)
        if copy.text != version.entry.data["text"]:
            copy = load_copy(path, encoding=version.entry.data["encoding"])
    return replace(copy, name=version.name)


def job_copy(docket: Docket, number: str) -> Copy:
    """The copy that holds for a job. Raises DocketError where none is on the docket."""
    version = docket.job(number).copy
    if version is None:
        msg = f"no copy is on the docket of job {visible(number)}; take it in first"
        raise DocketError(msg)
    return stored_copy(docket, version)


def known(job: Job | None, number: str) -> Job:
    """The job, or DocketError where there is none of that number."""
    if job is None:
        msg = f"there is no job {visible(number)}; open it first"
        raise DocketError(msg)
    return job


def checked_name(text: str, what: str) -> str:
    """A name or number that can be shown on one line. Raises DocketError for any other."""
    name = " ".join(text.split())
    if not name or len(name) > _LONGEST or visible(name) != name:
        why = "is empty" if not name else "has signs that can't be seen, or is too long"
        msg = f"{what} {visible(name)[:40]!r} {why}; give another"
        raise DocketError(msg)
    return name


def _details(details: Mapping[str, str]) -> dict[str, str]:
    strange = [key for key in details if key not in DETAILS]
    if strange:
        msg = f"no entry {strange[0]!r} on a docket; there are: {', '.join(DETAILS)}"
        raise DocketError(msg)
    return {key: visible(value) for key, value in details.items()}


def _person(taken: ProofTaken) -> str:
    who = "the name of whoever read the proof"
    return checked_name(taken.person, who) if taken.person else ""


def _finding(finding: Mapping[str, Any]) -> dict[str, Any]:
    usual = {"printed": "", "wanted": "", "copy": [0, 0], "cause": "", "charge": "PE"}
    return {**usual, **finding, "status": "revise"}


def _once(scans: Sequence[Original]) -> list[Original]:
    return list({scan.reference()["sha256"]: scan for scan in scans}.values())
