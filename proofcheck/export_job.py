"""What is said of a proof given out for other programs, from its record alone."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from proofcheck.base.errors import RecordError, SettingError
from proofcheck.base.visible import visible
from proofcheck.base.writing import check_free, write_whole
from proofcheck.results.exchange.alto_xml import alto_xml
from proofcheck.results.exchange.page_xml import page_xml
from proofcheck.results.exchange.told_sheets import told_sheets
from proofcheck.results.exchange.web_annotations import web_annotations
from proofcheck.results.proof_record import read_record
from proofcheck.results.report import exit_status

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from proofcheck.docket.book import Docket
    from proofcheck.results.exchange.web_annotations import Reply
    from proofcheck.results.report import Report

__all__ = ["Exports", "export_from_docket", "export_record"]

_ODD = (ArithmeticError, LookupError, ValueError, MemoryError)
"""What telling says of values that can't be."""


@dataclass(frozen=True, slots=True)
class Exports:
    """Which files are asked for; None for one that is not."""

    page_xml: Path | None = None
    """PAGE XML; several sheets get -1, -2 … before the ending, as ALTO does."""
    alto: Path | None = None
    annotations: Path | None = None
    """Web annotations in JSON-LD, one file for all sheets."""
    overwrite: bool = False


def export_record(record: Path, asked: Exports) -> tuple[list[Path], int]:
    """Write what is asked for from a record; the files, and the status that the reading had.

    Raises:
        SettingError: nothing is asked for.
        RecordError: the record can't be used, or holds no sheet.
        OutputError: a file exists already or can't be written. Nothing is written then unless
            the trouble came up only in writing.
    """
    _refuse_none(asked)
    report = read_record(record)
    name = visible(str(record))
    try:
        return _written(report, asked, (), name), exit_status(report)
    except _ODD as error:
        # Sealed anew with what no reading gives.
        why = visible(f"{type(error).__name__}: {error}")[:80]
        msg = f"{name} can't be told ({why}); read the proof again with read --json"
        raise RecordError(msg) from error


def export_from_docket(
    docket: Docket, number: str, proof: int, asked: Exports
) -> tuple[list[Path], int]:
    """Write what is asked for of a proof on the docket, each decision as a reply to its fault.

    The status is that of what is left to do. `proof` counts from 1; 0 is the latest.

    Raises:
        DocketError: there is no such job or proof, or its record is gone or was changed.
        SettingError, RecordError, OutputError: as `export_record`.
    """
    from proofcheck.docket.decided import as_decided
    from proofcheck.docket.docket_errors import DocketError
    from proofcheck.docket.own_marks import stored_report
    from proofcheck.docket.replies import own_marks_of, replies_of

    _refuse_none(asked)
    job = docket.job(number)
    if job.proof is None or not 0 <= proof <= len(job.proofs):
        msg = f"job {visible(number)} has no proof {proof or 'yet'}"
        raise DocketError(msg)
    held = job.proofs[proof - 1] if proof else job.proof
    read = stored_report(docket, held)
    told = replace(read, faults=(*read.faults, *own_marks_of(read, held)))
    files = _written(told, asked, replies_of(held), f"the proof {held.number} of job {job.number}")
    return files, exit_status(as_decided(read, held, plan=False))


def _refuse_none(asked: Exports) -> None:
    if asked.page_xml is None and asked.alto is None and asked.annotations is None:
        msg = "nothing is asked for; say --page-xml FILE, --alto FILE or --annotations FILE"
        raise SettingError(msg)


def _written(report: Report, asked: Exports, replies: Sequence[Reply], name: str) -> list[Path]:
    if not report.sheets:
        msg = f"{name} holds no sheet: its proof was refused before it was read"
        raise RecordError(msg)
    now = datetime.now(UTC)
    told = told_sheets(report)
    files: list[tuple[Path, bytes | str]] = []
    for path, make in ((asked.page_xml, page_xml), (asked.alto, alto_xml)):
        if path is not None:
            names = _names(path, len(told))
            files += [(each, make(report, t, now)) for each, t in zip(names, told, strict=True)]
    if asked.annotations is not None:
        files.append((asked.annotations, web_annotations(report, told, now, replies)))
    check_free([path for path, _ in files], overwrite=asked.overwrite)
    return [write_whole(path, data, overwrite=asked.overwrite) for path, data in files]


def _names(path: Path, sheets: int) -> list[Path]:
    """The name as given, or NAME-1.xml, NAME-2.xml … for several sheets."""
    if sheets == 1:
        return [path]
    return [path.with_name(f"{path.stem}-{at}{path.suffix}") for at in range(1, sheets + 1)]
