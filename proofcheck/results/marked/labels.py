"""What is written round a marked sheet besides the marks: heading, line numbers, foot."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from proofcheck.base.fault_numbers import shown_number
from proofcheck.base.visible import visible
from proofcheck.marks.lettering import write
from proofcheck.marks.paths import Drawing, extent, moved, parse, ring_round
from proofcheck.marks.wording import shortened
from proofcheck.results.line_names import PLAIN
from proofcheck.results.marked.parts import FAINT, INK, TYPE, Inked, Rect

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence

    from proofcheck.base.values import Line, Sheet
    from proofcheck.results.line_names import LineNames
    from proofcheck.results.marked.parts import Heading, PlacedSign

__all__ = [
    "Labels",
    "Numbers",
    "foot_labels",
    "heading_labels",
    "inset_labels",
    "number_labels",
    "proof_called",
    "sign_numbers",
]

_FOOT = (
    "Marks stand in the nearer margin, in the order of the line, each closed by a stroke. "
    "A ring with ? is a query: to be looked at, not yet to be changed."
)
_RECAST = "A line's number in a ring: its slug is to be cast again."
_LOOK = "A sign with “look”: worn type or wide spaces, for a foreman to see."
_INSET = "set sideways on the proof, shown upright here"
_NUMBER_SIZE = 0.62
_SIGN_NUMBER_SIZE = 0.46
_THIN = 0.085


@dataclass(frozen=True, slots=True)
class Labels:
    """Writing ready in page pixels, and the height it takes."""

    inked: tuple[Inked, ...]
    height_px: float


@dataclass(frozen=True, slots=True)
class Numbers:
    """Line numbers of one sheet, not yet moved to the page's edges."""

    left_px: float
    """Width of the strip they take at the left edge of the page."""
    right_px: float
    marks: tuple[tuple[str, Drawing, tuple[float, float], bool], ...]
    """Side, the written number from its own origin, the line's end of its baseline, and whether
    its slug is to be cast again."""
    unit: float

    def at(self, page_width: int, at: tuple[int, int]) -> tuple[Inked, ...]:
        """The numbers along the edges of the page; those of a middle column in its gutter.

        Args:
            page_width: in pixels.
            at: where the sheet's top left corner stands on the page.
        """
        out = []
        for side, drawing, end, again in self.marks:
            held = extent(drawing)
            if side == "left":
                x = self.left_px - 0.4 * self.unit - held.right
            elif side == "right":
                x = page_width - self.right_px + 0.6 * self.unit - held.left
            else:
                x = end[0] + at[0] - 0.5 * self.unit - held.right
            pen = 1.15 * _THIN * _NUMBER_SIZE * self.unit
            ink = INK if again else FAINT
            out.append(Inked(moved(drawing, by=(x, end[1] + at[1])), pen, ink))
        return tuple(out)


def number_labels(
    lines: Sequence[Line],
    columns: int,
    unit: float,
    recast: Collection[int] = (),
    names: LineNames = PLAIN,
) -> Numbers:
    """Names of the printed lines; those of the slugs to be cast again stand in a ring.

    The first of several columns has its numbers at the left edge of the page, as insets have, the
    last at the right; columns between them have theirs in the gutter, and so have lines of whose
    row one has its number at that edge already.
    """
    marks = []
    taken: list[tuple[str, float]] = []
    widths = {"left": 0.0, "right": 0.0, "gutter": 0.0}
    for line in lines:
        side = "gutter" if line.column and line.home is None else "left"
        if columns > 1 and line.column == columns - 1:
            side = "right"
        foot = line.baseline[1 if side == "right" else 0]
        if any(one == side and abs(at - foot) < _NUMBER_SIZE * unit for one, at in taken):
            side = "gutter"
        taken.append((side, foot))
        size = _NUMBER_SIZE * (0.8 if side == "gutter" else 1.0)
        written = write(names.name(line.number), 0.0)
        again = line.number in recast
        if again:
            written = (*written, *ring_round(extent(written), 0.3))
        drawing = moved(written, scale=size * unit, flip=True)
        widths[side] = max(widths[side], extent(drawing).width + 1.2 * unit)
        marks.append((side, drawing, (line.box.x, foot), again))
    return Numbers(widths["left"], widths["right"], tuple(marks), unit)


def sign_numbers(
    signs: Sequence[PlacedSign], proof: int, unit: float
) -> tuple[tuple[Inked, Rect], ...]:
    """The numbers of the faults, small, on the far side of their signs; in the signs' own pixels.

    Each with the room it takes. Several in one row follow one another as their signs do.
    """
    rows: dict[tuple[str, int, int], list[PlacedSign]] = {}
    for sign in signs:
        rows.setdefault((sign.side, sign.line, sign.row), []).append(sign)
    size, out = _SIGN_NUMBER_SIZE * unit, []
    taken = {side: [s.rect for s in signs if s.side == side] for side in ("left", "right")}
    for (side, _, _), row in rows.items():
        named = [shown_number(proof, s.fault) for s in sorted(row, key=lambda s: s.rect.left)]
        drawing = moved(write(" ".join(dict.fromkeys(named)), 0.0), scale=size, flip=True)
        held, foot = extent(drawing), max(s.rect.bottom for s in row) - 0.35 * unit
        # Beyond all that stands at this height, of other lines and other rows too.
        level = [r for r in taken[side] if r.top < foot + held.high and foot + held.low < r.bottom]
        level += [s.rect for s in row]
        if side == "left":
            x = min(r.left for r in level) - 0.5 * unit - held.right
        else:
            x = max(r.right for r in level) + 0.5 * unit - held.left
        rect = Rect(x + held.left, foot + held.low, x + held.right, foot + held.high)
        taken[side].append(rect)
        out.append((Inked(moved(drawing, by=(x, foot)), _THIN * size, FAINT), rect))
    return tuple(out)


def inset_labels(sheet: Sheet, lines: Sequence[Line], unit: float) -> tuple[Inked, ...]:
    """What stands over each inset, in the sheet's own pixels: that its type is set sideways."""
    tickets = {line.home: line.ticket for line in lines if line.ticket}
    out = []
    for inset in sheet.insets:
        of = f"of ticket {tickets[inset.home]}, " if inset.home in tickets else ""
        written = _fitted(of + _INSET, 0.6 * unit, float(sheet.image.shape[1]))
        middle = inset.box.x + (inset.box.width - extent(written).width) / 2
        at = max(middle, 0.0), inset.box.y - 1.2 * unit
        out.append(Inked(moved(written, by=at), 0.05 * unit, FAINT))
    return tuple(out)


def heading_labels(
    heading: Heading, sheet: int, sheets: int, page_width: int, unit: float
) -> Labels:
    """Job on the left, what the proof is and what was found on the right or below it."""
    job = _fitted(shortened(heading.job), 1.05 * unit, page_width - 2.4 * unit)
    details = _fitted(_details(heading, sheet, sheets), 0.8 * unit, page_width - 2.4 * unit)
    x, y = 1.2 * unit, 2.6 * unit
    written = [Inked(moved(job, by=(x, y)), _THIN * unit * 1.2, TYPE)]
    beside = extent(job).width + extent(details).width + 5 * unit < page_width
    if not beside:
        y += 2.0 * unit
    at = page_width - 1.2 * unit - extent(details).right if beside else x
    written.append(Inked(moved(details, by=(at, y)), _THIN * unit, TYPE))
    y += 0.95 * unit
    rule = parse(f"M{x:.1f},{y:.1f}L{page_width - x:.1f},{y:.1f}")
    return Labels((*written, Inked(rule, 0.05 * unit, TYPE)), y + 0.6 * unit)


def foot_labels(
    page_width: int,
    top: float,
    unit: float,
    *,
    recast: bool = False,
    look: bool = False,
    disputes: Sequence[str] = (),
) -> Labels:
    """One line saying how the marks are to be read; of numbers in rings and grades if there are.

    Under it what is in dispute, a line each.
    """
    words = " ".join([_FOOT, *([_RECAST] if recast else []), *([_LOOK] if look else [])])
    written, y = [], top + 1.3 * unit
    for line, ink in ((words, FAINT), *((visible(each), TYPE) for each in disputes)):
        drawing = _fitted(line, 0.6 * unit, page_width - 2.4 * unit)
        written.append(Inked(moved(drawing, by=(1.2 * unit, y)), 0.05 * unit, ink))
        y += 1.1 * unit
    return Labels(tuple(written), 2.2 * unit + 1.1 * unit * len(disputes))


def _details(heading: Heading, sheet: int, sheets: int) -> str:
    day = f"{heading.date.day} {heading.date:%B} {heading.date.year}"
    parts = [
        proof_called(heading.proof),
        day,
        _count(heading.faults, "fault", "faults"),
        _count(heading.queries, "query", "queries"),
    ]
    if heading.unread:
        parts.append(_count(heading.unread, "place not read", "places not read"))
    if sheets > 1:
        parts.append(f"sheet {sheet + 1} of {sheets}")
    return "  ·  ".join(parts)


def proof_called(proof: str) -> str:
    """What to call a proof of the series: "Proof 2", "First proof", "Second revise"."""
    name = shortened(proof)
    if not name or name[0].isdigit():
        return f"Proof {name}".strip()
    known = "proof" in name.lower() or "revise" in name.lower()
    return (name[0].upper() + name[1:]) + ("" if known else " proof")


def _count(number: int, one: str, more: str) -> str:
    return f"{number or 'no'} {one if number == 1 else more}"


def _fitted(text: str, size: float, width: float) -> Drawing:
    """The text written upright at a size, or smaller where it would not fit the width."""
    drawing = write(text, 0.0) or parse("D0,0")
    held = extent(drawing)
    return moved(drawing, scale=min(size, width / max(held.width, 1e-6)), flip=True)
