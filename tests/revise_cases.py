"""A notice pulled twice: set, corrected, recast or muddled in between; read without error.

The reading is the typesetter's own, so that these tests try the laying over, not the reader.
"""

from __future__ import annotations

import hashlib
import itertools
import tempfile
from dataclasses import replace
from functools import lru_cache
from pathlib import Path
from typing import NamedTuple

import cv2
import numpy as np
from typesetter import PRESETS, Head, Para, Slug, compose, print_proof, pull_mapped

from proofcheck.base.found import Fault, Status
from proofcheck.base.values import Box, Copy, Letter, Reading, Span
from proofcheck.collate import collate
from proofcheck.marks.assign import mark_for
from proofcheck.results.report import Provenance, Report, verdict_of
from proofcheck.sheet.clean import clean_sheet
from proofcheck.sheet.lines import find_lines
from proofcheck.sheet.orient import turned
from proofcheck.sheet.scans import open_scans

TEXTS = (
    (
        "The band was first gathered in the winter when the mill stood still, and the office of "
        "bandmaster fell to the blacksmith, who could not read a note but had a fine sense of "
        "pitch; the effect, on a difficult affair of fifty flutes, was efficient and soft. Those "
        "who remember say that the first practice lasted until the candles failed, and that "
        "nobody went home."
    ),
    (
        "Programmes may be had at the gate for twopence each, or of the wheelwright at the forge. "
        "Tea will be served in the long barn from four until half past five, and the raffle "
        "drawn directly after. Should it rain, the concert will be held in the upper mill."
    ),
)
FOREIGN = "Nails, cut, per pound weight, fourpence three farthings"


def notice(measure=20, texts=TEXTS):
    """The forme as it should be."""
    blocks = [Head("A BAND IS FORMED", 14, letterspace_pt=1.0), *(Para(text) for text in texts)]
    return compose(blocks, measure_picas=measure)


def recast(forme, rng, lines, *, space_pt=0.15, letter_pt=0.06):
    """The same lines cast again: mats and bands seated a hair otherwise.

    The play is of the order of a few thousandths of an inch (0.15 pt is 0.002 in.), `common
    practice`; no measured figure was found.
    """
    wanted = {forme.slugs[line - 1].uid for line in lines}
    items = [
        _cast_again(item, rng, space_pt, letter_pt)
        if isinstance(item, Slug) and item.uid in wanted
        else item
        for item in forme.items
    ]
    return replace(forme, items=tuple(items))


def _cast_again(slug, rng, space_pt, letter_pt):
    bands = [n for n, sort in enumerate(slug.sorts) if sort.text == " "]
    play = rng.normal(0, space_pt, len(bands))
    play -= play.mean() if bands else 0
    seated = rng.normal(0, letter_pt, len(slug.sorts) + 1)
    widths = dict(zip(bands, play, strict=True))
    sorts = [
        replace(
            sort,
            width_pt=sort.width_pt + seated[n + 1] - seated[n] + widths.get(n, 0.0),
            raise_pt=sort.raise_pt + rng.normal(0, letter_pt / 2),
        )
        for n, sort in enumerate(slug.sorts)
    ]
    return replace(slug, sorts=tuple(sorts))


class Pull(NamedTuple):
    """One sheet as scanned, with what its lines read."""

    image: np.ndarray
    texts: list[str]
    places: list | None = None
    """Of each line's letters, as `_places` gives them."""
    quarters: int = 0
    """Quarters clockwise by which it lies turned on the scanner; the readers right that."""
    dpi: float = 300


@lru_cache(maxsize=32)
def pulled(
    forme, seed, *, wear="good", turn_deg=0.0, scale=1.0, spread_mil=0.0, copy=None,
    quarters=0, dpi=300, sheets=1, part=None,
):  # fmt: skip
    """A report of one pull of the forme, its sheet turned and scaled as a scanner might.

    On several sheets its slugs are shared out among them, in their order. Of a part, first and
    last line, only those are on the sheet. A pull asked for again is the one made before, and
    nobody may write on it.
    """
    ends = np.linspace(0, len(forme.slugs), sheets + 1).round().astype(int).tolist()
    pulls = []
    for number, (start, end) in enumerate(itertools.pairwise(ends)):
        here = forme if sheets == 1 else only_lines(forme, start + 1, end)
        proof = print_proof(here, margin_picas=2.5)
        how = PRESETS[wear]
        inked = replace(how, spread_mil=how.spread_mil + spread_mil)
        image, _ = pull_mapped(proof, inked, seed + number)
        held = proof.lines[part[0] - 1 : part[1]] if part else proof.lines
        image = cut_off(image, proof, *part) if part else image
        height, width = image.shape
        turn = cv2.getRotationMatrix2D((width / 2, height / 2), turn_deg, scale)
        image = cv2.warpAffine(
            image, turn, (width, height), flags=cv2.INTER_CUBIC, borderValue=how.paper_level
        )
        texts, places = [line.text for line in held], [_places(line) for line in held]
        pulls.append(Pull(scanned(image, quarters, dpi), texts, places, quarters, dpi))
    report = report_of(pulls, copy or forme.copy, part=part is not None)
    for sheet in report.sheets:
        sheet.image.setflags(write=False)
    return report


def cut_off(image, proof, first, last):
    """The sheet with those lines alone, as on a slip torn off."""
    tops = [y for _, y, _, _ in (line.box for line in proof.lines)]
    ends = [y + height for _, y, _, height in (line.box for line in proof.lines)]
    top = round((ends[first - 2] + tops[first - 1]) / 2) if first > 1 else 0
    bottom = round((ends[last - 1] + tops[last]) / 2) if last < len(tops) else len(image)
    room = np.full((60, image.shape[1]), np.median(image), image.dtype)
    return np.vstack([room, image[top:bottom], room])


def only_lines(forme, first, last):
    """Some of the forme's slugs alone, as they stand in it."""
    kept = {slug.uid for slug in forme.slugs[first - 1 : last]}
    gone = {slug.uid for slug in forme.slugs} - kept
    items = tuple(item for item in forme.items if getattr(item, "uid", 0) not in gone)
    planted = tuple(p for p in forme.planted if not {p.uid, *p.other_uids} & gone)
    return replace(forme, items=items, planted=planted)


def scanned(image, quarters=0, dpi=300):
    """A picture of 300 dpi as it would be scanned at another resolution, or lying turned."""
    if dpi != 300:
        way = cv2.INTER_AREA if dpi < 300 else cv2.INTER_CUBIC
        image = cv2.resize(image, None, fx=dpi / 300, fy=dpi / 300, interpolation=way)
    return np.ascontiguousarray(np.rot90(image, -quarters))


def _places(line):
    """Where each letter of a line begins and ends, as shares of the line; None if not told."""
    if len(line.letters) != len(line.text):
        return None
    left, _, width, _ = line.box
    return [((x - left) / width, (x - left + w) / width) for x, _, w, _ in
            (item.box for item in line.letters)]  # fmt: skip


def report_on(image, texts, copy_text, places=None):
    """A report on a picture whose lines read as given, their letters at these places."""
    return report_of([Pull(image, texts, places)], copy_text)


def report_of(pulls, copy_text, *, part=False):
    """A report on several sheets, whose lines read as given; of all the copy or part of it."""
    sheets, lines, readings = [], [], []
    for number, pull in enumerate(pulls):
        sheets.append(_sheet(pull, number))
        found = find_lines(sheets[-1], len(lines) + 1)
        assert len(found) == len(pull.texts), (len(found), len(pull.texts))
        places = pull.places or [None] * len(found)
        readings += map(_reading, found, pull.texts, places)
        lines += found
    copy = _copy(copy_text)
    collation = collate(copy, tuple(readings), lines=tuple(lines), part=part)
    boxes = {line.number: line.box for line in lines}
    sheet_of = {line.number: line.sheet for line in lines}
    letters = {reading.line: reading.letters for reading in readings}
    faults = tuple(
        Fault(
            f"F{n}", d.kind, d.line, sheet_of.get(d.line, 0), _box_of(d, boxes, letters), d.copy,
            d.copy_text, d.proof_text, mark_for(d), 0.99, Status.FAULT, d.cause, d.other_lines,
        )
        for n, d in enumerate(collation.differences, 1)
    )  # fmt: skip
    made = Provenance("typesetter", settings={"part": True} if part else {})
    return Report(
        verdict_of(faults, mismatch=collation.mismatch), tuple(sheets), copy, tuple(lines),
        tuple(readings), collation, faults, made,
    )  # fmt: skip


def _sheet(pull, number):
    """The sheet made clean and upright."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "proof.png"
        cv2.imwrite(str(path), pull.image)
        sheet = clean_sheet(next(iter(open_scans([path]))), number, dpi=pull.dpi)
    return turned(sheet, (-90 * pull.quarters - sheet.turned_deg) % 360)


def _box_of(difference, boxes, letters):
    """Where a difference shows: its letters' box, a gap's of width 0, or the whole line's."""
    held = letters.get(difference.line, ())
    start, end = difference.proof
    if start < end <= len(held):
        return Box.around(letter.box for letter in held[start:end])
    if 0 < start < len(held) and difference.copy_text.strip():
        return held[start].box._replace(width=0)
    return boxes.get(difference.line, Box(0, 0, 0, 0))


def _reading(line, text, places):
    step = 1 / max(len(text), 1)
    places = places or [(n * step, (n + 1) * step) for n in range(len(text))]
    x, y, width, height = line.box
    letters = tuple(
        Letter(c, Box(round(x + a * width), y, round((b - a) * width), height), 1.0)
        for c, (a, b) in zip(text, places, strict=True)
    )
    return Reading(line.number, letters)


def _copy(text):
    spans, at = [], 0
    for part in text.split("\n"):
        if part.strip():
            spans.append(Span(at, at + len(part)))
        at += len(part) + 1
    digest = hashlib.sha256(text.encode()).hexdigest()
    return Copy(text, "notice.txt", digest, "utf-8", tuple(spans))


def second_scan(rng):
    """How a second scan may differ: turned by up to 1°, 1 % larger or smaller, inked otherwise."""
    return {
        "turn_deg": float(rng.uniform(-1, 1)),
        "scale": float(rng.uniform(0.99, 1.01)),
        "spread_mil": float(rng.uniform(-0.4, 0.7)),
        "wear": str(rng.choice(["clean", "good", "worn"])),
    }


OTHERWISE = ("much alike", "turned", "other scale", "inked heavier", "two sheets", "a part")
"""How a revise may come: scanned much as the proof was, or otherwise, or not the whole of it."""


def scanned_otherwise(rng, way):
    """How a second scan of that way differs from a first (`pulled`)."""
    how = second_scan(rng)
    if way == "turned":
        how |= {"quarters": int(rng.integers(1, 4))}
    elif way == "other scale":
        how |= {"dpi": int(rng.choice([200, 240, 400, 600]))}
    elif way == "inked heavier":
        how |= {"spread_mil": float(rng.uniform(0.8, 1.4))}
    elif way == "two sheets":
        how |= {"sheets": 2}
    return how


def moves(revise):
    """Kinds of the findings, with the lines they stand at."""
    return [(finding.kind.value, finding.line) for finding in revise.findings]


def rng_of(seed):
    return np.random.default_rng(seed)
