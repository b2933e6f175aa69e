"""Training: the eye is narrow, matter holds no language, and a smoke-size fit runs on the CPU."""

import numpy as np
import pytest

torch = pytest.importorskip("torch", reason="training needs torch")

from proofcheck.reading.alphabet import CHARACTERS, GREEK, INDEX, NO_LETTER  # noqa: E402
from proofcheck.reading.weights import OWN_WEIGHTS  # noqa: E402
from tests.lab import atlas  # noqa: E402
from tests.lab.matter import Matter  # noqa: E402
from tests.lab.network import STRIDE_PX, VIEW_PX  # noqa: E402
from tests.lab.press import Forme, Press, forme_of  # noqa: E402
from tests.lab.resetting import cells_of, reset  # noqa: E402
from tests.lab.setting import STRIP_PX, Setter  # noqa: E402
from tests.lab.train import ctc_loss, new_network  # noqa: E402

WORDS = ["band", "march", "cornet", "a", "the", "summer", "programme", "of"]


@pytest.fixture(scope="module")
def small_atlas():
    from pathlib import Path

    face = atlas.Face("schola", "roman", "-", "texgyreschola-regular.otf", "train", 1.0)
    return atlas.build(Path(__file__).parent / "faces", [face])


def test_a_column_sees_only_the_view():
    torch.manual_seed(0)
    net = new_network().eval()
    strip = torch.rand(1, 1, 48, 256, requires_grad=True)
    net(strip)[0, 32].abs().sum().backward()
    seen = torch.nonzero(strip.grad[0, 0].abs().sum(0) > 0)[:, 0]
    assert int(seen.max() - seen.min()) + 1 <= VIEW_PX


def test_lines_hold_what_their_labels_say(small_atlas):
    lines = Setter(small_atlas, WORDS, np.random.default_rng(1)).batch(40)
    assert lines.count == len(lines.texts) == len(lines.lengths) == 40
    assert [INDEX[c] for text in lines.texts for c in text] == lines.labels
    assert all(text == " ".join(text.split()) for text in lines.texts)


def test_strips_are_ink_on_paper(small_atlas):
    lines = Setter(small_atlas, WORDS, np.random.default_rng(2)).batch(6)
    for wear in (0.0, 1.0):
        press = Press(small_atlas, torch.device("cpu"), 3, wear=wear)
        strips = press.strips(Forme(*forme_of(lines)))
        assert strips.shape == (6, 1, 48, STRIP_PX)
        assert 0 <= float(strips.min()) <= float(strips.max()) <= 1
        assert float(strips.mean()) < 0.6


def test_accents_and_greek_are_set_in_their_own_regimes():
    matter = Matter(WORDS, np.random.default_rng(5))
    greek = "".join(matter._token_text("greek") for _ in range(300))
    assert set(GREEK) <= set(greek)
    assert all(len(matter._greek()) > 2 for _ in range(50))  # never one letter among Latin ones
    accented = {c for _ in range(600) for c in matter._token_text("accented")}
    assert {"ř", "ł", "ş", "đ", "é"} <= accented
    assert not {"ď", "ť", "ľ", "ı"} & accented


def test_a_run_of_ornaments_reads_as_one_sign():
    from pathlib import Path

    face = atlas.Face("old-standard", "roman", "-", "OldStandard-Regular.ttf", "train", 1.0)
    held = atlas.build(Path(__file__).parent / "faces", [face])
    lines = Setter(held, WORDS, np.random.default_rng(6), (("border", 1.0),)).batch(20)
    assert all(set(text) <= {NO_LETTER, " "} for text in lines.texts)
    assert len(lines.glyph) > 5 * sum(text.count(NO_LETTER) for text in lines.texts)


def test_weights_opened_again_say_what_they_said(small_atlas):
    pytest.importorskip("onnx", reason="opening weights again needs onnx")
    from onnxruntime import InferenceSession

    from tests.lab.reopen import reopen
    from tests.lab.widened import widened

    lines = Setter(small_atlas, WORDS, np.random.default_rng(7)).batch(4)
    strips = Press(small_atlas, torch.device("cpu"), 8).strips(Forme(*forme_of(lines)))
    net = reopen(OWN_WEIGHTS, strips)
    with torch.no_grad():
        again = net(strips).numpy()
    whole = InferenceSession(widened(OWN_WEIGHTS).SerializeToString())
    before = whole.run(["scores"], {"strips": strips.numpy()})[0]
    assert again == pytest.approx(before, abs=1e-3)


def test_a_smoke_size_fit_learns(small_atlas):
    torch.manual_seed(1)
    torch.set_num_threads(1)
    net = new_network()
    lines = Setter(small_atlas, WORDS, np.random.default_rng(4)).batch(4)
    forme = Forme(*forme_of(lines))
    strips = Press(small_atlas, torch.device("cpu"), 5, wear=0.0).strips(forme)
    optimiser = torch.optim.AdamW(net.parameters(), 1e-3)
    losses = []
    for _ in range(6):
        scores = net(strips)
        assert scores.shape == (4, STRIP_PX // STRIDE_PX, len(CHARACTERS))
        loss = ctc_loss(scores, forme.labels, forme.lengths, None)
        optimiser.zero_grad()
        loss.backward()
        optimiser.step()
        losses.append(float(loss.detach()))
    assert losses[-1] < losses[0] / 2


def test_letters_reset_at_random_keep_their_names():
    strip = np.full((48, 240), 255, np.uint8)
    centres = np.arange(12, 240, 18, dtype=np.float32)
    text = "abcdefghijklm"
    for place, x in enumerate(centres):
        strip[20:34, int(x) - 5 : int(x) + 5] = 10 * place
    cells = cells_of(strip, text, centres)
    assert cells.texts == list(text)
    picture, read = reset(cells, np.random.default_rng(7))
    assert picture.shape == (48, STRIP_PX)
    assert len(read.replace(" ", "")) > 10
