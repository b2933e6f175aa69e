"""A typesetter for tests: sets copy in slugs, plants known faults, pulls worn proofs.

The truth about every letter is exact, because nothing here reads: it only sets.
"""

from .apart import block_of, cut_of, framed, laid_beside, panel_of
from .faults import (
    broken_letter,
    hairline,
    misset,
    off_line,
    shift_line,
    turned_sort,
    uneven_spacing,
    without_lead,
    work_up,
    wrong_font,
)
from .given import GivenLine, set_as_given
from .linefaults import (
    RUN_DOWN,
    bad_division,
    double_line,
    drop_lines,
    foreign_line,
    run_down_line,
    swap_lines,
    turn_line,
)
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
from .photo import Photo, photograph
from .planting import KINDS, plant
from .printing import Proof, SetLetter, SetLine, print_proof
from .ruled import UNITS, block_initial, brace_of, garlanded, laid_under, table_of, unit_of
from .setting import compose, copy_of, divisions
from .truth import box_of, lines_of, readings_of
from .wear import PRESETS, Wear, pull, pull_mapped

__all__ = [
    "KINDS",
    "PRESETS",
    "RUN_DOWN",
    "UNITS",
    "Columns",
    "Expected",
    "Forme",
    "Gap",
    "GivenLine",
    "Head",
    "Leader",
    "Ornament",
    "Para",
    "Photo",
    "Proof",
    "Rule",
    "SetLetter",
    "SetLine",
    "Slug",
    "Sort",
    "Style",
    "Wear",
    "bad_division",
    "block_initial",
    "block_of",
    "box_of",
    "brace_of",
    "broken_letter",
    "compose",
    "copy_of",
    "cut_of",
    "divisions",
    "double_line",
    "drop_lines",
    "foreign_line",
    "framed",
    "garlanded",
    "hairline",
    "laid_beside",
    "laid_under",
    "lines_of",
    "misset",
    "off_line",
    "panel_of",
    "photograph",
    "plant",
    "print_proof",
    "pull",
    "pull_mapped",
    "readings_of",
    "run_down_line",
    "set_as_given",
    "shift_line",
    "swap_lines",
    "table_of",
    "turn_line",
    "turned_sort",
    "uneven_spacing",
    "unit_of",
    "without_lead",
    "work_up",
    "wrong_font",
]
