"""Input made to break what reads it: refused in a line, or read with bounded work."""

from __future__ import annotations

import contextlib
import io
import struct

import numpy as np
import pikepdf
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from proofcheck.base.errors import ScanError, SettingError, SheetUnfitError
from proofcheck.base.options import Options, load_settings
from proofcheck.base.values import Reading
from proofcheck.reading import ocr
from proofcheck.reading.ocr import read_strips
from proofcheck.reading.picture import SAMPLE_X_HEIGHTS, read_page
from proofcheck.recast import search
from proofcheck.recast.faces import load_face
from proofcheck.recast.handset import load_bill
from proofcheck.sheet import pdfdrawer
from proofcheck.sheet.pieces import find_pieces
from proofcheck.sheet.rows import _middle
from proofcheck.sheet.scans import open_scans
from proofcheck.sheet.sharing import share_out
from proofcheck.sheet.sift import Sifted

# ------------------------------------------------------------------ pictures


def saved(path, image, **how):
    Image.fromarray(image).save(path, **how)
    return path


@pytest.mark.parametrize(
    ("shape", "said"),
    [((1, 100_000), "no type"), ((31, 300), "no type"), ((40, 30_001), "a side may have")],
)
def test_a_picture_too_thin_or_too_long_is_refused(tmp_path, shape, said):
    path = saved(tmp_path / "thin.png", np.full(shape, 200, np.uint8))
    with pytest.raises(ScanError, match=said):
        next(open_scans([path]))


@pytest.mark.parametrize("mode", ["RGBA", "RGB", "CMYK", "P", "LA", "I;16", "1", "F"])
def test_every_kind_of_pixel_comes_as_grey_bytes(tmp_path, mode):
    """A scan of 178 million pixels is held once, at a byte for each."""
    grey = Image.fromarray(np.full((40, 50), 200, np.uint8))
    if mode in {"I;16", "F"}:
        deep = np.full((40, 50), 200, np.uint16 if mode == "I;16" else np.float32)
        grey = Image.fromarray(deep)
    path = tmp_path / "a.tif"
    (grey if mode in {"I;16", "F"} else grey.convert(mode)).save(path)
    image = next(open_scans([path])).image
    assert image.shape == (40, 50)
    assert image.dtype == np.uint8


def _tiff(entries):
    """A TIFF of one directory, by hand (TIFF 6.0, section 2)."""
    head = b"II*\x00" + struct.pack("<I", 8) + struct.pack("<H", len(entries))
    return head + b"".join(struct.pack("<HHII", *entry) for entry in entries) + bytes(4)


@pytest.mark.parametrize(
    "entries",
    [
        [(256, 3, 1, 50), (257, 3, 1, 40)],
        [(256, 3, 1, 50), (257, 3, 1, 40), (258, 3, 0xFFFFFFFF, 8)],
        [(256, 5, 1, 0xFFFFFFFF), (257, 3, 1, 40)],
        [(254, 2, 9, 0), (256, 4, 1, 50), (257, 4, 1, 40), (273, 4, 1, 0xFFFFFFF0)],
        [(256, 4, 1, 0), (257, 4, 1, 0)],
        [],
    ],
)
def test_a_tiff_with_a_bad_directory_is_one_clear_line(tmp_path, capfd, entries):
    path = tmp_path / "bad.tif"
    path.write_bytes(_tiff(entries))
    with pytest.raises(ScanError) as refused:
        list(open_scans([path]))
    assert "\n" not in str(refused.value)
    assert capfd.readouterr().err == ""


def test_the_decoder_of_a_spoilt_tiff_says_nothing_of_its_own(tmp_path, capfd):
    held = io.BytesIO()
    noise = np.random.default_rng(5).integers(0, 2, (200, 200)).astype(bool)
    Image.fromarray(noise).save(held, "TIFF", compression="group4")
    data = bytearray(held.getvalue())
    data[20:400] = bytes(380)
    path = tmp_path / "spoilt.tif"
    path.write_bytes(bytes(data))
    with contextlib.suppress(ScanError):
        list(open_scans([path]))
    assert capfd.readouterr().err == ""


# ------------------------------------------------------------------ PDF


def forms_in_forms(path, depth):
    """Each form draws the one under it twelve times: 12 to the power of `depth`, in 2 kB."""
    with pikepdf.new() as pdf:
        page = pdf.add_blank_page(page_size=(300, 400))
        kind = {
            "Type": pikepdf.Name.XObject,
            "Subtype": pikepdf.Name.Form,
            "BBox": [0, 0, 300, 400],
        }
        form = pdf.make_stream(b"0 0 10 10 re f " * 10, **kind)
        for _ in range(depth):
            inner = {"/XObject": {"/F": form}}
            form = pdf.make_stream(b"/F Do " * 12, Resources=inner, **kind)
        page.Resources = pikepdf.Dictionary(XObject={"/F": form})
        page.Contents = pdf.make_stream(b"/F Do")
        pdf.save(path)
    return path


@pytest.mark.slow
def test_a_pdf_that_would_be_drawn_for_ever_is_refused(tmp_path, monkeypatch):
    pytest.importorskip("resource")
    monkeypatch.setattr(pdfdrawer, "MOST_SECONDS", 2)
    sound = next(open_scans([forms_in_forms(tmp_path / "sound.pdf", 1)]))
    assert sound.image.min() == 0
    with pytest.raises(ScanError, match="takes more than") as refused:
        next(open_scans([forms_in_forms(tmp_path / "bomb.pdf", 9)]))
    assert "bomb.pdf" in str(refused.value)


# ------------------------------------------------------------------ lines


def test_pieces_without_a_line_are_shared_out_to_none():
    mask = np.zeros((60, 60), np.uint8)
    mask[10:40, 10:30] = 1
    pieces, labels = find_pieces(mask)
    every = np.ones(len(pieces), bool)
    sifted = Sifted(every, ~every, ~every, 20.0)
    assert share_out(pieces, labels, sifted, [], []) == []


@given(st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=30))
def test_the_middle_is_the_median(values):
    """Against numpy's."""
    assert _middle(np.array(values)) == pytest.approx(float(np.median(values)))


class CountingReader:
    """Sees nothing, and counts how much it was shown."""

    name = "counting"

    def __init__(self):
        self.shown = []

    def read(self, sheet, lines):
        self.shown.append(sum(line.box.width / max(line.x_height_px, 1.0) for line in lines))
        return tuple(Reading(line.number, ()) for line in lines)


def test_specks_are_tried_in_samples_and_not_read_eight_times(tmp_path):
    """3,000 specks make lines enough for fifteen pages, in each of the eight ways they may lie."""
    rng = np.random.default_rng(1)
    image = np.full((900, 900), 245, np.uint8)
    for y, x in rng.integers(10, 885, (2000, 2)):
        size = rng.integers(3, 9)
        image[y : y + size, x : x + size] = 20
    picture = next(open_scans([saved(tmp_path / "specks.png", image, dpi=(300, 300))]))
    reader = CountingReader()
    with pytest.raises(ScanError):
        read_page(picture, 0, 1, reader, Options(), lambda _: 0.0)
    assert len(reader.shown) == 8
    assert all(shown <= max(SAMPLE_X_HEIGHTS, 900) for shown in reader.shown)


# ------------------------------------------------------------------ the second look


def test_strips_past_the_engines_largest_picture_go_in_several(monkeypatch):
    columns = []

    def seen(engine, column, language, *, layout):
        columns.append(column)
        tops = np.flatnonzero((column == 7).any(axis=1))[::110]
        return {
            "text": [f"w{int(column[top].min())}" for top in tops],
            "conf": [90] * len(tops),
            "left": [ocr.MARGIN_PX] * len(tops),
            "top": tops.tolist(),
            "width": [40] * len(tops),
            "height": [110] * len(tops),
        }

    monkeypatch.setattr(ocr, "words_in", seen)
    strips = [np.full((110, 50 + number % 9), 7, np.uint8) for number in range(600)]
    strips[300] = np.full((110, ocr.MOST_PX), 7, np.uint8)
    words = read_strips(None, strips, "eng")
    assert [len(line) for line in words] == [1] * 300 + [0] + [1] * 299
    assert len(columns) == 3
    # The engine takes no picture of more than 32,767 pixels a side (from memory).
    assert max(max(column.shape) for column in columns) <= 32_767
    assert read_strips(None, [], "eng") == []


# ------------------------------------------------------------------ settings


@pytest.mark.parametrize(
    "line",
    [
        "dpi = nan",
        "dpi = inf",
        "dpi = " + "9" * 400,
        "dpi = " + "9" * 5000,
        "measure_picas = -inf",
        "minutes_a_slug = nan",
        "minutes_a_change = inf",
        "fault_certainty = nan",
        "enforced = " + "[" * 2000 + "]" * 2000,
        "enforced = " + "[" * 150 + "]" * 150 + "\nbands = 3",
        'face = "a\\u0000b"',
        "dpi = [1, [2, nan]]",
        "bands = 1979-05-27T07:32:00Z",
    ],
)
def test_settings_no_one_can_reckon_with_are_one_short_line(tmp_path, line):
    path = tmp_path / "shop.toml"
    path.write_text(line)
    with pytest.raises(SettingError) as refused:
        load_settings(path)
    assert "\n" not in str(refused.value)
    assert len(str(refused.value)) < 400 + len(str(path))


@pytest.mark.parametrize("matter", ["a = " + "9" * 400, "a = " + "9" * 5000, "a = nan", "a = inf"])
def test_the_same_of_a_bill_of_type_and_of_widths(tmp_path, matter):
    path = tmp_path / "a.toml"
    path.write_text(f"[sorts]\n{matter}\n[widths]\n{matter}\n")
    with pytest.raises(SettingError):
        load_face(path)
    if matter[4:] != "9" * 400:  # a bill may hold any number of sorts
        with pytest.raises(SettingError):
            load_bill(path)


def test_noise_is_refused_before_it_is_put_together(tmp_path, monkeypatch):
    """Ink in thousands of runs is told from type by their number alone."""
    monkeypatch.setattr("proofcheck.sheet.lines.MOST_RUNS", 100)
    asked = []
    monkeypatch.setattr("proofcheck.sheet.lines.without_bits", lambda *_: asked.append(1))
    rng = np.random.default_rng(1)
    image = np.full((700, 700), 245, np.uint8)
    for y, x in rng.integers(10, 680, (900, 2)):
        size = rng.integers(4, 9)
        image[y : y + size, x : x + size] = 20
    picture = next(open_scans([saved(tmp_path / "specks.png", image, dpi=(300, 300))]))
    with pytest.raises(SheetUnfitError, match="no lines of type"):
        read_page(picture, 0, 1, CountingReader(), Options(), lambda _: 0.0)
    assert not asked


# ------------------------------------------------------------------ recasting


def test_the_bound_of_slugs_rises_in_strides(monkeypatch):
    """A paragraph of thousands of slugs is tried some tens of times, not thousands."""
    tried = []

    class Never:
        def __init__(self, *_):
            pass

        def least_lines(self):
            return 5000

        def within(self, bound):
            tried.append(bound)

    monkeypatch.setattr(search, "_Search", Never)
    assert search.fewest_slugs(None, None, None, (), (1, 2)) is None
    assert len(tried) < 60
    assert tried[:9] == list(range(9))
    assert tried[-1] > 4000
