"""The shop's figures on a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.base.visible import visible
from proofcheck.docket.record_words import counted
from proofcheck.docket.shop_figures import GROUPS
from proofcheck.docket.show import table

if TYPE_CHECKING:
    from proofcheck.docket.shop_figures import ShopFigures

__all__ = ["judged_words", "rate_words", "shop_text"]

_SHOWN = 20


def rate_words(rate: float | None) -> str:
    """A figure for a thousand ems; a dash where it is not known."""
    return "–" if rate is None else f"{rate:.2f}"


def judged_words(figures: ShopFigures) -> str:
    """What the tool alleged wrongly and what it missed, in a line."""
    whole = figures.whole
    words = f"Alleged of sound type: {whole.wrongly}"
    if whole.wrongly_a_thousand is not None:
        words += f", {whole.wrongly_a_thousand:.2f} for a thousand ems"
    return f"{words}; seen by a reader and not by the tool: {whole.missed} of {whole.faults}"


def shop_text(figures: ShopFigures) -> str:
    """All of them, the first of each group."""
    whole = figures.whole
    head = f"{counted(whole.faults, 'fault')} on {counted(whole.proofs, 'proof')}"
    if whole.ems:
        head += f", {whole.ems:,} ems; {rate_words(whole.a_thousand)} for a thousand ems"
    lines = [head, judged_words(figures)]
    for group, title in GROUPS.items():
        rows = figures.of(group)
        if not rows:
            continue
        rows = rows[-_SHOWN:] if group == "week" else rows[:_SHOWN]
        told = [("", "faults", "a 1000 ems", "missed", "wrongly alleged")]
        told += [
            (visible(r.name), str(r.faults), rate_words(r.a_thousand), str(r.missed),
             str(r.wrongly))
            for r in rows
        ]  # fmt: skip
        lines += ["", title, *("  " + line for line in table(told))]
    return "\n".join(lines) + "\n"
