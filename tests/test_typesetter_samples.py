"""The samples are what the typesetter makes, and hold together."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from typesetter import print_proof
from typesetter.make_samples import concert_first, concert_revise, notice_clean, prices_first

SAMPLES = Path(__file__).parents[1] / "samples"
FORMES = {
    "concert-proof": concert_first,
    "concert-phone": concert_first,
    "concert-revise": concert_revise,
    "prices-proof": prices_first,
    "notice-proof": notice_clean,
}


@pytest.mark.parametrize("name", FORMES)
def test_the_truth_is_that_of_the_forme(name):
    truth = json.loads((SAMPLES / f"{name}.faults.json").read_text(encoding="utf-8"))
    proof = print_proof(FORMES[name](), dpi=100)
    assert truth["lines"] == [line.text for line in proof.lines]
    assert [(f["kind"], f["line"], f["printed"], f["copy"]) for f in truth["faults"]] == [
        (f.kind, f.line, f.printed, f.copy) for f in proof.faults
    ]
    assert len(proof.faults) == {"notice-proof": 0, "concert-revise": 2, "prices-proof": 7}.get(
        name, 12
    )


def test_the_copies_are_those_the_proofs_were_set_from():
    copy = (SAMPLES / "concert-copy.txt").read_text(encoding="utf-8")
    assert copy.strip() == concert_first().copy.replace("’", "'")
    assert (SAMPLES / "notice-copy.txt").read_text(encoding="utf-8").strip() == (
        notice_clean().copy
    )


def _as_shipped():
    """The samples without what reading one of them writes beside it: the README's first command."""
    proofs = [path.stem for path in SAMPLES.glob("*.faults.json")]
    beside = tuple(f"{stem.removesuffix('.faults')}-" for stem in proofs)
    return [path for path in SAMPLES.iterdir() if not path.name.startswith(beside)]


def test_scans_say_their_resolution_and_the_folder_is_small():
    shipped = _as_shipped()
    assert len(shipped) > 10
    for path in shipped:
        if path.suffix != ".png":
            continue
        with Image.open(path) as image:
            assert image.info["dpi"] == pytest.approx((300, 300), abs=0.01)
            assert image.mode == "L"
    assert sum(path.stat().st_size for path in shipped) < 6_000_000


def test_the_type_stands_in_the_scan_where_it_was_set():
    # Not to the pixel: the wear may differ between versions of the libraries.
    forme = notice_clean()
    proof = print_proof(forme, dpi=300, misalign_pt=0.06, seed=14)
    with Image.open(SAMPLES / "notice-proof.png") as image:
        scan = np.asarray(image)
    assert scan.shape == proof.image.shape
    rows_set = (proof.image < 128).sum(axis=1) > 0
    ink = scan[rows_set].mean()
    white = scan[~rows_set].mean()
    assert ink < white - 5
