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
from markupsafe import Markup

from proofcheck.markup.carried import as_address
from proofcheck.revise.values import Made
from proofcheck.visible import visible

if TYPE_CHECKING:
    from proofcheck.report import Report
    from proofcheck.revise.values import Revise

__all__ = ["revise_html"]

_ROOM = 1.2
"""White above and below a strip, in x-heights."""


@dataclass(frozen=True, slots=True)
class _Item:
    """One correction or finding, with its two strips."""

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
    items = [
        _Item(
            c.fault, "✓" if c.made is Made.MADE else c.made.value, c.made.value, c.words, c.why,
            f"line {c.line} of the earlier proof", _strip(earlier, c.line),
            _strip(later, c.now),
        )
        for c in told.corrections
    ]  # fmt: skip
    items += [
        _Item(
            f.id, "new", "missed", f.words, f.kind.value.replace("-", " "),
            f"line {f.line} of the revise", _strip(earlier, f.earlier), _strip(later, f.line),
        )
        for f in told.findings
    ]  # fmt: skip
    css = _text("revise.css")
    digest = base64.b64encode(hashlib.sha256(css.encode("utf-8")).digest()).decode("ascii")
    return _template().render(
        title=visible(title) or "Revise",
        css=Markup(css),  # noqa: S704 - the package's own file
        css_hash=f"sha256-{digest}",
        items=items,
        told=told,
        clean=told.clean,
    )


def _strip(report: Report, number: int | None) -> str:
    """A line's own picture with a little room, as a data address; "" where there is none."""
    line = report.line(number) if number is not None else None
    sheet = next((s for s in report.sheets if line is not None and s.number == line.sheet), None)
    if line is None or sheet is None:
        return ""
    room = round(_ROOM * line.x_height_px)
    top, left = max(line.box.y - room, 0), max(line.box.x - room, 0)
    cut = sheet.image[top : line.box.bottom + room, left : line.box.right + room]
    return as_address(cut.copy(), quality=50)


@lru_cache(maxsize=1)
def _template() -> jinja2.Template:
    house = jinja2.Environment(
        autoescape=True, undefined=jinja2.StrictUndefined, trim_blocks=True, lstrip_blocks=True
    )
    house.filters["v"] = lambda text: visible(str(text))
    return house.from_string(_text("revise.html"))


def _text(name: str) -> str:
    return resources.files("proofcheck.revise").joinpath("templates", name).read_text("utf-8")
