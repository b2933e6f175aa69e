"""A proof to be recorded, and why one is not."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from proofcheck.base.visible import visible
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.given import record_trouble, report_trouble
from proofcheck.results.report_json import report_to_json

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from proofcheck.docket.book import Docket
    from proofcheck.docket.job import Job
    from proofcheck.docket.originals import Original
    from proofcheck.results.report import Report
    from proofcheck.results.report_json import Json

__all__ = ["People", "ProofTaken", "refuse_recorded", "refuse_strange", "version_of"]


@dataclass(frozen=True, slots=True)
class People:
    """Who worked on a proof, by initials; "" where not named."""

    reader: str = ""
    copyholder: str = ""
    operator: str = ""
    corrector: str = ""


@dataclass(frozen=True, slots=True)
class ProofTaken:
    """A proof to be recorded: what was read on it, and with whose hands."""

    report: Json
    """The report in its JSON form (`results.report_json.report_to_json`)."""
    scans: tuple[Original, ...]
    """The files of its scans, in order."""
    people: People = field(default_factory=People)
    revise: Mapping[str, Any] | None = None
    """What laying it on the proof before showed (`revise.record.revise_data`)."""
    findings: tuple[Mapping[str, Any], ...] = ()
    """What the revise itself showed, each like a fault: id, kind, line, words."""
    here: bool = False
    """Whether the report was read for this recording; else it was taken in, made elsewhere, and a
    person must answer for it before the press."""
    person: str = ""
    """Who read the proof, where the report was made by hand and not by reading it."""

    @classmethod
    def of(cls, report: Report, scans: Sequence[Original], people: People) -> ProofTaken:
        """A proof just read."""
        return cls(report_to_json(report), tuple(scans), people, here=True)


def version_of(job: Job, report: Json) -> int:
    """The version of the job's copy a proof was read against. Raises DocketError for none."""
    sha256, length = report["copy"]["sha256"], report["copy"]["characters"]
    for version in reversed(job.copies):
        if version.sha256 == sha256 and len(version.entry.data["text"]) == length:
            return version.number
    msg = (
        f"the proof was read against copy that is not on the docket of job {visible(job.number)} "
        f"({sha256[:12]}…); record that copy first, or read the proof against the job's own"
    )
    raise DocketError(msg)


def refuse_strange(docket: Docket, number: str, taken: ProofTaken) -> None:
    """Raise DocketError for what is no report, or not one of these scans and this job."""
    report = taken.report
    wrong = report_trouble(report)
    if not wrong and not taken.here and not taken.person:
        wrong = record_trouble(report)
    if wrong:
        msg = f"the report can't be recorded for job {visible(number)}: {wrong}"
        raise DocketError(msg)
    if report["verdict"] in ("mismatch", "unreadable"):
        what = (
            "is not of this copy; it looks like a proof of another job"
            if report["verdict"] == "mismatch"
            else "could not be judged; scan it again"
        )
        msg = f"the proof {what}, and was not recorded for job {visible(number)}"
        raise DocketError(msg)
    read = list(dict.fromkeys(scan["sha256"] for scan in report["scans"]))
    given = list(dict.fromkeys(scan.reference()["sha256"] for scan in taken.scans))
    if sorted(read) == sorted(given) and read != given:
        msg = "the scans are in another order than they were read in; give them in that order"
        raise DocketError(msg)
    if read != given:
        msg = "a scan is not the one that was read; read the proof again from these scans"
        raise DocketError(msg)
    for other in docket.jobs_naming(read):
        for proof in other.proofs:
            if other.number != number and set(proof.hashes) & set(read):
                msg = (
                    f"this is the {proof.name} of job {visible(other.number)}, not a proof of "
                    f"job {visible(number)}; nothing was recorded"
                )
                raise DocketError(msg)


def refuse_recorded(job: Job, taken: ProofTaken) -> None:
    """Raise DocketError for a proof that is on record already."""
    read = {scan["sha256"] for scan in taken.report["scans"]}
    for proof in job.proofs:
        if read & set(proof.hashes):
            msg = f"this is the {proof.name} of job {visible(job.number)}, on record already"
            raise DocketError(msg)
