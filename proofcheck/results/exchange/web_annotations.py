"""What was found on a proof as annotations by the Web Annotation Data Model (W3C, 2017).

Written after the Recommendation of 23 February 2017 from memory; no schema of it was at hand.
"""

from __future__ import annotations

import base64
import json
import uuid
from dataclasses import dataclass
from datetime import UTC
from typing import TYPE_CHECKING, Any, Final

from proofcheck.base.found import Status
from proofcheck.results.exchange.outlines import box_outline
from proofcheck.results.report import program_version
from proofcheck.results.tally import tally

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from proofcheck.base.found import Fault
    from proofcheck.base.values import Box, Copy, Sheet
    from proofcheck.results.exchange.outlines import Outline
    from proofcheck.results.exchange.told_sheets import ToldSheet
    from proofcheck.results.report import Report

__all__ = ["Reply", "web_annotations"]

_CONTEXT: Final = "http://www.w3.org/ns/anno.jsonld"
_AROUND: Final = 24
"""Characters of copy before and after a place, by which it is found again."""
_FORMATS: Final = {
    "png": "image/png", "jpg": "image/jpeg", "jpeg": "image/jpeg", "tif": "image/tiff",
    "tiff": "image/tiff", "webp": "image/webp", "pdf": "application/pdf",
    "txt": "text/plain", "md": "text/markdown",
    "docx": "application/vnd.openxmlformats-officedocument.wordprocessingml.document",
    "odt": "application/vnd.oasis.opendocument.text",
}  # fmt: skip
"""Media types by the endings of names (IANA)."""


@dataclass(frozen=True, slots=True)
class Reply:
    """What a person decided about a fault."""

    fault: str
    """The fault's name."""
    words: str
    by: str = ""
    """Initials or name; "" where it is not known."""
    at: datetime | None = None


def web_annotations(
    report: Report, told: Sequence[ToldSheet], made: datetime, replies: Sequence[Reply] = ()
) -> str:
    r"""A report as an annotation collection in JSON-LD, all of it in one page.

    A fault is an annotation with the motivation `editing`, a query and a place not read one of
    `questioning`, a decision one of `replying`. The first target is the picture (SVG in pixels of
    the scan), the second the copy (code points of it as it was loaded: decoded, line ends as
    "\n"). Both are named by the digest of their file (RFC 6920).

    Args:
        report: what was found.
        told: its sheets.
        made: when the document is made.
        replies: what was decided since.
    """
    sheets = {each.sheet.number: each for each in told}
    seed = "\n".join([report.copy.sha256, *(each.sheet.scan.sha256 for each in told)])
    items = [_fault(report, fault, sheets, seed) for fault in report.faults]
    items += [
        _unread(sheets[each.sheet], each.box, each.words, f"{seed}\nunread {number}")
        for number, each in enumerate(report.unread, 1)
    ]
    known = {fault.id for fault in report.faults}
    said = [reply for reply in replies if reply.fault in known]
    items += [_reply(reply, f"{seed}\nreply {n}", seed) for n, reply in enumerate(said, 1)]
    page = {"id": _name(f"{seed}\npage"), "type": "AnnotationPage", "startIndex": 0, "items": items}
    held = {
        "@context": _CONTEXT,
        "id": _name(seed),
        "type": "AnnotationCollection",
        "label": tally(report),
        "generator": {"type": "Software", "name": f"proofcheck {program_version()}"},
        "generated": _stamp(made),
        "total": len(items),
        "first": page,
    }
    return json.dumps(held, indent=1, ensure_ascii=True, allow_nan=False) + "\n"


def _fault(report: Report, fault: Fault, sheets: dict[int, ToldSheet], seed: str) -> dict[str, Any]:
    asked = fault.status is Status.QUERY
    purpose = "questioning" if asked else "editing"
    bodies = [
        _words(fault.mark.words, "commenting", "en"),
        _words(str(fault.kind), "tagging", "en"),
    ]
    if not asked and (fault.copy_text or fault.proof_text):
        # What is to stand there; empty where what is printed is to go.
        bodies.append(_words(fault.copy_text, "editing"))
    targets = [_on_picture(sheets[fault.sheet], fault.box), _on_copy(report.copy, fault)]
    return {
        "id": _name(f"{seed}\n{fault.id}"),
        "type": "Annotation",
        "motivation": purpose,
        "body": bodies,
        "target": targets,
    }


def _unread(told: ToldSheet, box: Box, words: str, name: str) -> dict[str, Any]:
    return {
        "id": _name(name),
        "type": "Annotation",
        "motivation": "questioning",
        "body": [_words(f"not read: {words}", "commenting", "en")],
        "target": [_on_picture(told, box)],
    }


def _reply(reply: Reply, name: str, seed: str) -> dict[str, Any]:
    held: dict[str, Any] = {"id": _name(name), "type": "Annotation", "motivation": "replying"}
    if reply.by:
        held["creator"] = {"type": "Person", "name": reply.by}
    if reply.at is not None:
        held["created"] = _stamp(reply.at)
    held["body"] = [_words(reply.words, "replying")]
    held["target"] = _name(f"{seed}\n{reply.fault}")
    return held


def _words(text: str, purpose: str, language: str = "") -> dict[str, str]:
    body = {"type": "TextualBody", "value": text, "format": "text/plain", "purpose": purpose}
    return {**body, "language": language} if language else body


def _on_picture(told: ToldSheet, box: Box) -> dict[str, Any]:
    sheet = told.sheet
    selector: dict[str, Any] = {
        "type": "SvgSelector",
        "value": _svg(sheet, box_outline(sheet, box)),
    }
    pdf = told.picture.lower().endswith(".pdf")
    if sheet.scan.page or pdf:
        held: dict[str, Any] = {"type": "FragmentSelector", "value": f"page={sheet.scan.page + 1}"}
        if pdf:
            held["conformsTo"] = "http://tools.ietf.org/rfc/rfc3778"
        selector = {**held, "refinedBy": selector}
    source = {"type": "Image", **_source(told.picture, sheet.scan.sha256)}
    return {"type": "SpecificResource", "source": source, "selector": selector}


def _on_copy(copy: Copy, fault: Fault) -> dict[str, Any]:
    start, end = fault.copy
    selectors: list[dict[str, Any]] = [{"type": "TextPositionSelector", "start": start, "end": end}]
    if start < end:
        selectors.append(
            {
                "type": "TextQuoteSelector",
                "exact": copy.text[start:end],
                "prefix": copy.text[max(0, start - _AROUND) : start],
                "suffix": copy.text[end : end + _AROUND],
            }
        )
    source = {"type": "Text", **_source(copy.name, copy.sha256)}
    return {"type": "SpecificResource", "source": source, "selector": selectors}


def _source(name: str, sha256: str) -> dict[str, str]:
    plain = name.replace("\\", "/").rpartition("/")[2] or name
    held = {"id": _named_information(sha256), "label": plain}
    kind = _FORMATS.get(plain.lower().rpartition(".")[2])
    return {**held, "format": kind} if kind else held


def _named_information(sha256: str) -> str:
    """The digest as a name that tells nothing of where the file is (RFC 6920)."""
    try:
        digest = bytes.fromhex(sha256)
    except ValueError:
        return _name(sha256)
    return "ni:///sha-256;" + base64.urlsafe_b64encode(digest).decode().rstrip("=")


def _svg(sheet: Sheet, outline: Outline) -> str:
    shape = " ".join(f"{x},{y}" for x, y in dict.fromkeys(outline))
    kind = "polygon" if len(set(outline)) > 2 else "polyline"
    head = f'viewBox="0 0 {sheet.scan.width_px} {sheet.scan.height_px}"'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {head}><{kind} points="{shape}"/></svg>'


def _name(of: str) -> str:
    """A name that is the same whenever the same thing is told."""
    plain = of.encode("utf-8", "replace").decode()
    return uuid.uuid5(uuid.NAMESPACE_OID, f"proofcheck\n{plain}").urn


def _stamp(when: datetime) -> str:
    return when.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
