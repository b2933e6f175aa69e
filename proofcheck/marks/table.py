"""The table of proofreaders' marks in the older American and English use.

Every sign: what it means, how the place is marked in the text, what stands in the margin, and
where the sign was seen. Two printed plates stand behind most of it; the rest is later practice.
No conformance to any standard is claimed.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["SIGNS", "SOURCES", "Sign", "sign"]

SOURCES: Mapping[str, str] = MappingProxyType(
    {
        "1913": "W. G. Bleyer, Newspaper Writing and Editing (1913), chapter on proof reading: "
        "the printed table and the corrected proof",
        "1922": "A Few Suggestions to McGraw-Hill Authors (1922): the plate of marks",
        "older": "handbooks of about 1900 to 1920, in words only",
        "later": "later American manuals: the list of the Government Printing Office",
        "memory": "from memory, not seen in a source",
        "common": "common practice of shops, nobody's in particular",
    }
)
"""The source tags of the table, and what each stands for."""


@dataclass(frozen=True, slots=True)
class Sign:
    """One row of the table."""

    name: str
    """What the sign is called in a report (`Mark.sign`)."""
    meaning: str
    text: str
    """Name of the mark at the place itself (`proofcheck.marks.textmarks`)."""
    margin: str
    """The margin as plain text in Unicode; "…" stands for the new matter."""
    ascii: str
    """The same in ASCII."""
    sources: tuple[str, ...]
    """Tags of `SOURCES`, the strongest first."""
    ringed: bool = False
    """Whether the margin sign is ringed: words that could be taken for matter to be set."""


_BOTH = "1913 1922"

# name, meaning, mark in the text, margin, the same in ASCII, sources, and whether it is ringed.
_ROWS: tuple[tuple[str, str, str, str, str, str, bool], ...] = (
    ("dele", "take out", "line-through", "₰", "dele", _BOTH, False),
    (
        "dele-close-up",
        "take out and close up",
        "stroke-close-up",
        "₰⁐",
        "dele close-up",
        "memory",
        False,
    ),
    ("insert", "put in what stands in the margin", "caret", "…/", ".../", _BOTH, False),
    ("replace", "change the letter", "stroke", "…/", ".../", "1913 older", False),
    ("replace-word", "change the word", "line-through", "…/", ".../", "1913", False),
    ("stet", "let it stand", "dots", "stet", "stet", _BOTH, False),
    ("close-up", "close up entirely", "close-up", "⁐", "close-up", _BOTH, False),
    ("less-space", "reduce the space", "upper-arc", "⁀", "less #", "1913", False),
    (
        "close-up-some",
        "close up but leave some space",
        "close-up",
        "⁐#",
        "close-up #",
        "1913",
        False,
    ),
    ("space", "put in space", "caret", "#", "#", "1913 1922 later", False),
    ("hair-space", "put in a hair space", "caret", "hr #", "hr #", "memory", False),
    ("equal-space", "make the spaces even", "tick", "✓✓✓", "eq #", "1913 later", False),
    ("letter-space", "letterspace", "uprights", "||||", "||||", "1913", False),
    ("push-down", "push down a space that prints", "cup-under", "⊥", "push down", _BOTH, False),
    ("turn", "turn a letter that is upside down", "stroke", "9", "9", _BOTH, False),
    ("transpose", "change the order", "curve", "tr", "tr", _BOTH, False),
    ("wrong-font", "letter of a wrong font", "underline", "w.f.", "wf", _BOTH, False),
    ("broken", "broken or battered letter", "stroke", "x", "x", _BOTH, False),
    ("caps", "set in capitals", "underline-3", "caps", "caps", _BOTH, False),
    ("small-caps", "set in small capitals", "underline-2", "s.c.", "s.c.", _BOTH, False),
    (
        "caps-small-caps",
        "set in capitals and small capitals",
        "underline-3-2",
        "c. & s.c.",
        "c+sc",
        "memory",
        False,
    ),
    ("italic", "set in italic", "underline", "ital", "ital", _BOTH, False),
    ("bold", "set in bold face", "wavy", "b.f.", "bf", "1913 1922", False),
    ("roman", "set in roman", "underline", "rom", "rom", "1913 1922 older", False),
    ("lower-case", "set in lower case", "stroke", "l.c.", "lc", _BOTH, False),
    (
        "capitals-lower-case",
        "set in capitals and lower case",
        "ring",
        "u. & l.c.",
        "u. & l.c.",
        "common",
        False,
    ),
    ("superior", "put in as a superior", "caret", "…˅", "...v", "later 1913", False),
    ("inferior", "put in as an inferior", "caret", "…˄", "...^", "later 1913", False),
    ("period", "put in a period", "caret", "⊙", "(.)", "1913 1922 later", False),
    ("comma", "put in a comma", "caret", ",/", ",/", "1913 1922 later", False),
    ("semicolon", "put in a semicolon", "caret", ";/", ";/", "1913 later", False),
    ("colon", "put in a colon", "caret", "(:)", "(:)", "1913 later", False),
    ("apostrophe", "put in an apostrophe", "caret", "’˅", "'v", "1913 1922 later", False),
    ("single-quote", "put in a single quote", "caret", "‘˅", "'v", "1913 later", False),
    ("quotes", "put in double quotes", "caret", "”˅", '"v', "1913 1922 later", False),
    ("hyphen", "put in a hyphen", "caret", "=/", "=/", "1913 1922 later", False),
    ("en-dash", "put in an en dash", "caret", "1/N", "1/N", "later memory", False),
    ("em-dash", "put in a one-em dash", "caret", "|1—|", "1/M", "1913 later", False),
    ("two-em-dash", "put in a two-em dash", "caret", "|2—|", "2/M", "1913", False),
    ("question-mark", "put in a question mark", "caret", "?/", "?/", "1913 later", False),
    ("exclamation", "put in an exclamation point", "caret", "!/", "!/", "1913 later", False),
    ("parentheses", "put in parentheses", "caret", "(/)", "(/)", "later", False),
    ("brackets", "put in brackets", "caret", "[/]", "[/]", "later", False),
    ("paragraph", "begin a new paragraph", "angle", "¶", "P", _BOTH, False),
    ("no-paragraph", "do not begin a new paragraph", "run-in", "no ¶", "no P", _BOTH, False),
    ("run-in", "run in, in the same line", "run-in", "run in", "run in", "1913 older", True),
    ("move-left", "move to the left", "bracket-left", "[", "[", "1913", False),
    ("move-right", "move to the right", "bracket-right", "]", "]", "1913", False),
    ("move-up", "move up", "square-cap", "⊓", "move up", "1913", False),
    ("move-down", "move down", "square-cup", "⊔", "move down", "1913", False),
    ("centre", "centre the line", "brackets-out", "][", "][", "memory", False),
    ("indent-one", "indent one em", "caret", "□", "[]", "1913 later", False),
    ("indent-two", "indent two ems", "caret", "□□", "[][]", "1922 later", False),
    ("straighten", "straighten the line", "level-lines", "=", "=", "1913 older", False),
    ("align", "make the edge straight", "side-lines", "‖", "||", "1913", False),
    ("lead", "put in a lead", "between", "lead", "lead", "1913 1922 later", False),
    ("lead-out", "take out a lead", "between", "₰ lead", "dele lead", "1922", False),
    ("spell-out", "spell out", "ring", "spell out", "spell out", "1913 memory", True),
    ("figures", "use figures", "ring", "figures", "figures", "1913", True),
    (
        "out-see-copy",
        "something is left out: see the copy",
        "caret",
        "out, see copy",
        "out, see copy",
        "1913 older",
        True,
    ),
    (
        "see-copy",
        "set as in the copy: too long for the margin",
        "line-through",
        "see copy",
        "see copy",
        "common",
        True,
    ),
    ("query", "query: is this right?", "ring", "(?)", "(?)", _BOTH, True),
    (
        "run-over",
        "carry over to the next line",
        "bracket-right",
        "run over",
        "run over",
        "memory",
        True,
    ),
    (
        "run-back",
        "bring back to the line before",
        "bracket-left",
        "run back",
        "run back",
        "memory",
        True,
    ),
    ("division", "divide the word otherwise", "ring", "div.", "div.", "common", True),
    ("mend-rule", "join or change a broken rule", "ring-place", "rule", "rule", "common", True),
    ("join-corner", "join rules at a corner", "ring-place", "join", "join", "common", True),
    (
        "true-rule",
        "straighten a rule or cut it to measure",
        "ring-place",
        "true",
        "true",
        "common",
        True,
    ),
    (
        "border-piece",
        "put right a piece of the border",
        "ring-place",
        "border",
        "border",
        "common",
        True,
    ),
)

SIGNS: Mapping[str, Sign] = MappingProxyType(
    {row[0]: Sign(*row[:5], tuple(row[5].split()), row[6]) for row in _ROWS}
)
"""The table, by name, in the order it is printed in."""


def sign(name: str) -> Sign:
    """A row of the table; KeyError where there is none of that name."""
    return SIGNS[name]
