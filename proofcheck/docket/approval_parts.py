"""What both sheets for approval are made of: text down the pages, the picture, words to sign."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Final

from proofcheck.base.visible import visible
from proofcheck.docket.signoff import WORDS
from proofcheck.results.plain_page import FOOT, HEIGHT, MARGIN, TOP, WIDTH, PlainPage, wrapped
from proofcheck.sheet.insets import as_pulled, where_printed

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from proofcheck.base.values import Box, Sheet
    from proofcheck.docket.job import Job
    from proofcheck.docket.verify import Checked
    from proofcheck.results.report import Report

__all__ = [
    "CHANGED",
    "MEANING",
    "NOTICE",
    "SIGNATURE",
    "TALL",
    "WIDE",
    "WORD",
    "Flow",
    "Spot",
    "full_height",
    "pages_numbered",
    "picture",
    "places_of",
    "sign",
    "terms",
]

NOTICE = (
    "Please read the proof with care; what is approved here is what will be printed. By the usual "
    "custom of the trade the printer does not answer for errors in work printed to the customer's "
    "O.K., nor for changes given by word of mouth only, and changes of copy are charged by the "
    "time they take. The terms agreed between the parties, and the law of the place, come first."
)
"""After the custom put together by the US employing printers' body in 1922 (common practice)."""
MEANING = {
    "ok": "print as it stands",
    "ok-with-corrections": "print when the corrections marked are shown made on a revise",
    "revise-wanted": "correct, and send another proof before printing",
}
"""What each of the customer's words comes to."""
CHANGED = "The copy was changed after this proof was read; ask for a new proof."
WORD, SIGNATURE = "word", "signature"
"""What the fields of the word and of the signature are called."""
WIDE = WIDTH - 2 * MARGIN
TALL = HEIGHT - FOOT - TOP - 40
"""So high a picture may stand on a page of its own."""
_LABEL: Final = 9.0
"""Size of what stands beside a framed place."""
_BESIDE: Final = 24.0
"""Room for it beside the picture; the margin is its too."""

_TO_SIGN: Final = 310.0
"""Height of words, lines and terms together."""
_TOGETHER: Final = 14
"""Letters of labels that one row bears beside the picture."""


@dataclass(slots=True)
class Flow:
    """Text set down the pages."""

    pages: list[PlainPage] = field(default_factory=lambda: [PlainPage()])

    @property
    def page(self) -> PlainPage:
        """The one that fills."""
        return self.pages[-1]

    @property
    def left(self) -> float:
        """How much of the page is free, in points."""
        return HEIGHT - FOOT - self.page.y

    def over(self) -> None:
        """Begin a page."""
        self.pages.append(PlainPage())

    def room(self, height: float) -> None:
        """Begin a page where so much has no room any more."""
        if height > self.left:
            self.over()

    def text(self, font: str, size: float, words: str, x: float = MARGIN) -> None:
        """A paragraph broken to the measure."""
        for line in wrapped(words, size, x):
            self.room(size * 1.35)
            self.page.y += size * 1.35
            self.page.put(font, size, x, self.page.y, line)

    def line(self, label: str, x: float, length: float) -> None:
        """A line to write on, with what goes there under it."""
        self.page.rule(x, self.page.y, length)
        self.page.put("P", 7.5, x, self.page.y + 9, label)

    def parted(self) -> None:
        """A rule from margin to margin."""
        self.page.y += 6
        self.page.rule(MARGIN, self.page.y, WIDE)
        self.page.y += 8


@dataclass(frozen=True, slots=True)
class Spot:
    """A place of the proof that is framed on its picture."""

    label: str
    sheet: int
    box: Box


def places_of(report: Report) -> dict[str, tuple[int, Box]]:
    """Sheet and place of each fault, by its id."""
    return {fault.id: (fault.sheet, fault.box) for fault in report.faults}


def full_height(sheet: Sheet, tall: float = TALL) -> float:
    """How high a sheet's picture stands as wide as the page bears, or as high as that at most."""
    height, width = as_pulled(sheet).shape
    return min(tall, float((WIDE - _BESIDE) * height / width))


def picture(flow: Flow, sheet: Sheet, spots: Iterable[Spot], tall: float) -> None:
    """A sheet as high as that at most, with a labelled frame at each place."""
    image = as_pulled(sheet)
    height, width = image.shape
    wide = full_height(sheet, tall) * width / height
    x, y, scale = MARGIN, flow.page.y + 6, wide / width
    flow.page.y = y + flow.page.picture(image, x, y, wide) + 8
    flow.page.frame_thin(x, y, wide, height * scale)
    here = [
        replace(spot, box=where_printed(sheet, spot.box))
        for spot in spots
        if spot.sheet == sheet.number
    ]
    for spot in here:
        place = spot.box
        flow.page.frame(
            x + (place.x - 8) * scale, y + (place.y - 6) * scale,
            (max(place.width, 10) + 16) * scale, (place.height + 12) * scale,
        )  # fmt: skip
    feet = [(y + (spot.box.y + spot.box.height) * scale, spot.label) for spot in here]
    feet.sort(key=lambda foot: foot[0])
    _beside(flow.page, x + wide + 6, feet, head=y, foot=y + height * scale)


def _beside(
    page: PlainPage, x: float, labels: Sequence[tuple[float, str]], *, head: float, foot: float
) -> None:
    """Labels each at its height, those of one height together; none beyond the picture's foot.

    Where they stand too close they are parted, first down, then up from the foot.
    """
    rows: list[tuple[float, str]] = []
    for at, label in labels:
        if rows and at - rows[-1][0] < _LABEL / 2 and len(rows[-1][1]) + len(label) < _TOGETHER:
            rows[-1] = (rows[-1][0], f"{rows[-1][1]}, {label}")
        else:
            rows.append((at, label))
    if not rows:
        return
    step = min(_LABEL * 1.05, (foot - head) / len(rows))
    places = [at for at, _ in rows]
    for number in range(1, len(places)):
        places[number] = max(places[number], places[number - 1] + step)
    limit = foot
    for number in reversed(range(len(places))):
        places[number] = min(places[number], limit)
        limit = places[number] - step
    for at, (_, label) in zip(places, rows, strict=True):
        page.put("B", min(_LABEL, step * 0.95), x, at, label)


def sign(flow: Flow) -> None:
    """The three words and the lines to sign on, with room for the terms on the same page."""
    flow.room(_TO_SIGN)
    flow.page.y += 12
    for key, words in WORDS.items():
        flow.page.y += 20
        flow.page.tick(WORD, key, MARGIN, flow.page.y + 2, 11)
        flow.page.put("B", 10.5, MARGIN + 20, flow.page.y, words)
        flow.page.put("P", 9.5, MARGIN + 170, flow.page.y, MEANING[key])
    for left, right in (("Signature", "Name"), ("Date", "On behalf of")):
        flow.page.y += 42
        if left == "Signature":
            flow.page.sign_here(SIGNATURE, MARGIN, flow.page.y - 2, WIDE / 2 - 12, 34)
        flow.line(left, MARGIN, WIDE / 2 - 12)
        flow.line(right, MARGIN + WIDE / 2 + 12, WIDE / 2 - 12)
    flow.page.y += 22


def terms(flow: Flow, job: Job, checked: Checked) -> None:
    """The usual terms, and for exactly what the sheet holds."""
    flow.text("P", 8, NOTICE)
    flow.page.y += 4
    hashes = ", ".join(job.proof.hashes) if job.proof else ""
    held = job.copies[job.proof.copy - 1].sha256 if job.proof else ""
    told = f"Proof {hashes}; copy {held}. Record: entry {checked.number}, {checked.book}. "
    flow.text("P", 6.5, f"{told}This sheet holds for exactly this copy and this proof.")
    flow.text("P", 6.5, "The record stands at:")
    for line in checked.anchor.splitlines():
        flow.text("P", 6.5, line)


def pages_numbered(flow: Flow, job: Job) -> str:
    """Say at the foot of each page whose it is and which of how many; returns whose."""
    foot = f"Job {visible(job.number)}, {job.proof.name if job.proof else ''}"
    for number, page in enumerate(flow.pages, 1):
        words = f"{foot}: page {number} of {len(flow.pages)}"
        page.put("P", 8, MARGIN, HEIGHT - 30, words)
    return foot
