"""Weights in eight bits: made of the shipped ones, they read the same matter nearly the same."""

from pathlib import Path

import cv2
import pytest
from report_cases import set_sheet

SHIPPED = Path(__file__).parents[1] / "proofcheck" / "reading" / "weights" / "letters.onnx"


@pytest.mark.slow
def test_they_open_as_the_others_and_are_laid_beside_them(tmp_path):
    pytest.importorskip("onnx")
    from proofcheck.reading.weights import open_weights
    from tests.lab.eightbit import make, measure

    page, out = tmp_path / "page.png", tmp_path / "small.onnx"
    lines = ["THE VILLAGE BAND", "will give its summer concert on the green,"]
    cv2.imwrite(str(page), set_sheet(lines)[0].image)
    page.with_suffix(".txt").write_text(" ".join(lines), encoding="utf-8")
    make(SHIPPED, out, [page], narrow=True, edges_whole=True)
    assert out.stat().st_size < 0.5 * SHIPPED.stat().st_size
    opened = open_weights(out)
    assert opened.gives_features
    assert opened.sha256 != open_weights(SHIPPED).sha256
    laid = measure(SHIPPED, out, [page])
    assert (laid.pages, laid.characters) == (1, len(" ".join(lines)))
    assert laid.apart <= 2
    assert abs(laid.edits[0] - laid.edits[1]) <= laid.apart
    assert min(laid.seconds) > 0
