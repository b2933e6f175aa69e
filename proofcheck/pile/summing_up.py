"""The summary of a pile: every job in one row, the worst first, as CSV and as JSON."""

from __future__ import annotations

import csv
import io
import json
from collections import Counter
from dataclasses import asdict, dataclass, field
from typing import Any

from proofcheck.pile.piled import LeftOut, natural
from proofcheck.results.lists import cell
from proofcheck.results.report import program_version

__all__ = ["VERDICTS", "Row", "Summary", "summary_csv", "summary_json"]

VERDICTS = (
    "not-read", "unreadable", "mismatch", "not-wholly-read", "faults", "queries", "clean",
)  # fmt: skip
"""From the worst on. The first is of the pile alone: the job was never brought before a reader."""
COLUMNS = (
    "job", "status", "verdict", "faults", "queries", "unread", "sheets", "what", "notes", "folder",
    "read_before", "seconds", "processor_s", "peak_mib",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Row:
    """One job."""

    job: str
    status: int
    verdict: str
    what: str
    """One line."""
    faults: int = 0
    queries: int = 0
    unread: int = 0
    sheets: int = 0
    scans: tuple[str, ...] = ()
    copy: str = ""
    notes: tuple[str, ...] = ()
    folder: str = ""
    """Of its papers, within that of the results; "" where there are none."""
    papers: tuple[str, ...] = ()
    read_before: bool = False
    """It was read on an earlier call, and nothing has changed since."""
    seconds: float = 0.0
    processor_s: float = 0.0
    """Seconds of one core that it took."""
    peak_mib: int = 0
    trace: str = ""

    @property
    def page(self) -> str:
        """Its page to look through, within the folder of the results; "" for none."""
        name = next((name for name in self.papers if name.endswith("-marked.html")), "")
        return f"{self.folder}/{name}" if name else ""


@dataclass(frozen=True, slots=True)
class Summary:
    """All of a pile."""

    rows: tuple[Row, ...]
    left: tuple[LeftOut, ...] = ()
    workers: int = 1
    memory_mib: int = 0
    """The most each worker might have; 0 for no bound."""
    peaks: dict[str, int] = field(default_factory=dict)
    """The most memory each worker had (MiB)."""
    seconds: float = 0.0

    @property
    def status(self) -> int:
        """The worst of all."""
        return max((row.status for row in self.rows), default=0)

    @property
    def worst_first(self) -> tuple[Row, ...]:
        """The rows in order: the worst verdict first, and within it where most was found."""
        return tuple(
            sorted(
                self.rows,
                key=lambda row: (
                    -row.status, VERDICTS.index(row.verdict), -row.faults, -row.unread,
                    -row.queries, natural(row.job),
                ),
            )
        )  # fmt: skip

    def counted(self) -> dict[str, int]:
        """How many jobs have each verdict, from the worst on; those that none has left out."""
        held = Counter(row.verdict for row in self.rows)
        return {verdict: held[verdict] for verdict in VERDICTS if held[verdict]}

    @property
    def processor_s(self) -> float:
        """Seconds of one core that the sheets read on this call took."""
        return sum(row.processor_s for row in self.rows if not row.read_before)

    @property
    def read_now(self) -> int:
        """How many sheets were read on this call."""
        return sum(row.sheets for row in self.rows if not row.read_before)


def summary_csv(summary: Summary) -> bytes:
    """As CSV for spreadsheets (RFC 4180, UTF-8 with a mark), a row a job."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, quoting=csv.QUOTE_NONNUMERIC, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for row in summary.worst_first:
        told = asdict(row) | {
            "notes": "; ".join(row.notes), "read_before": "yes" if row.read_before else "no"
        }  # fmt: skip
        values = [told[column] for column in COLUMNS]
        writer.writerow([cell(each) if isinstance(each, str) else each for each in values])
    return out.getvalue().encode("utf-8-sig")


def summary_json(summary: Summary) -> bytes:
    """As JSON for programs."""
    told: dict[str, Any] = {
        "program": f"proofcheck {program_version()}",
        "status": summary.status,
        "counts": summary.counted(),
        "jobs": [_told(row) for row in summary.worst_first],
        "left_out": [asdict(each) for each in summary.left],
        "workers": summary.workers,
        "memory_mib": summary.memory_mib,
        "peak_mib": summary.peaks,
        "seconds": round(summary.seconds, 3),
        "sheets_read": summary.read_now,
        "processor_s": round(summary.processor_s, 3),
    }
    return (json.dumps(told, indent=1, ensure_ascii=False) + "\n").encode()


def _told(row: Row) -> dict[str, Any]:
    held = asdict(row)
    if not row.trace:
        del held["trace"]
    return held
