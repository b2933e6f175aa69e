"""Opening scans: every usual file, page by page; every bad one with its own line."""

from __future__ import annotations

import hashlib
import io
import struct
import zlib

import numpy as np
import pikepdf
import pytest
from PIL import Image, ImageDraw

from proofcheck.base.errors import ScanError
from proofcheck.sheet.scans import open_scans


def picture(width=60, height=40):
    """White with a black block at top left and a grey one at bottom right."""
    image = np.full((height, width), 255, np.uint8)
    image[2:10, 3:20] = 0
    image[30:38, 40:58] = 128
    return image


def saved(path, image, **options):
    (image if isinstance(image, Image.Image) else Image.fromarray(image)).save(path, **options)
    return path


def only(path):
    (found,) = open_scans([path])
    return found


def refusal(path):
    with pytest.raises(ScanError) as caught:
        list(open_scans([path]))
    text = str(caught.value)
    assert "\n" not in text
    assert path.name.isprintable() is False or path.name in text
    assert ";" in text, "the message says what to do"
    return text


# ------------------------------------------------------------------ what opens


@pytest.mark.parametrize("suffix", ["png", "tif", "webp", "bmp", "pgm"])
def test_lossless_files_give_their_own_pixels(tmp_path, suffix):
    options = {"lossless": True} if suffix == "webp" else {}
    found = only(saved(tmp_path / f"proof.{suffix}", picture(), **options))
    image = found.image if found.image.ndim == 2 else found.image[:, :, 0]
    assert np.array_equal(image, picture())
    assert (found.scan.width_px, found.scan.height_px, found.scan.page) == (60, 40, 0)


def test_scan_tells_file_page_hash_and_resolution(tmp_path):
    path = saved(tmp_path / "proof.png", picture(), dpi=(300, 300))
    found = only(path)
    assert found.scan.name == str(path)
    assert found.scan.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
    assert found.file_dpi == pytest.approx(300, abs=0.1)
    assert not found.camera


def test_bilevel_group_four_tiff_of_three_pages(tmp_path):
    pages = [Image.fromarray(picture(60, 40 + n)).convert("1") for n in range(3)]
    path = tmp_path / "galley.tif"
    pages[0].save(path, save_all=True, append_images=pages[1:], compression="group4")
    found = list(open_scans([path]))
    assert [p.scan.page for p in found] == [0, 1, 2]
    assert [p.scan.height_px for p in found] == [40, 41, 42]
    assert set(np.unique(found[2].image)) <= {0, 255}


def test_sixteen_bits_come_down_to_eight(tmp_path):
    deep = picture().astype(np.uint16) * 257
    found = only(saved(tmp_path / "deep.png", deep))
    assert np.abs(found.image.astype(int) - picture()).max() <= 1
    found = only(saved(tmp_path / "deep.tif", deep))
    assert np.abs(found.image.astype(int) - picture()).max() <= 1


def test_transparent_paper_is_white(tmp_path):
    image = Image.new("RGBA", (60, 40), (0, 0, 0, 0))
    ImageDraw.Draw(image).rectangle((5, 5, 10, 10), fill=(10, 20, 30, 255))
    found = only(saved(tmp_path / "clear.png", image))
    assert found.image[0, 0] == 255
    # Grey as ITU-R BT.601 has it (from memory): 0.299 red + 0.587 green + 0.114 blue.
    assert found.image[7, 7] == round(0.299 * 10 + 0.587 * 20 + 0.114 * 30)


def test_palette_and_cmyk(tmp_path):
    grey = Image.fromarray(picture()).quantize(3)
    found = only(saved(tmp_path / "few.png", grey))
    assert found.image.ndim == 2
    assert np.array_equal(found.image, np.asarray(grey.convert("L")))
    inks = Image.fromarray(picture()).convert("CMYK")
    found = only(saved(tmp_path / "inks.tif", inks))
    assert np.abs(found.image.astype(int) - picture()).max() <= 1


@pytest.mark.parametrize("orientation", range(1, 9))
def test_orientation_tag_is_honoured(tmp_path, orientation):
    """Against Exif's own table (CIPA DC-008, tag 0x0112, from memory), as Pillow applies it."""
    exif = Image.Exif()
    exif[0x0112] = orientation
    path = saved(tmp_path / "held.png", picture(), exif=exif)
    with Image.open(path) as stored:
        from PIL import ImageOps

        right = np.asarray(ImageOps.exif_transpose(stored))
    assert np.array_equal(only(path).image, right)


def test_orientation_tag_of_tiff_is_honoured_once(tmp_path):
    path = saved(tmp_path / "held.tif", picture(), tiffinfo={274: 6})
    assert np.array_equal(only(path).image, np.rot90(picture(), -1))


def test_camera_is_known_by_its_exposure(tmp_path):
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0x829A] = 0.01
    assert only(saved(tmp_path / "phone.jpg", picture(), exif=exif)).camera


def test_thumbnail_in_tiff_is_passed_over(tmp_path):
    first, second = Image.fromarray(picture()), Image.fromarray(picture(40, 36))
    path = tmp_path / "with-thumbnail.tif"
    info = {254: 1}
    buffer = io.BytesIO()
    second.save(buffer, "tiff", tiffinfo=info)
    first.save(path, save_all=True, append_images=[Image.open(buffer)], tiffinfo={254: 0})
    with Image.open(path) as stored:
        stored.seek(1)
        marked = stored.tag_v2.get(254)
    assert len(list(open_scans([path]))) == (1 if marked == 1 else 2)


def test_several_files_make_one_proof_in_order(tmp_path):
    paths = [saved(tmp_path / f"{n}.png", picture(50 + n)) for n in range(3)]
    assert [p.scan.width_px for p in open_scans(paths)] == [50, 51, 52]


# ------------------------------------------------------------------ PDF


def pdf_of(path, *images, size_pt=(144, 96)):
    """A PDF whose pages are filled by the given grey pictures."""
    with pikepdf.new() as pdf:
        for image in images:
            page = pdf.add_blank_page(page_size=size_pt)
            stream = pikepdf.Stream(pdf, image.tobytes())
            stream.stream_dict = pikepdf.Dictionary(
                Type=pikepdf.Name.XObject,
                Subtype=pikepdf.Name.Image,
                Width=image.shape[1],
                Height=image.shape[0],
                BitsPerComponent=8,
                ColorSpace=pikepdf.Name.DeviceGray,
            )
            page.Resources = pikepdf.Dictionary(XObject=pikepdf.Dictionary(Im=stream))
            page.Contents = pikepdf.Stream(
                pdf, b"q %d 0 0 %d 0 0 cm /Im Do Q" % (size_pt[0], size_pt[1])
            )
        pdf.save(path)
    return path


def test_page_is_drawn_at_the_resolution_of_its_scan(tmp_path):
    scan = np.kron(picture(60, 40), np.ones((10, 10), np.uint8))  # 600 × 400 on 2 × 1⅓ inches
    found = only(pdf_of(tmp_path / "scan.pdf", scan))
    assert found.file_dpi == pytest.approx(300)
    assert found.image.shape == scan.shape
    assert np.abs(found.image.astype(int) - scan).mean() < 1


def test_page_without_a_scan_is_drawn_at_300_dpi(tmp_path):
    path = tmp_path / "type.pdf"
    with pikepdf.new() as pdf:
        page = pdf.add_blank_page(page_size=(144, 72))
        page.Contents = pikepdf.Stream(pdf, b"72 36 36 18 re f")  # points, from the bottom left
        pdf.save(path)
    found = only(path)
    assert found.image.shape[:2] == (300, 600)
    dark = np.argwhere(found.image < 128)
    assert dark.min(axis=0) == pytest.approx((75, 300), abs=1)
    assert dark.max(axis=0) == pytest.approx((149, 449), abs=1)


def test_five_hundred_pages_come_one_at_a_time(tmp_path):
    path = tmp_path / "long.pdf"
    with pikepdf.new() as pdf:
        for _ in range(500):
            pdf.add_blank_page(page_size=(20, 20))
        pdf.save(path)
    pages = open_scans([path])
    assert next(pages).scan.page == 0
    assert sum(1 for _ in pages) == 499


def test_locked_damaged_and_empty_pdf(tmp_path):
    path = pdf_of(tmp_path / "whole.pdf", picture())
    locked = tmp_path / "locked.pdf"
    with pikepdf.open(path) as pdf:
        pdf.save(locked, encryption=pikepdf.Encryption(user="x", owner="y"))
    assert "password" in refusal(locked)
    cut = tmp_path / "cut.pdf"
    cut.write_bytes(b"%PDF-1.7\n1 0 obj\n<< /Type /Catalog")
    assert "damaged" in refusal(cut)
    empty = tmp_path / "none.pdf"
    with pikepdf.new() as pdf:
        pdf.save(empty)
    assert "no pages" in refusal(empty)


def test_page_of_twenty_metres_is_refused_before_it_is_drawn(tmp_path):
    path = tmp_path / "wall.pdf"
    with pikepdf.new() as pdf:
        pdf.add_blank_page(page_size=(14000, 14000))
        pdf.save(path)
    assert "million" in refusal(path)


# ------------------------------------------------------------------ what doesn't


def test_no_paths():
    with pytest.raises(ScanError, match="no scan given"):
        open_scans([])


def test_missing_folder_and_empty_are_told_before_anything_is_read(tmp_path):
    good = saved(tmp_path / "good.png", picture())
    empty = tmp_path / "empty.png"
    empty.touch()
    for bad, words in ((tmp_path / "no.png", "no such"), (tmp_path, "folder"), (empty, "empty")):
        with pytest.raises(ScanError, match=words):
            open_scans([good, bad])


def huge_png(width, height):
    def chunk(kind, data):
        body = kind + data
        return struct.pack(">I", len(data)) + body + struct.pack(">I", zlib.crc32(body))

    header = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", header)
        + chunk(b"IDAT", zlib.compress(bytes(1000)))
        + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize("side", [13_400, 40_000])
def test_huge_picture_is_refused_by_its_header(tmp_path, side, recwarn):
    path = tmp_path / "huge.png"
    path.write_bytes(huge_png(side, side))
    assert "million" in refusal(path)
    assert not recwarn.list


def test_large_but_possible_picture_warns_of_nothing(tmp_path, recwarn):
    path = tmp_path / "large.png"
    path.write_bytes(huge_png(12_000, 8_000))  # its data are cut short, its size is fine
    assert "cut short" in refusal(path)
    assert not recwarn.list


@pytest.mark.parametrize("suffix", ["png", "jpg", "tif", "webp"])
def test_truncated_picture(tmp_path, suffix, capfd):
    rng = np.random.default_rng(0)
    whole = saved(tmp_path / f"whole.{suffix}", rng.integers(0, 255, (200, 300), np.uint8))
    data = whole.read_bytes()
    for share in (0.02, 0.5, 0.9):
        cut = tmp_path / f"cut.{suffix}"
        cut.write_bytes(data[: int(len(data) * share)])
        assert "damaged" in refusal(cut) or "not a picture" in refusal(cut)
    assert capfd.readouterr() == ("", "")


def test_damaged_page_of_many_names_the_page(tmp_path):
    rng = np.random.default_rng(0)
    pages = [Image.fromarray(rng.integers(0, 255, (80, 90), np.uint8)) for _ in range(3)]
    path = tmp_path / "three.tif"
    pages[0].save(path, save_all=True, append_images=pages[1:], compression="tiff_lzw")
    data = bytearray(path.read_bytes())
    third = 2 * len(data) // 3
    data[third + 500 : third + 4000] = bytes(3500)
    path.write_bytes(data)
    assert "page 3" in refusal(path)


def test_files_that_are_no_pictures(tmp_path):
    text = tmp_path / "copy.txt"
    text.write_text("Programmes may be had at the gate.")
    assert "not a picture" in refusal(text)
    phone = tmp_path / "phone.heic"
    phone.write_bytes(b"\x00\x00\x00\x18ftypheic" + bytes(64))
    assert "JPEG" in refusal(phone)
    drawing = tmp_path / "drawing.eps"
    drawing.write_text("%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 10 10\n")
    assert "not a picture" in refusal(drawing)


def test_odd_file_name_stays_on_one_line(tmp_path):
    path = tmp_path / "two\nlines\x1b[31m.png"
    path.write_bytes(b"nothing")
    text = refusal(path)
    assert "\x1b" not in text
    assert "two\\nlines" in text
