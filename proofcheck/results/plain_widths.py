"""How wide letters of the plain font are (Helvetica; its metrics are those of Adobe's 14 fonts)."""

from __future__ import annotations

import unicodedata
from functools import lru_cache

from proofcheck.results.hand_font import by_hand_width, stretches

__all__ = ["text_width"]

_IN_THOUSANDTHS = {
    191: "'",
    222: "ijl‘’",
    260: "|",
    278: " !,./:;I[\\]ft·",
    334: "{}",
    333: "()-`r“”¡",
    350: "•",
    355: '"',
    389: "*",
    400: "°",
    469: "^",
    500: "Jcksvxyz",
    556: "#$0123456789?L_abdeghnopqu£–§",
    584: "+<=>~×±",
    611: "FTZ",
    667: "&ABEKPSVXY",
    722: "CDHNRUw",
    778: "GOQ",
    833: "Mm",
    889: "%",
    944: "W",
    1000: "…—",
    1015: "@",
}
_WIDTHS = {letter: width for width, letters in _IN_THOUSANDTHS.items() for letter in letters}
_OTHER = 778
"""Of any other letter: as wide as most of the widest."""


def text_width(text: str, size: float) -> float:
    """Width of a line of the plain font, in the unit of its size."""
    return (
        sum(
            by_hand_width(words) if own else sum(map(_typed_width, words)) / 1000
            for words, own in stretches(text)
        )
        * size
    )


@lru_cache(maxsize=4096)
def _typed_width(letter: str) -> int:
    """Accents make no letter wider."""
    bare = unicodedata.normalize("NFD", letter)[:1]
    return _WIDTHS.get(letter, _WIDTHS.get(bare, _OTHER))
