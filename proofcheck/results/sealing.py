"""A report's JSON sealed with a digest over itself, and the one way it is laid out as text.

The digest is SHA-256 over the values, keys in their order by code point, with nothing between
them (JSON in ASCII); so that it holds however the text is laid out. That the text itself is as it
was written shows by laying the values out again.
"""

from __future__ import annotations

import hashlib
import json
from typing import TYPE_CHECKING, Any, Final

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["laid_out", "seal_trouble", "sealed"]

_PLACE: Final = '\n "record": 0'
"""Stands for the record while the rest is laid out. No other key of the report begins a line at
this depth, and within a text the quotes would be written otherwise."""


def sealed(report: Mapping[str, Any]) -> dict[str, Any]:
    """The report with the digest over all of it but the digest, which comes last."""
    bare = {name: value for name, value in report.items() if name != "digest"}
    return {**bare, "digest": _digest(bare)}


def seal_trouble(report: Mapping[str, Any]) -> str:
    """What of a report's JSON shows that it was changed since it was written; "" if nothing.

    Version 1 has no digest.
    """
    if "digest" not in report:
        first = report.get("report") == 1 and "record" not in report
        return "" if first else "its digest is missing"
    if report.get("report") == 1:
        return "it says version 1, which has no digest"
    bare = {name: value for name, value in report.items() if name != "digest"}
    return "" if report["digest"] == _digest(bare) else "it was changed since it was written"


def laid_out(report: Mapping[str, Any]) -> str:
    """The report as text in ASCII, ending in a line end; the record is all on one line."""
    if "record" not in report:
        return json.dumps(report, indent=1, allow_nan=False) + "\n"
    text = json.dumps({**report, "record": 0}, indent=1, allow_nan=False) + "\n"
    record = json.dumps(report["record"], separators=(",", ":"), allow_nan=False)
    before, place, after = text.partition(_PLACE)
    return before + place[:-1] + record + after


def _digest(bare: Mapping[str, Any]) -> str:
    text = json.dumps(bare, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode("ascii")).hexdigest()
