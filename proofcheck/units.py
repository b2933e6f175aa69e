"""Measures of the trade, each with its source, and the ways between them.

Type is measured by the American point of 0.013837 inch, slugs on a line-casting machine by a
pica of exactly one sixth of an inch; the two differ by four parts in a thousand, an eighth of
an inch in thirty. Composing rooms also reckoned with 72 points to the inch.

Sources: Stewart, *Typesetting* (1919) and *Type* (1918); *Linotype Manual* (1898), for the
pica of the moulds; Benton in *The Building of a Book* (1906). Didot: from memory.
"""

from __future__ import annotations

from enum import Enum

__all__ = [
    "AGATE_LINES_PER_INCH",
    "BODY_NAMES",
    "CICERO_IN",
    "DIDOT_POINT_IN",
    "DIDOT_POINT_MM",
    "MM_PER_INCH",
    "PDF_UNITS_PER_INCH",
    "PICA_IN",
    "POINTS_PER_PICA",
    "POINT_IN",
    "SLUG_PICA_IN",
    "TYPE_HEIGHT_IN",
    "Pica",
    "body_name",
    "ems_to_pt",
    "inches_to_pt",
    "lines_per_column_inch",
    "mm_to_pt",
    "picas_to_px",
    "pt_to_inches",
    "pt_to_mm",
    "pt_to_px",
    "px_to_pt",
]

MM_PER_INCH = 25.4
"""Exact, by definition of the inch."""

PDF_UNITS_PER_INCH = 72.0
"""Default user space unit of PDF, ISO 32000 8.3.2.3 (from memory); no point of type."""

POINT_IN = 0.013837
"""American point in inches (Stewart 1919; Benton 1906)."""

POINTS_PER_PICA = 12

PICA_IN = POINTS_PER_PICA * POINT_IN
"""Pica of type: 0.166044 inch."""

SLUG_PICA_IN = 1 / 6
"""Pica of a line-casting machine's moulds and measures (*Linotype Manual*, 1898)."""

DIDOT_POINT_MM = 0.376
"""Didot point in millimetres (from memory; the cicero of 12 is quoted as 0.178 inch)."""

DIDOT_POINT_IN = DIDOT_POINT_MM / MM_PER_INCH

CICERO_IN = 12 * DIDOT_POINT_IN

AGATE_LINES_PER_INCH = 14
"""Lines to the column inch by which advertisements are sold: a convention, not the 13.09 that
5½-point type itself gives (Stewart 1918)."""

TYPE_HEIGHT_IN = 0.918
"""Height to paper (Stewart 1918)."""

BODY_NAMES: dict[float, str] = {
    3: "excelsior",
    4: "brilliant",
    4.5: "diamond",
    5: "pearl",
    5.5: "agate",
    6: "nonpareil",
    7: "minion",
    8: "brevier",
    9: "bourgeois",
    10: "long primer",
    11: "small pica",
    12: "pica",
    14: "english",
    16: "columbian",
    18: "great primer",
    20: "paragon",
    22: "two-line small pica",
    24: "two-line pica",
    28: "two-line english",
    32: "two-line columbian",
    36: "two-line great primer",
    40: "two-line paragon",
    44: "meridian",
    48: "canon",
}
"""Old names of bodies by their points (Stewart 1918)."""


class Pica(Enum):
    """Which pica a measure is given in; the value is its length in inches."""

    TYPE = PICA_IN
    SLUG = SLUG_PICA_IN


def pt_to_inches(length_pt: float) -> float:
    """American points to inches."""
    return length_pt * POINT_IN


def inches_to_pt(length_in: float) -> float:
    """Inches to American points."""
    return length_in / POINT_IN


def pt_to_mm(length_pt: float) -> float:
    """American points to millimetres."""
    return pt_to_inches(length_pt) * MM_PER_INCH


def mm_to_pt(length_mm: float) -> float:
    """Millimetres to American points."""
    return inches_to_pt(length_mm / MM_PER_INCH)


def pt_to_px(length_pt: float, dpi: float) -> float:
    """American points to pixels; ValueError where `dpi` is not positive."""
    return pt_to_inches(length_pt) * _positive(dpi)


def px_to_pt(length_px: float, dpi: float) -> float:
    """Pixels to American points; ValueError where `dpi` is not positive."""
    return inches_to_pt(length_px / _positive(dpi))


def picas_to_px(measure_picas: float, dpi: float, pica: Pica = Pica.SLUG) -> float:
    """A measure in picas to pixels; ValueError where `dpi` is not positive."""
    return measure_picas * pica.value * _positive(dpi)


def ems_to_pt(width_ems: float, body_pt: float) -> float:
    """Ems of a body to points: the em is the square of the body."""
    return width_ems * body_pt


def lines_per_column_inch(body_pt: float, lead_pt: float = 0.0, point_in: float = 1 / 72) -> float:
    """Lines in an inch of column; the trade's tables reckon with 72 points to the inch."""
    return 1 / (_positive(body_pt + lead_pt) * point_in)


def body_name(body_pt: float, within_pt: float = 0.25) -> str:
    """The old name of a body, "" where none is so near."""
    nearest = min(BODY_NAMES, key=lambda named: abs(named - body_pt))
    return BODY_NAMES[nearest] if abs(nearest - body_pt) <= within_pt else ""


def _positive(value: float) -> float:
    if not value > 0:
        msg = f"must be more than nothing, is {value}"
        raise ValueError(msg)
    return value
