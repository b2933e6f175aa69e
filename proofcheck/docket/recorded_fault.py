"""A fault of a report as the record has it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from proofcheck.docket.alterations import charge_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from proofcheck.results.report_json import Json

__all__ = ["fault_data"]


def fault_data(fault: Json, altered: Sequence[Mapping[str, Any]] = ()) -> dict[str, Any]:
    """What the record says of a fault.

    Args:
        fault: as the report has it, in its JSON form.
        altered: alterations of the copy that this proof is the first to be read against.
    """
    span = (fault["copy"]["start"], fault["copy"]["end"])
    printed = fault["proof"]["text"]
    return {
        "id": fault["id"],
        "kind": fault["kind"],
        "line": fault["line"],
        "words": fault["mark"]["words"],
        "printed": printed,
        "wanted": fault["copy"]["text"],
        "copy": list(span),
        "status": fault["status"],
        "cause": fault["cause"] or "",
        "charge": charge_of(span, printed, altered),
    }
