"""One self-contained page (HTML) to look through the faults of a proof beside the marked proof.

Nothing in it comes from elsewhere and nothing leaves it; its own content security policy allows
only its own style and script (by their hashes) and pictures carried inside it. It works without
the script: that only adds the filters and the keys.
"""

from __future__ import annotations

import base64
import hashlib
from collections import Counter
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import TYPE_CHECKING, Any

import jinja2
from markupsafe import Markup
from PIL import Image

from proofcheck.base.decision_words import status_called
from proofcheck.base.fault_numbers import shown_number
from proofcheck.base.kinds import KINDS, Cure, Kind
from proofcheck.base.visible import visible
from proofcheck.base.writing import write_whole
from proofcheck.results.excerpts import Excerpt, elided, excerpts, ticket_words
from proofcheck.results.line_names import line_names, with_named_lines
from proofcheck.results.marked.mark_places import drawn_mark
from proofcheck.results.page.embedded import (
    MarkedSheet,
    Picture,
    as_address,
    as_painted,
    marked_sheets,
    page_size,
    reduced,
)
from proofcheck.results.page.fault_strips import Strip, cut_strip
from proofcheck.results.tally import tally, unread_words

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from proofcheck.base.found import Fault
    from proofcheck.results.line_names import LineNames
    from proofcheck.results.report import Report

__all__ = ["card_html", "page_html", "write_page"]

SCREEN_X_HEIGHT = 10.0
"""x-height of a strip on the screen, in CSS pixels, before the page makes it fit."""
SPOT_AIR, SPOT_LEAST = 6.0, 36.0
"""White round a fault's place on the proof and the place's least side, in pixels shown."""
LONG_MATTER = 1500
"""Characters of missing matter shown in a card."""


def write_page(
    report: Report,
    path: Path | str,
    marked: Sequence[MarkedSheet | Picture] = (),
    *,
    title: str = "",
    overwrite: bool = False,
    proof: int = 1,
) -> Path:
    """Write the page; see `page_html`.

    Raises:
        OutputError: as for `proofcheck.base.writing.whole_file`.
    """
    return write_whole(
        path, page_html(report, marked, title=title, proof=proof), overwrite=overwrite
    )


def page_html(
    report: Report,
    marked: Sequence[MarkedSheet | Picture] = (),
    *,
    title: str = "",
    proof: int = 1,
) -> str:
    """The page as text.

    Args:
        report: what was found.
        marked: the marked proof as painted, in order; the bare sheets are shown if there is none.
        title: heading (a job's name); the copy's name if not given.
        proof: which of its series it is, from 1.
    """
    css, script = _template_text("page.css"), _template_text("page.js")
    report, names = with_named_lines(report)
    return _template().render(
        title=visible(title) or f"Proof read against {visible(report.copy.name)}",
        summary=tally(report),
        judged=report.judged,
        verdict=report.verdict.value,
        css=Markup(css),  # noqa: S704 - the package's own file
        script=Markup(script),  # noqa: S704 - the package's own file
        css_hash=_hash(css),
        script_hash=_hash(script),
        cards=[_card(report, fault, names, proof) for fault in report.faults],
        kinds=sorted(Counter(fault.kind for fault in report.faults).items()),
        statuses=sorted(Counter(fault.status for fault in report.faults).items()),
        figures=[
            _figure(report, picture, names, proof) for picture in marked_sheets(report, marked)
        ],
        notes=[visible(note) for note in (*report.copy.notes, *report.warnings)],
        unread=[visible(unread_words(report, each)) for each in report.unread],
        made=_made(report),
    )


@lru_cache(maxsize=8)
def _template_text(name: str) -> str:
    folder = resources.files("proofcheck.results.page").joinpath("templates")
    return folder.joinpath(name).read_text("utf-8")


def card_html(report: Report, fault: Fault, proof: int = 1) -> str:
    """What the page shows of one fault, by itself: its words, its strip, copy and print."""
    names = line_names(report)
    card = _card(report, names.fault(fault), names, proof)
    return _template("card.html").render(card=card)


@lru_cache(maxsize=2)
def _template(name: str = "page.html") -> jinja2.Template:
    environment = jinja2.Environment(
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        loader=jinja2.FunctionLoader(_template_text),
    )
    environment.filters["px"] = lambda value: f"{value:.1f}".removesuffix(".0")
    environment.filters["kind"] = lambda kind: str(kind).replace("-", " ")
    return environment.get_template(name)


def _hash(text: str) -> str:
    """Hash of an inline style or script, as a content security policy names it."""
    digest = hashlib.sha256(text.encode("utf-8")).digest()
    return "sha256-" + base64.b64encode(digest).decode("ascii")


@dataclass(frozen=True, slots=True)
class _Card:
    """What the template shows of one fault; every text made visible."""

    id: str
    number: str
    """As people see it: "2/4"."""
    kind: str
    status: str
    called: str
    """What its status is called."""
    line: str
    margin: str
    words: str
    text_mark: str
    certainty: int
    cause: str
    grade: str
    """Of a fault of the type; "" for one of the text."""
    printed: Excerpt
    wanted: Excerpt
    matter: str
    """All of a long stretch of copy that is missing; "" for a short one."""
    not_in_copy: bool
    strip: Strip | None
    strip_address: str
    strip_scale: float
    """CSS pixels to one of the strip."""


def _card(report: Report, fault: Fault, names: LineNames, proof: int) -> _Card:
    lines = {line.number: line for line in report.lines}
    strip = cut_strip(report, fault)
    printed, wanted = excerpts(report, fault, 48)
    missing = KINDS[fault.kind].cure is Cure.PUT_IN
    return _Card(
        id=fault.id,
        number=shown_number(proof, fault.id),
        kind=fault.kind.value,
        status=fault.status.value,
        called=status_called(fault.status),
        line=_line_words(report, fault, names),
        margin=elided(fault.mark.margin, 80),
        words=elided(fault.mark.words, 200),
        text_mark=visible(drawn_mark(fault, lines).replace("-", " ")),
        certainty=min(99, int(fault.certainty * 100 + 0.5)),
        cause=fault.cause.value if fault.cause else "",
        grade=fault.grade.value if fault.grade is not None else "",
        printed=printed,
        wanted=wanted,
        matter=elided(fault.copy_text, LONG_MATTER) if missing else "",
        not_in_copy=report.line(fault.line) is not None and report.placed(fault.line) is None,
        strip=strip,
        strip_address=as_address(strip.image) if strip else "",
        strip_scale=SCREEN_X_HEIGHT / strip.x_height if strip and strip.x_height > 0 else 1.0,
    )


def _line_words(report: Report, fault: Fault, names: LineNames) -> str:
    if fault.line == 0:
        return "Head of the proof"
    after = fault.kind is Kind.LINE_MISSING
    words = f"{'After line' if after else 'Line'} {names.name(fault.line)}"
    return ", ".join(filter(None, (words, ticket_words(report, fault))))


def _figure(report: Report, picture: MarkedSheet, names: LineNames, proof: int) -> dict[str, Any]:
    """One picture of the marked proof and the places of the faults on it."""
    sheet = next((s for s in report.sheets if s.number == picture.sheet), None)
    address, (width, height), share = _carried(picture, sheet.dpi * picture.scale if sheet else 0.0)
    spots = []
    if sheet is not None and picture.at is not None:
        faults = (fault for fault in report.faults if fault.sheet == sheet.number)
        spots = [
            _spot(
                (fault, shown_number(proof, fault.id), _line_words(report, fault, names)),
                picture,
                picture.at,
                share,
            )
            for fault in faults
        ]
    return {
        "address": address,
        "width": width,
        "height": height,
        "number": sheet.number + 1 if sheet else None,
        "scan": visible(sheet.scan.name) if sheet else "",
        "page": sheet.scan.page + 1 if sheet else None,
        "marked": picture.marked,
        "spots": spots,
    }


def _carried(picture: MarkedSheet, dpi: float) -> tuple[str, tuple[int, int], float]:
    """A picture's data address, its size on the page, and by how much that is reduced."""
    painted = as_painted(picture)
    if painted and isinstance(picture.image, Image.Image):
        return painted, *page_size(picture.image.size, dpi)
    image, share = reduced(picture.image, dpi)
    return as_address(image), image.size, share


def _spot(
    told: tuple[Fault, str, str], picture: MarkedSheet, at: tuple[float, float], share: float
) -> dict[str, Any]:
    """The place of one fault on a picture, with air round it so that the type is not covered.

    `told` has the fault, its number, and its line in words.
    """
    fault, number, line = told
    scale = picture.scale * share
    width, height = fault.box.width * scale, fault.box.height * scale
    across, down = (max(SPOT_AIR, (SPOT_LEAST - side) / 2) for side in (width, height))
    return {
        "id": fault.id,
        "number": number,
        "status": fault.status.value,
        "title": f"{number}, {line.lower()}: {elided(fault.mark.words, 80)}",
        "x": at[0] * share + fault.box.x * scale - across,
        "y": at[1] * share + fault.box.y * scale - down,
        "width": width + 2 * across,
        "height": height + 2 * down,
    }


def _made(report: Report) -> list[tuple[str, str]]:
    """How the report was made, for the foot of the page."""
    made = report.provenance
    facts = [
        ("Copy", f"{report.copy.name}, {len(report.copy.text):,} characters"),
        ("Copy’s hash", f"SHA-256 {report.copy.sha256}"),
        ("Read by", f"proofcheck {made.version}, {made.reader} {made.reader_version}".strip()),
    ]
    for sheet in report.sheets:
        scan = sheet.scan
        size = (
            f"{scan.width_px:,} × {scan.height_px:,} px, {sheet.dpi:.0f} dpi ({sheet.dpi_source})"
        )
        facts.append((f"Scan {sheet.number + 1}", f"{scan.name}, page {scan.page + 1}, {size}"))
        facts.append((f"Scan {sheet.number + 1}’s hash", f"SHA-256 {scan.sha256}"))
    counted = [f"{name} {count}" for name, count in report.collation.waived.items() if count]
    if counted:
        facts.append(("Let pass as the same on paper", ", ".join(counted)))
    return [(name, visible(value)) for name, value in facts]
