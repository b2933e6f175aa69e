"""How sorts print that are set upside down: for setting and planting them.

That o s x z print nearly unchanged is of the old handbooks, the rest of those common practice.
"""

from __future__ import annotations

from proofcheck.reading.turned import LOOKS_LIKE, TURNED

__all__ = ["UNCHANGED", "as_printed_turned"]

UNCHANGED = frozenset("osxzHINOSXZ08-–—:+=×÷%§")
"""Characters that look almost the same either way up."""


def as_printed_turned(letter: str) -> str:
    """What a character looks like when its sort is turned: a turned one, a look-alike, itself."""
    return TURNED.get(letter) or LOOKS_LIKE.get(letter, letter)
