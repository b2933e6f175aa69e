"""Measures of the trade, each with its source, and the ways between them.

Type is measured by the American point of 0.013837 inch, slugs on a line-casting machine by a
pica of exactly one sixth of an inch; the two differ by four parts in a thousand, an eighth of
an inch in thirty. Composing rooms also reckoned with 72 points to the inch.

Sources: Stewart, *Typesetting* (1919) and *Type* (1918); *Linotype Manual* (1898), for the
pica of the moulds; Benton in *The Building of a Book* (1906).
"""

from __future__ import annotations

__all__ = [
    "MM_PER_INCH",
    "PDF_UNITS_PER_INCH",
    "PICA_IN",
    "POINTS_PER_PICA",
    "POINT_IN",
    "SLUG_PICA_IN",
    "inches_to_pt",
    "mm_to_px",
    "pt_to_inches",
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


def pt_to_inches(length_pt: float) -> float:
    """American points to inches."""
    return length_pt * POINT_IN


def inches_to_pt(length_in: float) -> float:
    """Inches to American points."""
    return length_in / POINT_IN


def mm_to_px(length_mm: float, dpi: float) -> float:
    """Millimetres to pixels; ValueError where `dpi` is not positive."""
    return length_mm / MM_PER_INCH * _positive(dpi)


def pt_to_px(length_pt: float, dpi: float) -> float:
    """American points to pixels; ValueError where `dpi` is not positive."""
    return pt_to_inches(length_pt) * _positive(dpi)


def px_to_pt(length_px: float, dpi: float) -> float:
    """Pixels to American points; ValueError where `dpi` is not positive."""
    return inches_to_pt(length_px / _positive(dpi))


def _positive(value: float) -> float:
    if not value > 0:
        msg = f"must be more than nothing, is {value}"
        raise ValueError(msg)
    return value
