"""Text that can't be seen, or that moves what can, turned into signs that can be read.

Copy comes from anywhere. Shown raw, a control character can drive a terminal, break a one-line
message in two, or (the directional overrides) make a line read other than it is. Everything that
shows copy, readings or file names to a person shows them through `visible`.
"""

from __future__ import annotations

import unicodedata

from proofcheck.base.turned_letters import IN_WORDS

__all__ = ["in_ascii", "visible"]

_CONTROL_PICTURES = 0x2400
"""Unicode block of pictures for the C0 controls, in their order (U+2400 for U+0000 …)."""

_ASCII_FORMS = str.maketrans(
    {
        "‘": "'",
        "’": "'",
        "“": '"',
        "”": '"',
        "–": "-",
        "—": "--",
        "…": "...",
        "‸": "^",
        "·": ".",
        "×": "x",
        "§": "S",
        "¶": "par.",
        "₰": "dele",
        "⁐": "close up",
        "⁀": "less #",
        "✓": "v",
        "⊥": "push down",
        "⊙": "(.)",
        "˅": "v",
        "˄": "^",
        "⊓": "up",
        "⊔": "down",
        "□": "[]",
        "‖": "||",
        "\u00a0": " ",
        "⟨": "<",
        "⟩": ">",
    }
)


def visible(text: str) -> str:
    """The text on one line, with every character that can't be seen shown as a sign.

    Tabs, line ends and spaces of other widths become a space; the other C0 controls and DEL
    their control pictures (␛); C1 controls, directional and other format characters, lone
    surrogates, unassigned and private-use characters the number of their code point in angle
    brackets (⟨U+202E⟩). Soft hyphens, joiners and variation selectors are among the format
    characters shown. What stands for a turned sort and few faces have is told in words
    (⟨l turned⟩). A combining mark with nothing before it to sit on gets a dotted circle.
    """
    if text.isascii() and text.isprintable():
        return text
    shown = "".join(_shown(char) for char in text)
    return "◌" + shown if shown and unicodedata.combining(shown[0]) else shown


def _shown(char: str) -> str:
    if char in IN_WORDS:
        return IN_WORDS[char]
    if char.isprintable():
        return f"⟨U+{ord(char):04X}⟩" if 0xFE00 <= ord(char) <= 0xFE0F else char
    if ord(char) < 0x20 and char not in "\t\n\v\f\r":
        return chr(_CONTROL_PICTURES + ord(char))
    if char.isspace():
        return " "
    if char == "\x7f":
        return "\u2421"
    return f"⟨U+{ord(char):04X}⟩"


def in_ascii(text: str) -> str:
    """The text in ASCII, for terminals that have no more.

    Quotes and dashes take their plain forms and proofreader's signs their names; accented
    letters and the rest become backslash escapes, so that nothing is guessed away.
    """
    plain = text.translate(_ASCII_FORMS)
    return plain.encode("ascii", "backslashreplace").decode("ascii")
