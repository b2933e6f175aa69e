"""What lies with the originals, held against the record.

A report tells of a fault that the record no longer has; an original lies there that no entry names.

A chain worked out anew over changed entries holds; what it was made from tells on it, as long as
that was not changed along with it.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from proofcheck.base.visible import visible
from proofcheck.docket.proved import read_data
from proofcheck.docket.recorded_fault import fault_data
from proofcheck.docket.shapes import entry_misfit

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from proofcheck.docket.book import Docket
    from proofcheck.docket.chain import Entry
    from proofcheck.results.report_json import Json

__all__ = ["at_odds", "reports_on", "unnamed"]

_ODD = (OSError, ValueError, RecursionError, KeyError, TypeError, IndexError, AttributeError)
"""What data says that is not what it should be."""
_LARGEST = 256 << 20
"""Bytes of a report that no entry names beyond which it is not read."""


def at_odds(docket: Docket, chain: Sequence[Entry]) -> list[str]:
    """Where the entries of one job are not what the reports they name say, a line each."""
    out = []
    copies = [e.originals[0]["sha256"] for e in chain if e.kind == "copy" and e.originals]
    for entry in chain:
        if entry.kind == "proof" and not entry_misfit(entry.kind, entry.data):
            try:
                wrong = _unlike(docket, entry, copies)
            except _ODD:
                wrong = "its report is none"
            if wrong:
                out.append(f"entry {entry.number} (job {visible(entry.job)}) is at odds: {wrong}")
    return out


_SINCE = frozenset({"ems", "program"})
"""What is said of how a proof was read since a later version."""


def _unlike(docket: Docket, entry: Entry, copies: Sequence[str]) -> str:
    """How the entry of a proof is not what its report says; "" if it is."""
    data = entry.data
    named = {original["sha256"] for original in entry.originals}
    scans = [scan["sha256"] for scan in data["scans"]]
    if not {data["report"], *scans} <= named:
        return "its scans or its report are not among its originals"
    report = _report_at(docket, data["report"])
    if [(s["sha256"], s["page"]) for s in report["scans"]] != [
        (s["sha256"], s["page"]) for s in data["scans"]
    ]:
        return "its report is on other scans"
    if copies[data["copy"] - 1 : data["copy"]] != [report["copy"]["sha256"]]:
        return "its report is on other copy"
    if report["verdict"] != data["verdict"]:
        return f"its report says {report['verdict']}, the record {data['verdict']}"
    return _other_faults(data, report) or _other_reading(data, report)


def _other_faults(data: Mapping[str, Any], report: Json) -> str:
    held = {told["id"]: told for told in data["found"] if told["status"] != "revise"}
    told = {fault["id"]: fault_data(fault) for fault in report["faults"]}
    for name in (*(n for n in told if n not in held), *(n for n in held if n not in told)):
        where = "its report tells of" if name in told else "its report has no"
        return f"{where} {name}, which {'is not' if name in told else 'stands'} on the record"
    for name, fault in told.items():
        if {**held[name], "charge": ""} != {**fault, "charge": ""}:
            return f"{name} is not on the record as its report has it"
    return ""


def _other_reading(data: Mapping[str, Any], report: Json) -> str:
    read = data.get("read")
    if read is None:
        return ""
    wanted = {**read_data(report, here=True), "how": read["how"]}
    # What an older version did not put on record says nothing against it.
    said = [name for name in wanted if name in read or name not in _SINCE]
    other = next((name for name in said if wanted[name] != read.get(name)), "")
    return f"its report has it otherwise with what it was read ({other})" if other else ""


def _report_at(docket: Docket, sha256: str) -> Json:
    return dict(json.loads(docket.originals.path(sha256).read_bytes()))


def unnamed(docket: Docket, named: Iterable[str]) -> tuple[str, ...]:
    """Hashes of the originals that no entry names.

    They are of entries taken away, or of a recording that was broken off.
    """
    return tuple(sorted(set(docket.originals.held()) - set(named)))


def reports_on(docket: Docket, hashes: Iterable[str], among: Iterable[str]) -> tuple[str, ...]:
    """Those among originals that are reports on a copy or a scan with one of these hashes."""
    wanted = set(hashes)
    out = []
    for sha256 in among:
        path = docket.originals.path(sha256)
        try:
            with path.open("rb") as held:
                if held.read(1) != b"{" or path.stat().st_size > _LARGEST:
                    continue
            report = _report_at(docket, sha256)
            about = {report["copy"]["sha256"], *(scan["sha256"] for scan in report["scans"])}
        except _ODD:
            continue
        if wanted & about:
            out.append(sha256)
    return tuple(out)
