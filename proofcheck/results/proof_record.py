"""The record of a proof read back: the report as it was, but for the pictures of its sheets."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any, Final

from proofcheck.base.errors import RecordError
from proofcheck.base.visible import visible
from proofcheck.results.record_codec import MisfitError, codec_of
from proofcheck.results.report import Report
from proofcheck.results.report_json import report_to_json
from proofcheck.results.sealing import laid_out, seal_trouble

if TYPE_CHECKING:
    from pathlib import Path

    from proofcheck.results.report_json import Json

__all__ = ["read_record", "report_from_json", "report_from_text"]

_LARGEST: Final = 1 << 30
"""Bytes of a record beyond which it is none."""
_AGAIN: Final = "read the proof again with read --json"


def read_record(path: Path) -> Report:
    """The report that was written to this file.

    Raises:
        RecordError: it can't be read, is no record, holds too little (version 1), or was changed
            since it was written.
    """
    try:
        if path.stat().st_size > _LARGEST:
            msg = f"{visible(str(path))} is too large for the record of a proof"
            raise RecordError(msg)
        text = path.read_bytes().decode("ascii")
    except OSError as error:
        msg = f"{visible(str(path))} can't be read ({error.strerror}); check the path"
        raise RecordError(msg) from error
    except UnicodeDecodeError as error:
        msg = f"{visible(str(path))} is no record of a proof, or was changed; {_AGAIN}"
        raise RecordError(msg) from error
    try:
        return report_from_text(text)
    except RecordError as error:
        msg = f"{visible(str(path))} can't be used: {error}; {_AGAIN}"
        raise RecordError(msg) from error


def report_from_text(text: str) -> Report:
    """The report that `report_text` gave this text for. Raises RecordError as `read_record`."""
    try:
        held = json.loads(text, parse_constant=_no_number)
    except (ValueError, RecursionError) as error:
        msg = "it is no JSON"
        raise RecordError(msg) from error
    report = report_from_json(held)
    if laid_out(held) != text:
        msg = "its text was changed since it was written"
        raise RecordError(msg)
    return report


def report_from_json(held: object) -> Report:
    """The report that `report_to_json` gave this for. Raises RecordError as `read_record`.

    What it tells beside the record (faults, lines, counts …) must be what the record makes.
    """
    if not isinstance(held, dict) or "report" not in held:
        msg = "it is no report of a proof"
        raise RecordError(msg)
    wrong = seal_trouble(held)
    if wrong:
        raise RecordError(wrong)
    if "record" not in held:
        msg = "it is of version 1, which holds too little to draw from"
        raise RecordError(msg)
    try:
        report: Report = codec_of(Report).read(held["record"], "record")
        made = report_to_json(report)
    except MisfitError as error:
        raise RecordError(visible(str(error))) from error
    except (KeyError, ValueError, ArithmeticError) as error:
        msg = "its record speaks of what it does not hold"
        raise RecordError(msg) from error
    _refuse_at_odds(held, made)
    return report


def _refuse_at_odds(held: Json, made: Json) -> None:
    for name, value in held.items():
        if name != "digest" and not _within(value, made.get(name)):
            msg = f"{visible(name)} is not what its record says"
            raise RecordError(msg)


def _within(held: Any, made: Any) -> bool:  # noqa: ANN401
    """Whether all that is held is made too: a later version may make keys an older one did not."""
    if isinstance(held, dict) and isinstance(made, dict):
        return all(name in made and _within(value, made[name]) for name, value in held.items())
    if isinstance(held, list) and isinstance(made, list):
        return len(held) == len(made) and all(map(_within, held, made))
    return bool(held == made)


def _no_number(text: str) -> float:
    msg = f"{text} is no number"
    raise ValueError(msg)
