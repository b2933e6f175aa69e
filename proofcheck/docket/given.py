"""What a person hands in, in words or as a file: a report made before, a day, a link noted."""

from __future__ import annotations

import json
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, cast

from proofcheck.base.errors import RecordError
from proofcheck.base.visible import visible
from proofcheck.docket.checkpoint import Anchor, anchor_of
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.shapes import report_misfit
from proofcheck.results.sealing import seal_trouble

if TYPE_CHECKING:
    from proofcheck.docket.book import Docket
    from proofcheck.results.report_json import Json

_NOTED = 4096
"""Bytes of a file with a link noted, at most."""
__all__ = [
    "day_of", "noted_link", "record_trouble", "report_at", "report_trouble", "stamp_words",
]  # fmt: skip

_LARGEST = 256 << 20
"""Bytes of a report beyond which it is none."""


def report_at(path: Path, *, by_hand: bool = False) -> Json:
    """The record of a proof that was read elsewhere, every byte as it was written.

    Args:
        path: the file.
        by_hand: it is no record of a reading, but what a person found with his own eyes.

    Raises:
        DocketError: it is none.
    """
    wrong = "it is no JSON"
    try:
        if path.stat().st_size > _LARGEST:
            msg = f"{visible(str(path))} is too large for a report of a proof"
            raise DocketError(msg)
        text = path.read_text("utf-8")
        found = json.loads(text, parse_constant=_no_number)
        wrong = report_trouble(found) or seal_trouble(found)
        if not wrong and not by_hand:
            wrong = record_trouble(found, text)
    except OSError as error:
        msg = f"{visible(str(path))} can't be read ({error.strerror}); check the path"
        raise DocketError(msg) from error
    except (ValueError, RecursionError):
        found = None
    if found is None or wrong:
        msg = (
            f"{visible(str(path))} is no report of a proof ({visible(wrong)}); make one with "
            "read --json"
        )
        msg += "" if by_hand else ", or say with --read-by which person read the proof"
        raise DocketError(msg)
    return dict(found)


def _no_number(text: str) -> float:
    msg = f"{text} is no number"
    raise ValueError(msg)


def record_trouble(report: Json, text: str = "") -> str:
    """What shows that a report is not the record of a reading, as it was written; "" if it is.

    Args:
        report: in its JSON form, of the right shape.
        text: as it stood in its file, where it came from one.
    """
    if "record" not in report:
        return "it holds no record of a reading: version 1, or made by hand"
    if not report["made"].get("version") or not report["made"].get("reader"):
        return "it does not say with what it was read"
    if not text:
        return seal_trouble(report)
    from proofcheck.results.proof_record import report_from_text

    try:
        report_from_text(text)
    except RecordError as error:
        return str(error)
    return ""


def report_trouble(report: object) -> str:
    """What is wrong with a report in its JSON form: its shape, or parts at odds; "" if nothing."""
    return report_misfit(report) or _at_odds(cast("Json", report))


def _at_odds(report: Json) -> str:
    scans, length = len(report["scans"]), report["copy"]["characters"]
    faults, lines = report["faults"], report["lines"]
    stati = [fault["status"] for fault in faults]
    numbers = {0, *(line["number"] for line in lines)}
    spans = [line["copy"] for line in lines if line["copy"] is not None]
    spans += [[f["copy"]["start"], f["copy"]["end"]] for f in (*faults, *report.get("let_go", ()))]
    checks = {
        "a fault is named twice": len({fault["id"] for fault in faults}) == len(faults),
        "a line is numbered twice": len(numbers) == len(lines) + 1,
        "its faults are not as many as it counts": report["counts"]
        == {"faults": stati.count("fault"), "queries": stati.count("query")},
        "its verdict is not that of its faults": _verdict_fits(report, stati),
        "a fault stands on a line that is not there": all(f["line"] in numbers for f in faults),
        "something stands on a scan that is not there": all(
            one["scan"] < scans
            for part in ("lines", "faults", "let_go", "unread")
            for one in report.get(part, ())
        ),
        "a stretch of copy is none": all(a <= b <= length for a, b in spans),
    }
    return next((words for words, right in checks.items() if not right), "")


def _verdict_fits(report: Json, stati: list[str]) -> bool:
    """Whether the verdict is one that these faults and queries can have."""
    if report["verdict"] in {"mismatch", "unreadable"}:
        return True
    if "fault" in stati:
        return bool(report["verdict"] == "faults")
    unread = "not-wholly-read" if report.get("unread") else None
    return report["verdict"] in {"queries" if stati else "clean", unread}


def day_of(text: str, docket: Docket) -> date:
    """A day as 2026-05-04, or "today" by the shop's clock. Raises DocketError for any other."""
    if text == "today":
        return docket.clock().astimezone(docket.shop.clock_zone()).date()
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        msg = f"no day {visible(text)!r}; write it as 2026-05-04, or today"
        raise DocketError(msg) from error


def noted_link(text: str) -> Anchor | None:
    """A link noted earlier, in words or in a file; None for "". DocketError for any other."""
    path = Path(text.strip())
    try:
        if text.strip() and path.is_file() and path.stat().st_size < _NOTED:
            return anchor_of(path.read_text("utf-8", "replace"))
    except (OSError, ValueError):
        # No name that a file could have.
        pass
    return anchor_of(text)


def stamp_words(noted: str, stamp: Path | None, authority: Path | None) -> tuple[str, ...]:
    """What a time-stamp says of the link that is noted in a file; () where none is given.

    Raises:
        DocketError: one of the three is wanting or can't be read, or it is no stamp of that link.
    """
    if stamp is None and authority is None:
        return ()
    if stamp is None or authority is None or not Path(noted).is_file():
        msg = (
            "a time-stamp is held against the link it was made for: give the file with the link "
            "(--noted), the time-stamp (--stamp) and its authority's certificates (--authority)"
        )
        raise DocketError(msg)
    from proofcheck.docket.time_stamp import stamped_at

    try:
        parts = [path.read_bytes() for path in (Path(noted), stamp, authority)]
    except OSError as error:
        msg = f"{visible(str(error.filename))} can't be read ({error.strerror}); check the path"
        raise DocketError(msg) from error
    text = parts[0].decode("utf-8", "replace")
    anchor = anchor_of(text)
    if anchor is None or not text.isascii():
        msg = f"{visible(noted)} holds no link"
        raise DocketError(msg)
    at = stamped_at(text, parts[1], parts[2], stamp.name)
    return (f"link {anchor.number} was time-stamped {at:%d %b %Y %H:%M:%S} UTC",)
