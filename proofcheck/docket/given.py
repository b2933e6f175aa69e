"""What a person hands in, in words or as a file: a report made before, a day, a link noted."""

from __future__ import annotations

import json
from datetime import date
from typing import TYPE_CHECKING

from proofcheck.docket.troubles import DocketError
from proofcheck.visible import visible

if TYPE_CHECKING:
    from pathlib import Path

    from proofcheck.docket.book import Docket
    from proofcheck.report import Json

__all__ = ["day_of", "noted_link", "report_at"]

_NEEDED = {
    "scans": {"sha256", "page", "dpi", "turned_deg"},
    "lines": {"number", "scan", "column", "box", "body_pt", "text", "copy"},
    "faults": {"id", "kind", "line", "copy", "proof", "mark", "status", "cause"},
}
"""What the docket takes from each part of a report."""


def report_at(path: Path) -> Json:
    """The report (JSON) of a proof read before. Raises DocketError where it is none."""
    try:
        found = json.loads(path.read_text("utf-8"))
        whole = found["report"] == 1 and "verdict" in found and "sha256" in found["copy"]
        for part, keys in _NEEDED.items():
            whole = whole and all(keys <= set(one) for one in found[part])
        if not whole:
            raise KeyError("report")  # noqa: TRY301 - one message for all that is no report
    except (OSError, ValueError, KeyError, TypeError) as error:
        msg = f"{visible(str(path))} is no report of a proof; make one with read --json"
        raise DocketError(msg) from error
    return dict(found)


def day_of(text: str, docket: Docket) -> date:
    """A day as 2026-05-04, or "today" by the shop's clock. Raises DocketError for any other."""
    if text == "today":
        return docket.clock().astimezone(docket.shop.clock_zone()).date()
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        msg = f"no day {visible(text)!r}; write it as 2026-05-04, or today"
        raise DocketError(msg) from error


def noted_link(text: str) -> tuple[int, str] | None:
    """A link written down earlier, as NUMBER:LINK; None for "". DocketError for any other."""
    if not text:
        return None
    number, _, link = text.partition(":")
    if not (number.isascii() and number.isdigit() and link):
        msg = f"no link {visible(text)!r}; it is written NUMBER:LINK, as verify shows it"
        raise DocketError(msg)
    return int(number), link.strip()
