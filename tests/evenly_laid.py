"""Lines of letters laid out by number: every letter as wide as every other, every place known.

Ink is drawn only where it is asked for, each letter a block. What is judged by places alone
(spaces, edges, columns, make-up) can so be put to a rule at its very edge, which a printed sheet
cannot.
"""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
from metal_cases import copy_of, sheet_of

from proofcheck.base.values import Box, Letter, Line, Reading
from proofcheck.collate import collate
from proofcheck.metal import MetalSettings
from proofcheck.metal.context import Matter
from proofcheck.metal.spaces import word_spaces

DPI = 300.0
BODY_PT = 10.0
EM_PX = BODY_PT * DPI / 72.27
"""American points: 72.27 to the inch."""
X_PX = 20.0
WIDE, WHITE = 16, 2
"""A letter's ink, and the white to the next letter's."""
PITCH_PX = 52
SPACE_PX = 14
"""Between the ink of two words; as set it is `WHITE` less, which the letters bring along."""


def line_of(
    text,
    number,
    *,
    left=100,
    top=None,
    spaces=(),
    column=0,
    sheet=0,
    x=X_PX,
    tilt=0.0,
    lift=None,
    tall=30,
):
    """A line and its reading; `spaces` are the gaps between words in turn, pixels.

    `lift` moves letters up, by place; all boxes are `tall` and reach 2 px under the baseline.
    """
    top = 100 + (number - 1) * PITCH_PX if top is None else top
    gaps, lift = iter(spaces), lift or {}
    letters, at = [], left
    for k, char in enumerate(text):
        if char == " ":
            gap = next(gaps, SPACE_PX)
            letters.append(Letter(" ", Box(at - WHITE, top, gap, 30), 1.0))
            at += gap - WHITE
        else:
            head = top + 30 - tall - lift.get(k, 0)
            letters.append(Letter(char, Box(at, head, WIDE, tall), 1.0))
            at += WIDE + WHITE
    box = Box.around(letter.box for letter in letters if letter.text != " ")
    base = top + 28.0
    line = Line(number, sheet, column, box, (base, base + tilt), x, BODY_PT)
    return line, Reading(number, tuple(letters))


def matter_laid(rows, copy, *, settings=None, lifted=(), paragraphs=None, ink=None):
    """The matter of lines from `line_of`; with `ink` its letters are drawn, and those boxes."""
    lines, readings = zip(*rows, strict=True)
    text = copy_of(copy)
    tall = max(line.box.bottom for line in lines) + 200
    wide = max(line.box.right for line in lines) + 200
    image = np.full((tall, wide), 255, np.uint8)
    for line, reading in rows if ink is not None else ():
        high = round(line.x_height_px)
        for letter in reading.letters:
            if letter.text != " ":
                foot = letter.box.bottom - 2
                image[foot - high : foot, letter.box.x : letter.box.right] = 0
    for box in ink or ():
        image[box.y : box.bottom, box.x : box.right] = 0
    held = [sheet_of(image, DPI)]
    if lifted:
        held = [replace(held[0], lifted=tuple(lifted))]
    if paragraphs:
        text = replace(text, paragraphs=paragraphs)
    collation = collate(text, readings, lines=lines)
    return Matter.of(held, lines, readings, collation, text, settings or MetalSettings())


def judged(matter):
    """As much of what is judged as places alone give; no letter stands among odd ones."""
    odd = np.zeros(len(matter.fount.text), bool)
    return SimpleNamespace(matter=matter, spaces=word_spaces(matter), among_odd=odd)
