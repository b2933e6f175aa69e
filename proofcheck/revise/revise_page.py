"""The revise as one self-contained page (HTML): old and new strip one above the other.

Readers find more differences with both in view, one above the other, than side by side
(published experiments gathered in the trade's notes). The page carries no script.
"""

from __future__ import annotations

import base64
import hashlib
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import TYPE_CHECKING

import jinja2
import numpy as np
from markupsafe import Markup

from proofcheck.base.visible import visible
from proofcheck.results.page.embedded import as_address
from proofcheck.revise.named import Named
from proofcheck.revise.revise_report import tally
from proofcheck.revise.shown import Made

if TYPE_CHECKING:
    from proofcheck.base.values import Box
    from proofcheck.results.report import Report
    from proofcheck.revise.shown import Revise

__all__ = ["revise_html"]

_ROOM = 1.2
"""White above and below a strip, in x-heights."""
_TICK = 0.2
"""Thickness of the bars over and under the place of a fault, in x-heights."""


@dataclass(frozen=True, slots=True)
class _Item:
    """One correction or finding, with its two strips, the place of the fault ticked."""

    id: str
    sign: str
    kind: str
    words: str
    why: str
    where: str
    old: str
    new: str


def revise_html(told: Revise, earlier: Report, later: Report, *, title: str = "") -> str:
    """The page as text."""
    old = {fault.id: fault.box for fault in earlier.faults}
    new = {fault.id: fault.box for fault in later.faults}
    stood = {slug.line: slug.earlier for slug in told.slugs}
    named = Named.of(earlier, later)
    on_revise, on_proof = named.now.name, named.was.name
    items = [
        _Item(
            told.told_as(f), "new", "missed", named.finding(f), f.kind.value.replace("-", " "),
            f"line {on_revise(f.line)} of the revise",
            _strip(earlier, f.earlier or stood.get(f.line)),
            _strip(later, f.line, new.get(f.fault)),
        )
        for f in told.findings
    ]  # fmt: skip
    items += [
        _Item(
            told.asked_as(c), "✓" if c.made is Made.MADE else c.made.value, c.made.value,
            named.correction(c), c.why,
            f"line {on_proof(c.line)} of the earlier proof",
            _strip(earlier, c.line, old.get(c.fault)), _strip(later, c.now),
        )
        for c in told.corrections
    ]  # fmt: skip
    # What calls for a hand comes first.
    items.sort(key=lambda item: item.kind == Made.MADE.value)
    css = _text("revise.css")
    digest = base64.b64encode(hashlib.sha256(css.encode("utf-8")).digest()).decode("ascii")
    return _template().render(
        title=visible(title) or "Revise",
        css=Markup(css),  # noqa: S704 - the package's own file
        css_hash=f"sha256-{digest}",
        items=items,
        read_again=[on_revise(line) for line in told.read_again],
        tally=tally(told),
        clean=told.clean,
    )


def _strip(report: Report, number: int | None, place: Box | None = None) -> str:
    """A line's own picture with a little room, as a data address; "" where there is none."""
    line = report.line(number) if number is not None else None
    sheet = next((s for s in report.sheets if line is not None and s.number == line.sheet), None)
    if line is None or sheet is None:
        return ""
    room = round(_ROOM * line.x_height_px)
    top, left = max(line.box.y - room, 0), max(line.box.x - room, 0)
    cut = sheet.image[top : line.box.bottom + room, left : line.box.right + room].copy()
    if place is not None and place.width:
        thick = max(round(_TICK * line.x_height_px), 2)
        # In rows of their own, so that they lie over no letter.
        cut = np.pad(cut, ((2 * thick, 2 * thick), (0, 0)), constant_values=255)
        for rows in (slice(0, thick), slice(-thick, None)):
            cut[rows, max(place.x - left - thick, 0) : place.right - left + thick] = 0
    return as_address(cut, quality=50)


@lru_cache(maxsize=1)
def _template() -> jinja2.Template:
    house = jinja2.Environment(
        autoescape=True, undefined=jinja2.StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    house.filters["v"] = lambda text: visible(str(text))
    return house.from_string(_text("revise.html"))


def _text(name: str) -> str:
    return resources.files("proofcheck.revise").joinpath("templates", name).read_text("utf-8")
