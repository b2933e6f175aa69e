"""The revise report: for the terminal, and as JSON (version 1: keys are added, never renamed)."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from proofcheck.base.visible import in_ascii, visible
from proofcheck.revise.named import Named
from proofcheck.revise.shown import Made, Standing

if TYPE_CHECKING:
    from proofcheck.results.report import Report
    from proofcheck.revise.shown import Revise, Slug

__all__ = ["revise_json", "revise_list", "tally"]

VERSION = 1
_SIGNS = {Made.MADE: "✓", Made.PARTLY: "partly", Made.MISSED: "missed", Made.UNSEEN: "–"}


def revise_list(told: Revise, earlier: Report, later: Report, *, ascii_only: bool = False) -> str:
    """The report for a terminal, a line each."""
    named = Named.of(earlier, later)
    lines = [f"Revise: {tally(told)}"]
    for c in told.corrections:
        now = f"line {named.now.name(c.now)}" if c.now is not None else "no line"
        said = f"{visible(named.correction(c))} ({visible(c.why)})"
        lines.append(f"  {_SIGNS[c.made]:<8}{told.asked_as(c):<6}{now:<9} {said}")
    lines += [
        f"  {'new':<8}{told.told_as(f):<6}line {named.now.name(f.line):<4} "
        f"{visible(named.finding(f))}"
        for f in told.findings
    ]
    if told.read_again:
        again = ", ".join(map(named.now.name, told.read_again))
        lines.append(f"  read whole: lines {again} of {len(later.lines)}")
    notes = (*later.copy.notes, *map(named.now.words, later.warnings))
    lines += [f"  note: {visible(note)}" for note in notes]
    text = "\n".join(lines) + "\n"
    return in_ascii(text) if ascii_only else text


def tally(told: Revise) -> str:
    """What a revise showed, in one line."""
    counts = [sum(c.made is made for c in told.corrections) for made in Made]
    unseen = f", {counts[3]} not on this part" if counts[3] else ""
    stood = sum(s.standing is Standing.STOOD for s in told.slugs)
    return (
        f"{counts[0]} made, {counts[1]} partly, {counts[2]} missed{unseen}; "
        f"{len(told.findings)} new; {stood} of {len(told.slugs)} slugs stood as they were"
    )


def revise_json(told: Revise, earlier: Report, later: Report) -> str:
    """The report as JSON text, in ASCII throughout."""
    data: dict[str, Any] = {
        "revise": VERSION,
        "clean": told.clean,
        "earlier": [sheet.scan.sha256 for sheet in earlier.sheets],
        "later": [sheet.scan.sha256 for sheet in later.sheets],
        "copy": later.copy.sha256,
        "notes": [*later.copy.notes, *later.warnings],
        "slugs": [_slug(slug) for slug in told.slugs],
        "corrections": [
            {
                "fault": c.fault,
                "line": c.line,
                "now": c.now,
                "words": c.words,
                "made": c.made.value,
                "why": c.why,
            }
            for c in told.corrections
        ],
        "findings": [
            {
                "id": f.id,
                "kind": f.kind.value,
                "line": f.line,
                "earlier": f.earlier,
                "words": f.words,
                "fault": f.fault or None,
            }
            for f in told.findings
        ],
        "read_again": list(told.read_again),
        "gone": list(told.gone),
    }
    return json.dumps(data, indent=1, allow_nan=False) + "\n"


def _slug(slug: Slug) -> dict[str, Any]:
    return {
        "line": slug.line,
        "standing": slug.standing.value,
        "earlier": slug.earlier,
        "shift": round(slug.shift, 4),
        "likeness": round(slug.likeness, 3),
        "odds": round(slug.odds, 2),
    }
