"""Reads a pulled proof against the approved copy and marks what must be reset.

    from proofcheck import check_proof

    report = check_proof("proof.png", "copy.txt")
    for fault in report.faults:
        print(fault.line, fault.kind, fault.mark.words)

The values a report is made of stand in `proofcheck.values` and `proofcheck.report`.
"""

from proofcheck.check import check_proof
from proofcheck.errors import ProofcheckError
from proofcheck.options import Options
from proofcheck.report import Report
from proofcheck.values import Copy, Fault, Kind, Mark, Status, Verdict

__all__ = [
    "Copy",
    "Fault",
    "Kind",
    "Mark",
    "Options",
    "ProofcheckError",
    "Report",
    "Status",
    "Verdict",
    "check_proof",
]
