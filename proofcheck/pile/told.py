"""A pile told in words: what goes with what, and what came of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.base.visible import visible
from proofcheck.pile.summary_page import CALLED

if TYPE_CHECKING:
    from collections.abc import Sequence

    from proofcheck.pile.piled import LeftOut, Pile
    from proofcheck.pile.summing_up import Summary

__all__ = ["pairs_text", "summary_text"]

_MOST = 40
"""Jobs printed one by one; the summary has all."""
_MOST_LEFT = 5


def pairs_text(pile: Pile) -> str:
    """What goes with what, and what with nothing."""
    told = []
    for each in pile.jobs:
        if each.trouble:
            told.append(f"{each.job}: NOT PAIRED: {each.trouble}")
        else:
            scans = ", ".join(scan.name for scan in each.scans)
            told.append(f"{each.job}: {scans} with {each.copy.name if each.copy else ''}")
            told += [f"{each.job}: {note}" for note in each.notes]
    told += _left(pile.left)
    return "".join(f"{visible(line)}\n" for line in told)


def summary_text(summary: Summary, closing: str) -> str:
    """The worst first, as far as they are not clean; then how many of each, and how fast."""
    told = [row for row in summary.worst_first if row.status or row.notes]
    width = min(max((len(row.job) for row in told[:_MOST]), default=0), 30)
    lines = [f"{row.job.ljust(width)}  {CALLED[row.verdict]}: {row.what}" for row in told[:_MOST]]
    if len(told) > _MOST:
        lines.append(f"and {len(told) - _MOST:,} more that are not clean")
    lines += _left(summary.left)
    counted = ", ".join(f"{count:,} {CALLED[name]}" for name, count in summary.counted().items())
    jobs = len(summary.rows)
    lines.append(f"{jobs:,} {'job' if jobs == 1 else 'jobs'}: {counted}.")
    lines.append(closing)
    return "".join(f"{visible(line)}\n" for line in lines)


def _left(left: Sequence[LeftOut]) -> list[str]:
    lines = [f"left out: {each.name} ({each.why})" for each in left[:_MOST_LEFT]]
    if len(left) > _MOST_LEFT:
        lines.append(f"left out: {len(left) - _MOST_LEFT:,} files more")
    return lines
