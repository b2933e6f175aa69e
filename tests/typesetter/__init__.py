"""A typesetter for tests: sets copy in slugs, plants known faults, pulls worn proofs.

The truth about every letter is exact, because nothing here reads: it only sets.
"""

from .matter import (
    Columns,
    Expected,
    Forme,
    Gap,
    Head,
    Leader,
    Ornament,
    Para,
    Rule,
    Slug,
    Sort,
    Style,
)
from .printing import TURNED_LOOK, Proof, SetLetter, SetLine, print_proof
from .setting import compose, copy_of, divisions
from .truth import box_of, lines_of, readings_of
from .wear import PRESETS, Wear, pull, pull_mapped

__all__ = [
    "PRESETS",
    "TURNED_LOOK",
    "Columns",
    "Expected",
    "Forme",
    "Gap",
    "Head",
    "Leader",
    "Ornament",
    "Para",
    "Proof",
    "Rule",
    "SetLetter",
    "SetLine",
    "Slug",
    "Sort",
    "Style",
    "Wear",
    "box_of",
    "compose",
    "copy_of",
    "divisions",
    "lines_of",
    "print_proof",
    "pull",
    "pull_mapped",
    "readings_of",
]
