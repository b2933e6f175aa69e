"""Values of a PDF as some viewer wrote them: text, moments and places, whatever stands there."""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import pikepdf

__all__ = ["Lasting", "moment_of", "quads_of", "text_of"]

Lasting = (ArithmeticError, LookupError, TypeError, ValueError, RecursionError, RuntimeError)
"""What a damaged file can raise as it is looked through."""
_LONGEST = 10_000
_DATE = re.compile(
    r"D:(\d{4})(\d{2})?(\d{2})?(\d{2})?(\d{2})?(\d{2})?(?:([+\-Z])(?:(\d{2})'?(\d{2})?)?)?"
)
_USUAL = ("0000", "01", "01", "00", "00", "00")


def text_of(held: Any, key: str) -> str:  # noqa: ANN401 - whatever stands there
    """A text of a dictionary, without space at its ends; "" for anything else."""
    import pikepdf

    try:
        found = held.get(key)
        if isinstance(found, pikepdf.String | pikepdf.Name):
            return str(found).removeprefix("/")[:_LONGEST].strip()
    except Lasting:
        pass
    return ""


def moment_of(text: str) -> str:
    """A moment (ISO 32000-1, 7.9.4) in UTC, in signs that sort; "" where it is none."""
    import datetime as dt

    found = _DATE.match(text)
    if found is None:
        return ""
    parts = [int(part or usual) for part, usual in zip(found.groups()[:6], _USUAL, strict=True)]
    off = dt.timedelta(hours=int(found[8] or 0), minutes=int(found[9] or 0))
    try:
        local = dt.datetime(*parts, tzinfo=dt.UTC)  # type: ignore[misc, arg-type]
        at = local + off if found[7] == "-" else local - off
    except (ValueError, OverflowError):
        return ""
    return f"{at:%Y-%m-%dT%H:%M:%S}"


def quads_of(held: pikepdf.Dictionary) -> list[tuple[float, float, float, float]]:
    """Left, low, right and high of each stretch an annotation covers, in points of the page.

    Its `/QuadPoints` where it has them, in whichever order the corners come; else its `/Rect`.
    """
    points = _figures(held.get("/QuadPoints"))
    if points and len(points) % 8 == 0:
        quads = [points[at : at + 8] for at in range(0, len(points), 8)]
        return [(min(q[::2]), min(q[1::2]), max(q[::2]), max(q[1::2])) for q in quads]
    rect = _figures(held.get("/Rect"))
    if len(rect) != 4:
        return []
    return [(min(rect[::2]), min(rect[1::2]), max(rect[::2]), max(rect[1::2]))]


def _figures(held: Any) -> list[float]:  # noqa: ANN401
    try:
        found = [float(value) for value in held]
    except Lasting:
        return []
    return found if all(map(math.isfinite, found)) else []
