"""What taking a marked proof in came to, for a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.base.visible import visible
from proofcheck.docket.record_words import counted

if TYPE_CHECKING:
    from proofcheck.docket.taken_lines import TakenIn

__all__ = ["taken_summary", "taken_text"]


def taken_summary(taken: TakenIn, *, only_show: bool) -> str:
    """In a line."""
    recorded = sum(line.recorded for line in taken.lines)
    before = sum(line.before for line in taken.lines)
    head = f"Job {visible(taken.job)}, proof {taken.proof}: "
    if not taken.lines:
        return f"{head}nothing was answered or marked on it"
    said = f"{counted(recorded, 'thing')} {'to record' if only_show else 'recorded'}"
    said += f", {before} nothing new" if before else ""
    return head + said + (f", {taken.left} to be seen to" if taken.left else "")


def taken_text(taken: TakenIn, *, only_show: bool) -> str:
    """All of it, a line each."""
    signs = {(True, False): "+", (False, True): "=", (False, False): "!"}
    lines = [f"  {signs[line.recorded, line.before]} {line.words}" for line in taken.lines]
    return "\n".join([taken_summary(taken, only_show=only_show), *lines]) + "\n"
