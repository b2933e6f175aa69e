"""Whole lines too many: foreign, run-down, doubled."""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.base.found import Cause, Difference
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Span

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from proofcheck.collate.setting import Setting

__all__ = ["doubled_lines", "foreign_lines", "is_run_down"]

_RUN_DOWN = ("etaoin", "shrdlu")
_MATTER = 10
"""Words from which on foreign lines together are matter, not scraps."""


def is_run_down(text: str) -> bool:
    """Whether a line holds the run of keys that fills out a slug to be thrown away.

    The two first columns of the keyboard, as the trade's own histories tell.
    """
    close = "".join(text.split()).casefold()
    return any(run in close for run in _RUN_DOWN)


def foreign_lines(
    foreign: Sequence[int], run_down: frozenset[int], setting: Setting, gaps: Mapping[int, int]
) -> list[Difference]:
    """One difference a run of lines that are not in the copy; a run-down line is always its own.

    Args:
        foreign: places in the proof, rising.
        run_down: which of them are run-down lines.
        setting: the printed lines.
        gaps: for each, the copy position it stands at.
    """
    runs: list[list[int]] = []
    for at in foreign:
        together = runs and at == runs[-1][-1] + 1
        if together and at not in run_down and runs[-1][-1] not in run_down:
            runs[-1].append(at)
        else:
            runs.append([at])
    out = []
    for run in runs:
        words = sum(len(setting.readings[at].text.split()) for at in run)
        other_job = Cause.OTHER_JOB if len(run) > 1 and words >= _MATTER else None
        cause = Cause.RUN_DOWN_LINE if run[0] in run_down else other_job
        rest = tuple(setting.readings[at].line for at in run[1:])
        out.append(_whole(Kind.LINE_FOREIGN, run[0], setting, gaps[run[0]], cause, rest))
    return out


def doubled_lines(
    doubled: Mapping[int, int], setting: Setting, gaps: Mapping[int, int]
) -> list[Difference]:
    """One difference for each line that stands twice, at the second."""
    return [
        _whole(
            Kind.LINE_DOUBLED,
            at,
            setting,
            gaps[at],
            Cause.SLUG_LEFT_IN,
            (setting.readings[first].line,),
        )
        for at, first in sorted(doubled.items())
    ]


def _whole(
    kind: Kind,
    at: int,
    setting: Setting,
    gap: int,
    cause: Cause | None,
    others: tuple[int, ...],
) -> Difference:
    """A difference that is a whole printed line too many."""
    reading = setting.readings[at]
    text = reading.text
    return Difference(
        kind=kind,
        line=reading.line,
        proof=Span(0, len(text)),
        proof_text=text,
        copy=Span(gap, gap),
        copy_text="",
        cause=cause,
        other_lines=others,
    )
