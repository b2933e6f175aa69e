"""What is drawn in a DOCX: text boxes to take in, pictures to tell of, drawn words to refuse."""

from __future__ import annotations

from typing import TYPE_CHECKING

from proofcheck.base.errors import CopyError
from proofcheck.copytext.leftover import beginning, words_of
from proofcheck.copytext.packed import nearest

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

    from proofcheck.copytext.leftover import Ticks

__all__ = ["DRAWN", "EQUATIONS", "SILENT", "boxes_in", "refuse_equation"]

_W = "{http://schemas.openxmlformats.org/wordprocessingml/2006/main}"
_M = "{http://schemas.openxmlformats.org/officeDocument/2006/math}"
_A = "{http://schemas.openxmlformats.org/drawingml/2006/main}"
_WP = "{http://schemas.openxmlformats.org/drawingml/2006/wordprocessingDrawing}"
_WP14 = "{http://schemas.microsoft.com/office/word/2010/wordprocessingDrawing}"
_V = "{urn:schemas-microsoft-com:vml}"

DRAWN = frozenset(_W + tag for tag in ("drawing", "pict", "object", "contentPart"))
EQUATIONS = frozenset(_M + tag for tag in ("oMath", "oMathPara"))
SILENT = frozenset(
    [_WP + tag for tag in ("posOffset", "align")]
    + [_WP14 + tag for tag in ("pctWidth", "pctHeight", "pctPosHOffset", "pctPosVOffset")]
)
"""Elements of a drawing whose text is where it stands, not matter."""

_BOX = _W + "txbxContent"
_WHAT = {
    "diagram": "a diagram whose words are drawn",
    "chart": "a chart",
    "lockedCanvas": "a drawing whose words can't be taken in",
}


def refuse_equation(element: Element, name: str) -> None:
    """Raise CopyError for an equation."""
    shown = beginning(words_of(element))
    msg = (
        f"{name}: holds an equation (“{shown}”), which can't be taken in; type it as text and "
        "save again, or take it out of the copy and read it by eye."
    )
    raise CopyError(msg)


def boxes_in(drawing: Element, ticks: Ticks, name: str) -> list[Element]:
    """The text boxes of one drawing, to be taken in; what is only a picture is counted.

    Raises:
        CopyError: words are drawn in it, or it is an object of another program: it would be
            printed, and can't be compared.
    """
    boxes = list(nearest(drawing, {_BOX}))
    ticks.seen["boxes"] += len(boxes)
    _refuse_drawn_words(drawing, name)
    if not boxes:
        ticks.seen["pictures"] += 1
    return boxes


def _refuse_drawn_words(drawing: Element, name: str) -> None:
    what = "an object of another program" if drawing.tag == _W + "object" else ""
    waiting = list(drawing)
    while waiting and not what:
        element = waiting.pop()
        if element.tag == _A + "graphicData":
            what = _WHAT.get(element.get("uri", "").rpartition("/")[2], "")
        elif element.tag == _V + "textpath" and element.get("string", "").strip():
            what = f"drawn words (“{beginning(element.get('string', ''))}”)"
        elif element.tag == _A + "t" and (element.text or "").strip():
            what = f"drawn words (“{beginning(element.text or '')}”)"
        if element.tag != _BOX:
            waiting.extend(element)
    if what:
        msg = (
            f"{name}: holds {what}, which can't be taken in; type the words as text and save "
            "again, or take it out of the copy and read it by eye."
        )
        raise CopyError(msg)
