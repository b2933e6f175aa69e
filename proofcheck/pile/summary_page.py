"""The summary of a pile as a page: every job in one row, the worst first."""

from __future__ import annotations

import base64
import hashlib
from importlib import resources
from typing import TYPE_CHECKING
from urllib.parse import quote

import jinja2
from markupsafe import Markup

from proofcheck.base.visible import visible

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.pile.summing_up import Summary

__all__ = ["CALLED", "how_fast", "summary_html"]

CALLED = {
    "not-read": "not read",
    "unreadable": "unreadable",
    "mismatch": "not its copy",
    "not-wholly-read": "not wholly read",
    "faults": "faults",
    "queries": "queries",
    "clean": "clean",
}
"""Each verdict as a person says it."""
_TONE = dict.fromkeys(CALLED, "bad") | {"queries": "ask", "clean": "well"}
_MOST_LEFT = 200
_MOST_SHEETS = 4


def summary_html(summary: Summary, title: str) -> str:
    """The page; it needs nothing beside it, and links to the page of each job."""
    css = _text("summary.css")
    digest = base64.b64encode(hashlib.sha256(css.encode("utf-8")).digest()).decode("ascii")
    house = jinja2.Environment(
        autoescape=True, undefined=jinja2.StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    house.filters["v"] = lambda text: visible(str(text))
    house.filters["address"] = quote
    house.filters["sheets"] = _sheets
    return house.from_string(
        _text("summary.html")
    ).render(
        title=visible(title),
        css=Markup(css),  # noqa: S704 - the package's own file
        css_hash=f"sha256-{digest}",
        counts=summary.counted(),
        called=CALLED,
        tone=_TONE,
        rows=summary.worst_first,
        left=summary.left[:_MOST_LEFT],
        foot=how_fast(summary),
    )


def how_fast(summary: Summary) -> str:
    """One line on what was read on this call, how quickly and in how much memory."""
    before = sum(row.read_before for row in summary.rows)
    told = f"{summary.read_now:,} {'sheet' if summary.read_now == 1 else 'sheets'} read"
    if summary.read_now:
        each = summary.seconds / summary.read_now
        cost = summary.processor_s / summary.read_now
        told += f" in {summary.seconds:,.1f} s by {summary.workers} "
        told += f"{'worker' if summary.workers == 1 else 'workers'} ({each:.2f} s a sheet, "
        told += f"{cost:.2f} s of one core)"
    if summary.peaks:
        told += f"; at most {max(summary.peaks.values()):,} MiB of memory a worker"
        told += f" of {summary.memory_mib:,} allowed" if summary.memory_mib else ""
    if before:
        told += f"; {before:,} {'job was' if before == 1 else 'jobs were'} read before"
    return f"{told}."


def _sheets(scans: Sequence[str]) -> str:
    """Names of scans, of many the first and the last."""
    shown = list(scans)
    if len(shown) > _MOST_SHEETS:
        shown = [shown[0], shown[1], "…", shown[-1]]
    return visible(", ".join(shown))


def _text(name: str) -> str:
    return resources.files("proofcheck.pile").joinpath("templates", name).read_text("utf-8")
