"""The earlier proof of a revise: from its record where one will do, else read again."""

from __future__ import annotations

import json
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Final

from proofcheck.base.errors import RecordError
from proofcheck.base.visible import visible
from proofcheck.check import check_proof
from proofcheck.docket.proved import HERE
from proofcheck.results.program_hash import program_sha256
from proofcheck.results.proof_record import read_record, report_from_json
from proofcheck.results.report import program_version
from proofcheck.results.sheets_again import with_pictures
from proofcheck.revise.revise_errors import ReviseError

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from proofcheck.base.options import Options
    from proofcheck.base.values import Copy
    from proofcheck.docket import Docket
    from proofcheck.docket.facts import ProofPulled
    from proofcheck.docket.job import Job
    from proofcheck.results.report import Report

__all__ = ["earlier_of_files", "earlier_of_job"]

_RECORD: Final = ".json"


def earlier_of_files(
    files: Sequence[Path], copy: Copy, options: Options, tell: Callable[[str], None]
) -> Report:
    """The earlier proof from its scans; or from its record and its scans, without reading them.

    Args:
        files: its scans in order; among them its record (`.json`), if there is one.
        copy: what it was set from.
        options: the shop's choices.
        tell: called with a few words on what is under way.

    Raises:
        ReviseError: two records, a record without scans, or one of another copy or not judged.
        RecordError: as `read_record`, `with_pictures`.
    """
    records = [path for path in files if path.suffix.lower() == _RECORD]
    scans = [path for path in files if path not in records]
    if not records:
        return check_proof(scans, copy, options=options, tell=tell)
    name = visible(str(records[0]))
    if len(records) > 1 or not scans:
        msg = (
            f"{name}: give one record of the earlier proof, and with it the scans it was read from"
        )
        raise ReviseError(msg)
    report = read_record(records[0])
    if report.copy.text != copy.text or not report.judged:
        msg = (
            f"{name}: it is the record of a proof of other copy than {visible(copy.name)}; name "
            "the copy it was set from with --old-copy"
        )
        raise ReviseError(msg)
    return with_pictures(report, scans)


def earlier_of_job(docket: Docket, job: Job, copy: Copy, options: Options) -> Report:
    """The last proof of a job: as it was read, where it would be read so now; else read anew.

    What was taken in from elsewhere is always read anew: its report is another's word.

    Args:
        docket: the record.
        job: the job, which has a proof.
        copy: what that proof was set from.
        options: the shop's choices.
    """
    proof = job.proofs[-1]
    with tempfile.TemporaryDirectory(prefix="proofcheck-") as folder:
        scans = []
        for number, sha256 in enumerate(proof.hashes, 1):
            scans.append(Path(folder) / f"proof-{number}")
            scans[-1].write_bytes(docket.originals.read(sha256))
        try:
            held = report_from_json(json.loads(docket.originals.read(proof.report_sha256)))
            if not job.taken_in and _would_be_read_so(held, proof, copy, options):
                return with_pictures(held, scans)
        except (RecordError, ValueError, RecursionError):
            pass
        return check_proof(scans, copy, options=options)


def _would_be_read_so(held: Report, proof: ProofPulled, copy: Copy, options: Options) -> bool:
    made = held.provenance
    return (
        (proof.read or {}).get("how") == HERE
        and held.judged
        and held.copy.text == copy.text
        and made.version == program_version()
        and made.program in {"", program_sha256()}
        and dict(made.settings) == options.as_settings()
    )
