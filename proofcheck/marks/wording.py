"""Instructions in plain words: what a mark asks for, said as one reader says it to another."""

from __future__ import annotations

from proofcheck.base.visible import visible

__all__ = ["lines", "named", "quoted", "shortened"]

_ENUMERATED = 3
"""More lines than this that follow one another are named by the first and the last."""
LONGEST_QUOTE = 60
"""Characters of copy quoted in one instruction; what is longer is cut in the middle."""

_NAMES = {
    " ": "the space",
    ".": "period",
    ",": "comma",
    ";": "semicolon",
    ":": "colon",
    "'": "apostrophe",
    "’": "apostrophe",
    "‘": "opening single quote",
    '"': "double quote",
    "“": "opening quotes",
    "”": "closing quotes",
    "-": "hyphen",
    "‐": "hyphen",
    "–": "en dash",
    "—": "em dash",
    "?": "question mark",
    "!": "exclamation point",
    "(": "opening parenthesis",
    ")": "closing parenthesis",
    "[": "opening bracket",
    "]": "closing bracket",
}


def shortened(text: str) -> str:
    """The text on one line, its middle cut out where it is long."""
    shown = " ".join(visible(text).split())
    if len(shown) <= LONGEST_QUOTE:
        return shown
    half = (LONGEST_QUOTE - 3) // 2
    return f"{shown[:half].rstrip()} … {shown[-half:].lstrip()}"


def quoted(text: str) -> str:
    """The text between quotes."""
    return f"“{shortened(text)}”"


def named(text: str) -> str:
    """What to call a piece of text: points by name, a letter bare, anything longer quoted."""
    if text in _NAMES:
        return _NAMES[text]
    if len(text) == 1 and text.isalnum():
        return text
    return quoted(text)


def lines(numbers: tuple[int, ...]) -> str:
    """Printed lines by number, as in "line 3", "lines 3 and 4", "lines 3 to 9"."""
    if len(numbers) == 1:
        return f"line {numbers[0]}"
    if len(numbers) > _ENUMERATED and numbers[-1] - numbers[0] == len(numbers) - 1:
        return f"lines {numbers[0]} to {numbers[-1]}"
    head = ", ".join(str(n) for n in numbers[:-1])
    return f"lines {head} and {numbers[-1]}"
