"""Helps the tests of the type itself: a set proof as the rooms see it, all told but the ink."""

from __future__ import annotations

import numpy as np
from typesetter import Para, Style, compose, lines_of, print_proof, pull, readings_of

from proofcheck.base.values import Copy, Scan, Sheet, Span
from proofcheck.collate import collate
from proofcheck.metal import MetalSettings, look_at_type
from proofcheck.metal.context import Matter

PROSE = (
    (
        "The band was first gathered in the winter when the mill stood still, and the office of "
        "bandmaster fell to the wheelwright, who could not read a note but had a fine sense of "
        "pitch. Eleven men and two boys learned their parts by lantern in the drying loft. The "
        "march they played in the open was heard, it is said, as far as the second milestone, and "
        "a flock of geese walked behind them the whole way home."
    ),
    (
        "This programme has been arranged so that the children may hear the merry pieces before "
        "the air grows cool, and their grandfathers the solemn ones afterwards. The overture is "
        "new to the village: it was written for the opening of the lock, and has not been given "
        "since the water was let in. The polka is dedicated to the patient donkey, which will "
        "attend if the weather is fine."
    ),
    (
        "Visitors are asked to shut both gates, to leave the left-hand path to the sheep, and to "
        "keep their seats until the last verse of the evening hymn, when hats will be passed for "
        "the new bass drum. Should it rain, the concert will be held in the upper mill, and the "
        "donkey excused."
    ),
)


def prose_forme(measure_picas=24, **style):
    return compose(
        [Para(text) for text in PROSE], measure_picas=measure_picas, style=Style(**style)
    )


def sheet_of(image, dpi=300.0):
    height, width = image.shape
    scan = Scan("proof", 0, "", width, height)
    return Sheet(image, scan, 0, dpi, "option", 0, mirrored=False, skew_deg=0.0, to_scan=np.eye(3))


def copy_of(text):
    paragraphs, start = [], 0
    for part in text.split("\n"):
        if part.strip():
            paragraphs.append(Span(start, start + len(part)))
        start += len(part) + 1
    return Copy(text, "-", "0" * 64, "utf-8", tuple(paragraphs))


def seen(forme, *, worn=True, seed=1, dpi=300.0, certainty=1.0):
    """Sheets, lines, readings, collation and copy of a forme, as `metal_faults` takes them."""
    proof = print_proof(forme, dpi=dpi, misalign_pt=0.04, seed=seed)
    image = pull(proof, "good", seed=seed) if worn else proof.image
    copy = copy_of(proof.copy)
    lines, readings = lines_of(proof), readings_of(proof, certainty)
    collation = collate(copy, readings, lines=lines)
    return [sheet_of(image, dpi)], lines, readings, collation, copy


def metal_faults(*proof, settings=None):
    """The faults of the type alone, in order of the proof."""
    return look_at_type(*proof, settings=settings).findings


def findings(forme, *, settings=None, **how):
    return metal_faults(*seen(forme, **how), settings=settings)


def matter_of(forme, **how):
    return Matter.of(*seen(forme, **how), MetalSettings())
