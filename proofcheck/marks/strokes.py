"""What each margin sign is drawn with: strokes of the pen, in the units of `paths`.

Drawn for this project in the manner of the plates of 1913 and 1922 (`table.SOURCES`) and set
beside them by eye; none is a tracing. Signs that are words are written in the project's own hand.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING

from proofcheck.marks.lettering import write
from proofcheck.marks.paths import Drawing, extent, moved, parse, ring_round

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = [
    "DRAWN",
    "PATHS",
    "POINTS",
    "SLASH",
    "WORDS",
    "beside",
    "closed",
    "matter_drawing",
    "point_drawing",
    "ringed",
    "sign_drawing",
    "written",
]

SLASH = "M.46,1.52Q.2,.56 0,-.46"
"""The slanting stroke that closes a correction."""

WORD_SCALE = 0.86
"""Size of words against the drawn signs: about what the plates have."""

_V_CUP = "M0,1.36L.42,.5L.98,1.5"
_WIDE_CUP = "M-.12,1.42L.42,.44L1.1,1.54"
_ARROWHEAD = "M0,.32L.44,.86L.9,.3"
_ARCS = "M0,.86Q.5,1.36 1.05,.84M0,.28Q.5,-.2 1.05,.26"
_HASH = "M.42,1.26L.2,-.02M.86,1.28L.62,.0M.02,.86L1.1,.9M-.04,.38L1.02,.42"
_DELE = (
    "M.74,.85C.5,.84 .02,.86 0,1.08C0,1.36 .32,1.36 .52,1.12C.7,.9 .8,.62 .76,.34"
    "C.72,.04 .46,-.1 .3,.1C.16,.32 .36,.52 .56,.64C.74,.74 .76,.98 .96,.94C1.1,.9 1.1,.74 1.08,.62"
)
_TICKS = "M0,.72L.16,.46L.5,1.2M.66,.72L.82,.46L1.16,1.2M1.32,.72L1.48,.46L1.82,1.2"
_SQUARE = "M.02,1.1L1,1.12L.98,.1L0,.12L.03,1.12"

PATHS: dict[str, str] = {
    "dele": _DELE,
    "close-up": _ARCS,
    "less-space": "M0,.6Q.5,1.16 1.05,.58",
    "space": _HASH,
    "equal-space": _TICKS,
    "letter-space": "M.22,1.2L.08,-.02M.56,1.2L.42,-.02M.9,1.2L.76,-.02M1.24,1.2L1.1,-.02",
    "push-down": "M.55,1.42L.52,.44M0,.54Q.1,.06 .56,.08Q1,.08 1.12,.56",
    "turn": "S.5,.72,.1,.56,450,-130",
    "broken": "M.06,.86L.7,.1M.68,.92L.02,.06",
    "paragraph": "M1.06,1.4Q.72,1.34 .42,1.38Q0,1.4 0,1.06Q.04,.72 .46,.72"
    "M.52,1.36L.42,-.28M.84,1.37L.72,-.3",
    "move-left": "M.42,1.4L0,1.38L.04,-.2L.44,-.2",
    "move-right": "M0,1.4L.4,1.4L.4,-.2L0,-.2",
    "move-up": "M0,.5L.02,.94L1.1,.96L1.1,.52",
    "move-down": "M0,.9L.02,.42L1.1,.44L1.1,.92",
    "centre": "M.34,1.3L.6,1.3L.6,-.1L.32,-.1M1.32,1.3L1.04,1.3L1.04,-.1L1.34,-.1",
    "indent-one": _SQUARE,
    "straighten": "M0,.86Q.6,.9 1.2,.88M.02,.34Q.6,.36 1.24,.34",
    "align": "M.1,1.4L.04,-.2M.44,1.42L.4,-.2",
}
"""Margin signs that are drawn; those that are words are in `WORDS`."""

WORDS: dict[str, str] = {
    "stet": "stet",
    "hair-space": "hr #",
    "transpose": "tr",
    "wrong-font": "w.f.",
    "caps": "caps",
    "small-caps": "s.c.",
    "caps-small-caps": "c. & s.c.",
    "italic": "ital",
    "bold": "b.f.",
    "roman": "rom",
    "capitals-lower-case": "u. & l.c.",
    "see-copy": "see copy",
    "lower-case": "l.c.",
    "run-in": "run in",
    "lead": "lead",
    "spell-out": "spell out",
    "figures": "figures",
    "out-see-copy": "out, see copy",
    "run-over": "run over",
    "run-back": "run back",
    "division": "div.",
    "mend-rule": "rule",
    "join-corner": "join",
    "true-rule": "true",
    "border-piece": "border",
    "query": "?",
}
"""Margin signs that are words."""

POINTS: dict[str, str] = {
    ".": "period",
    ",": "comma",
    ";": "semicolon",
    ":": "colon",
    "'": "apostrophe",
    "’": "apostrophe",
    "‘": "single-quote",
    '"': "quotes",
    "”": "quotes",
    "“": "quotes",
    "-": "hyphen",
    "‐": "hyphen",
    "‑": "hyphen",
    "–": "en-dash",
    "—": "em-dash",
    "⸺": "two-em-dash",
    "?": "question-mark",
    "!": "exclamation",
    "(": "parentheses",
    ")": "parentheses",
    "[": "brackets",
    "]": "brackets",
}
"""Points of the copy, and the sign each is put in by."""

_CUPPED = {"'": "’", "’": "’", "‘": "‘", '"': "”", "”": "”", "“": "“"}


def beside(*drawings: Drawing, gap: float = 0.3) -> Drawing:
    """Drawings one after another along the line, the first beginning at x = 0."""
    out: Drawing = ()
    x = 0.0
    for drawing in drawings:
        if not drawing:
            continue
        held = extent(drawing)
        out += moved(drawing, by=(x - held.left, 0.0))
        x += held.width + gap
    return out


def written(text: str) -> Drawing:
    """Words at the size they have in the margin."""
    return moved(write(text), scale=WORD_SCALE)


def closed(drawing: Drawing) -> Drawing:
    """The drawing with the slanting stroke after it."""
    return beside(drawing, parse(SLASH), gap=0.16)


def ringed(drawing: Drawing) -> Drawing:
    """The drawing with a ring round it."""
    held = extent(drawing)
    return beside(drawing + ring_round(held))


@lru_cache(maxsize=256)
def point_drawing(char: str) -> Drawing:
    """The margin sign that puts in one point, from x = 0.

    Periods and colons are ringed, commas stand under a roof, quotes in a cup, dashes between
    uprights; any other character is simply written and closed.
    """
    if char in _CUPPED:
        return _in_cup(_CUPPED[char])
    if char in _DASHES:
        return _dash(*_DASHES[char])
    if char in _DRAWN_POINTS:
        return _DRAWN_POINTS[char]()
    return closed(written(char))


def _in_cup(quote: str) -> Drawing:
    held = moved(write(quote), scale=0.88)
    middle = 0.5 - (extent(held).left + extent(held).right) / 2
    cup = _WIDE_CUP if extent(held).width > 0.3 else _V_CUP
    return beside(
        moved(parse(cup), by=(0, -0.2)) + moved(held, by=(middle - 0.02, 0.16)),
    )


def _hyphen() -> Drawing:
    return closed(parse("M0,.66L.5,.7M.02,.44L.52,.46"))


_RING = "A.5,.56,.5,.52,100,470"
_DRAWN_POINTS: dict[str, Callable[[], Drawing]] = {
    ".": lambda: parse("D.5,.56" + _RING),
    ":": lambda: parse("D.5,.36D.5,.78" + _RING),
    ",": lambda: parse(_ARROWHEAD) + moved(write(","), by=(0.36, 0.12)),
    # The plate of 1913 makes the point of the exclamation a small cross.
    "!": lambda: closed(parse("M.14,1.45L0,.42M-.12,.2L.06,.0M.06,.2L-.12,.0")),
    "-": _hyphen,
    "‐": _hyphen,
    "‑": _hyphen,
}
_DASHES = {"–": ("1/N", 0.0), "—": ("1", 0.7), "⸺": ("2", 0.7)}


def _dash(figure: str, raised: float) -> Drawing:
    """A dash between uprights, its length written over it; an en dash as 1/N."""
    if not raised:
        return beside(parse(SLASH), write(figure), parse(SLASH), gap=0.2)
    over = moved(write(figure), by=(0.0, raised + 0.04), scale=0.5)
    middle = (extent(over).left + extent(over).right) / 2
    bar = parse("M0,.5L.9,.52") + moved(over, by=(0.48 - middle, 0.0))
    upright = parse("M.12,1.4L0,-.3")
    return beside(upright, bar, upright, gap=0.14)


def matter_drawing(matter: str) -> Drawing:
    """New matter as it is written in the margin, closed by a stroke where words need it.

    Matter that is only points is drawn by their signs one after another; anything else is
    written out and closed.
    """
    if matter and all(char in POINTS for char in matter):
        return beside(*(point_drawing(char) for char in matter))
    return closed(written(matter)) if matter.strip() else ()


def _put_together() -> dict[str, Drawing]:
    _arcs, hash_, dele = parse(_ARCS), parse(_HASH), parse(_DELE)
    small_hash = moved(hash_, by=(0.24, 0.34), scale=0.5)
    arcs_wide = parse("M0,.98Q.5,1.56 1.05,.96M0,.2Q.5,-.36 1.05,.18")
    return {
        "dele-close-up": moved(dele, by=(0.16, 0.12), scale=0.72)
        + parse("M0,1.12Q.56,1.7 1.15,1.1M0,.04Q.56,-.5 1.15,.02"),
        "close-up-some": arcs_wide + small_hash,
        "no-paragraph": beside(written("no"), parse(PATHS["paragraph"]), gap=0.5),
        "indent-two": beside(parse(_SQUARE), parse(_SQUARE), gap=0.1),
        "lead-out": beside(dele, written("lead"), gap=0.4),
        "superior": parse("M-.1,1.6L.44,.5L1.0,1.62")
        + moved(write("2"), by=(0.24, 1.0), scale=0.42),
        "inferior": parse(_ARROWHEAD) + moved(write("2"), by=(0.27, -0.26), scale=0.48),
        "parentheses": beside(write("("), parse(SLASH), write(")"), gap=0.16),
        "brackets": beside(write("["), parse(SLASH), write("]"), gap=0.16),
        "insert": matter_drawing("the"),
        "replace": matter_drawing("n"),
        "replace-word": matter_drawing("hymn"),
    }


_COMPOSED = _put_together()
_FIRST_POINT = {sign: char for char, sign in reversed(POINTS.items())}
DRAWN = frozenset((*_COMPOSED, *PATHS, *WORDS, *_FIRST_POINT))
"""Names of all signs that can be drawn."""


@lru_cache(maxsize=256)
def sign_drawing(name: str) -> Drawing:
    """The strokes of a margin sign by its name in the table, from x = 0.

    Signs that put matter in are shown with a sample of it. KeyError where the table has no such
    sign.
    """
    if name in _COMPOSED:
        drawing = _COMPOSED[name]
    elif name in PATHS:
        drawing = parse(PATHS[name])
    elif name in WORDS:
        drawing = written(WORDS[name])
    else:
        drawing = point_drawing(_FIRST_POINT[name])
    return beside(drawing)
