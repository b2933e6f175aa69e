"""Shared fixtures. pytest puts this folder on the path, so tests import `typesetter` as it is."""

from __future__ import annotations

import os

# The suite runs beside other work: one thread a process keeps its times steady. Two that wait for
# each other took twice the processor's time of one. It has to be said before numpy is loaded.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

import cv2
import pytest
from typesetter import Head, Para, Proof, Rule, compose, print_proof

cv2.setNumThreads(1)

NOTICE = (
    (
        "The band was first gathered in the winter when the mill stood still, and the office of "
        "bandmaster fell to the blacksmith, who could not read a note but had a fine sense of "
        "pitch; the effect, on a difficult affair of fifty flutes, was efficient and soft. Those"
        " who remember say that the first practice lasted until the candles failed, and that "
        "nobody went home."
    ),
    "Programmes may be had at the gate for 2½d. each, or of Mr. Pender at the forge.",
)


@pytest.fixture(scope="session")
def notice_forme():
    """A short notice in set lines: a head, a rule, a justified paragraph, a short one."""
    blocks = [Head("A BAND IS FORMED", 14, letterspace_pt=1.0), Rule(width_pt=90)]
    return compose([*blocks, *(Para(text) for text in NOTICE)], measure_picas=22)


@pytest.fixture(scope="session")
def notice_proof(notice_forme) -> Proof:
    """A perfect impression of the notice at 300 dpi."""
    return print_proof(notice_forme)
