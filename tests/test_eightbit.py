"""Weights in eight bits: as they are shipped, and made of these once more."""

from pathlib import Path

import cv2
import numpy as np
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
    assert out.stat().st_size == pytest.approx(SHIPPED.stat().st_size, rel=0.05)
    opened = open_weights(out)
    assert opened.gives_features
    assert opened.sha256 != open_weights(SHIPPED).sha256
    laid = measure(SHIPPED, out, [page])
    assert (laid.pages, laid.characters) == (1, len(" ".join(lines)))
    assert laid.apart <= 2
    assert abs(laid.edits[0] - laid.edits[1]) <= laid.apart
    assert min(laid.seconds) > 0


def test_products_fit_in_sixteen_bits_where_a_processor_has_no_more():
    # `vpmaddubsw` of AVX2 adds two products of 0 to 255 and a weight up in sixteen bits with sign
    # (Intel, "Intrinsics Guide"): past 32,767 they are cut off, and that processor reads otherwise.
    onnx = pytest.importorskip("onnx")
    held = [onnx.numpy_helper.to_array(each) for each in onnx.load(SHIPPED).graph.initializer]
    weights = [each for each in held if each.dtype == "int8" and each.ndim == 4]
    assert len(weights) == 9
    assert max(2 * 255 * int(abs(each.astype(int)).max()) for each in weights) <= 32_767


def test_opened_as_whole_they_say_nearly_the_same():
    pytest.importorskip("onnx")
    from onnxruntime import InferenceSession

    from tests.lab.widened import widened

    strips = np.zeros((1, 1, 48, 256), np.float32)
    strips[..., 16:34, 20:240:12] = 1
    whole = InferenceSession(widened(SHIPPED).SerializeToString())
    as_whole, as_shipped = (
        each.run(["scores"], {"strips": strips})[0] for each in (whole, InferenceSession(SHIPPED))
    )
    assert (as_whole.argmax(axis=2) == as_shipped.argmax(axis=2)).mean() > 0.9
    assert not np.array_equal(as_whole, as_shipped)
