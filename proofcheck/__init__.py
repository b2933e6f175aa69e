"""Reads a pulled proof against the approved copy and marks what must be reset.

    from proofcheck import check_proof

    report = check_proof("proof.png", "copy.txt")
    for fault in report.faults:
        print(fault.line, fault.kind, fault.mark.words)

The values a report is made of stand in `proofcheck.base.values` and `proofcheck.results.report`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from proofcheck.base.errors import ProofcheckError
    from proofcheck.base.found import Fault, Mark, Status, Verdict
    from proofcheck.base.kinds import Kind
    from proofcheck.base.options import Options
    from proofcheck.base.values import Copy
    from proofcheck.check import check_proof
    from proofcheck.results.report import Report

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

_ROOMS = {
    "Copy": "base.values",
    "Fault": "base.found",
    "Kind": "base.kinds",
    "Mark": "base.found",
    "Options": "base.options",
    "ProofcheckError": "base.errors",
    "Report": "results.report",
    "Status": "base.found",
    "Verdict": "base.found",
    "check_proof": "check",
}
"""Where each name comes from."""


def __getattr__(name: str) -> object:
    """Load what is asked for when it is asked for: the program starts before its libraries."""
    if name not in __all__:
        msg = f"module {__name__!r} has no attribute {name!r}"
        raise AttributeError(msg)
    from importlib import import_module

    return getattr(import_module(f"{__name__}.{_ROOMS[name]}"), name)
