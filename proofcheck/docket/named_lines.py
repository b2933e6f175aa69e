"""What the lines of a job's proofs are called: of several sheets by sheet and line."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

from proofcheck.base.errors import ProofcheckError
from proofcheck.results.line_names import PLAIN, LineNames

if TYPE_CHECKING:
    from collections.abc import Mapping

    from proofcheck.docket.book import Docket
    from proofcheck.docket.facts import ProofPulled
    from proofcheck.docket.job import Job

__all__ = ["named_lines"]


def named_lines(docket: Docket, job: Job) -> Mapping[int, LineNames]:
    """The names by the number of the proof; they stand in the reports, not in the entries."""
    return {proof.number: _of_proof(docket, proof) for proof in job.proofs}


def _of_proof(docket: Docket, proof: ProofPulled) -> LineNames:
    """Those of one proof; plain numbers where its report can't be had."""
    if len(proof.scans) < 2:
        return PLAIN
    try:
        held = json.loads(docket.originals.read(proof.report_sha256))["lines"]
        lines = [(int(line["number"]), int(line["scan"])) for line in held]
    except (ProofcheckError, ValueError, KeyError, TypeError):
        return PLAIN
    counted: dict[int, int] = {}
    named: dict[int, str] = {}
    for number, sheet in lines:
        counted[sheet] = counted.get(sheet, 0) + 1
        named[number] = f"{sheet + 1}·{counted[sheet]}"
    return LineNames(named)
