"""A proof drawn anew from its record: the same bytes as when it was read, and nothing read."""

import io
import json
import shutil
from dataclasses import replace
from datetime import datetime
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import Image
from test_cli import refused, run
from typesetter import (
    Para,
    Style,
    block_of,
    compose,
    garlanded,
    laid_beside,
    laid_under,
    panel_of,
    print_proof,
    table_of,
)

import proofcheck.read_job
from proofcheck import Options, check_proof
from proofcheck.base.errors import RecordError
from proofcheck.base.values import Copy, Span
from proofcheck.draw_job import DrawJob, run_draw
from proofcheck.read_job import Progress, ReadJob, run_read
from proofcheck.results.proof_record import report_from_text
from proofcheck.results.report_json import report_text
from proofcheck.results.sealing import laid_out, sealed
from proofcheck.results.sheets_again import with_pictures

SAMPLES = Path(__file__).parents[1] / "samples"
QUICK = Options(type_too=False, recast=False, second_look=False, unfit=True)
TEXT = (
    "The ferry at Orrenmouth will cross every half hour from seven in the morning until dusk, and "
    "after the lamps are lit as often as four persons are waiting on the slip. Carts pay double."
)


class OneDay(datetime):
    """A clock that stands: the heading of a marked proof bears the day."""

    @classmethod
    def now(cls, tz=None):
        return cls(2026, 5, 4, 12, tzinfo=tz)


def never(*_, **__):
    raise AssertionError("nothing is to be read")


def out_of(job, monkeypatch, run):
    monkeypatch.setattr(proofcheck.read_job, "datetime", OneDay)
    out = io.StringIO()
    status = run(job, out, Progress(None))
    return status, out.getvalue()


@pytest.fixture(scope="module")
def read(tmp_path_factory):
    """A sample read with faults in it, its results and its record in one folder."""
    folder = tmp_path_factory.mktemp("read")
    copy = tmp_path_factory.mktemp("copy") / "copy.txt"
    text = (SAMPLES / "notice-copy.txt").read_text(encoding="utf-8")
    copy.write_text(text.replace("their own umbrellas", "own umbrellas"), encoding="utf-8")
    job = ReadJob(
        scans=(SAMPLES / "notice-proof.png",),
        copy=str(copy),
        options=Options(second_look=False),
        folder=folder,
        json=str(folder / "record.json"),
    )
    with pytest.MonkeyPatch.context() as patch:
        status, shown = out_of(job, patch, run_read)
    return folder, status, shown


def drawn(read, folder, monkeypatch, **more):
    monkeypatch.setattr("proofcheck.read_job.check_proof", never)
    monkeypatch.setattr("proofcheck.reading.readers.open_reader", never)
    job = DrawJob(read[0] / "record.json", folder=folder, **more)
    return out_of(job, monkeypatch, run_draw)


def test_all_that_was_written_is_written_again(read, tmp_path, monkeypatch):
    folder, status, shown = read
    scan = tmp_path / "under another name.png"
    shutil.copy(SAMPLES / "notice-proof.png", scan)
    again = drawn(read, tmp_path, monkeypatch, scans=(scan,))
    assert again == (status, shown.replace(str(folder), str(tmp_path)))
    written = {path.name for path in folder.glob("notice-proof-*")}
    assert written == {path.name for path in tmp_path.glob("notice-proof-*")}
    assert {Path(name).suffix for name in written} == {".png", ".pdf", ".html", ".csv"}
    for name in written:
        assert (folder / name).read_bytes() == (tmp_path / name).read_bytes(), name


def test_without_the_picture_the_page_and_the_lists(read, tmp_path, monkeypatch):
    folder, status, shown = read
    assert drawn(read, tmp_path, monkeypatch) == (
        status,
        "".join(
            line.replace(str(folder), str(tmp_path))
            for line in shown.splitlines(keepends=True)
            if not line.startswith("Marked proof:")
        ),
    )
    names = {path.name for path in tmp_path.iterdir()}
    assert names == {
        f"notice-proof-{end}" for end in ("marked.html", "corrections.csv", "recast.pdf")
    }
    for name in names - {"notice-proof-marked.html"}:
        assert (folder / name).read_bytes() == (tmp_path / name).read_bytes()
    page = (tmp_path / "notice-proof-marked.html").read_text(encoding="utf-8")
    assert 'id="F1"' in page
    assert "<image" not in page
    assert "F1-place" not in page


def test_the_list_alone_writes_nothing(read, tmp_path, monkeypatch):
    status, shown = drawn(read, tmp_path, monkeypatch, files=False)
    assert status == read[1]
    assert "umbrellas" in shown
    assert list(tmp_path.iterdir()) == []


def test_another_scan_is_refused(read, tmp_path, monkeypatch):
    with pytest.raises(RecordError, match="none of these scans is sheet 1"):
        drawn(read, tmp_path, monkeypatch, scans=(SAMPLES / "concert-proof.png",))
    assert list(tmp_path.iterdir()) == []


def test_a_sheet_that_is_made_clean_otherwise_now_is_refused(read):
    held = json.loads((read[0] / "record.json").read_text())
    held["record"]["sheets"][0]["image"][0] += 1
    report = report_from_text(laid_out(sealed(held)))
    with pytest.raises(RecordError, match="made clean otherwise"):
        with_pictures(report, [SAMPLES / "notice-proof.png"])


def test_what_no_reading_gives_is_told_in_one_line(read, tmp_path, monkeypatch):
    report = report_from_text((read[0] / "record.json").read_text())
    fault = report.faults[0]
    odd = replace(fault, mark=replace(fault.mark, sign="a sign in no table"))
    (tmp_path / "record.json").write_text(report_text(replace(report, faults=(odd,))))
    with pytest.raises(RecordError, match="can't be drawn") as told:
        drawn((tmp_path,), tmp_path, monkeypatch, scans=(SAMPLES / "notice-proof.png",))
    assert "\n" not in str(told.value)


def test_the_command_draws_or_says_one_line(read, tmp_path):
    done = run("draw", read[0] / "record.json", "--out", tmp_path, "--order", "certainty")
    assert done.returncode == read[1]
    assert "umbrellas" in done.stdout
    assert (tmp_path / "notice-proof-corrections.csv").exists()
    refused(run("draw", read[0] / "record.json", "--out", tmp_path), "--overwrite")
    refused(run("draw", tmp_path / "none.json"), "can't be read")
    refused(run("draw", SAMPLES / "notice-proof.png"), "no record of a proof")
    odd = run("draw", read[0] / "record.json", "--list", "--order", "size")
    refused(odd, "no order 'size' of the list")


# ------------------------------------------------------------------ however the sheet lay


def lying(image, how):
    height, width = image.shape
    skew = cv2.getRotationMatrix2D((width / 2, height / 2), 1.2, 1.0)
    return {
        "as it is": lambda: image,
        "on its head": lambda: np.rot90(image, 2),
        "mirrored": lambda: image[:, ::-1],
        "on its side": lambda: np.rot90(image),
        "askew": lambda: cv2.warpAffine(image, skew, (width, height), borderValue=255),
        "askew, mirrored": lambda: cv2.warpAffine(
            np.ascontiguousarray(image[:, ::-1]), skew, (width, height), borderValue=255
        ),
    }[how]()


@pytest.fixture(scope="module")
def ferry():
    """A small proof with a panel of white on black at its head."""
    proof = print_proof(compose([Para(TEXT)], measure_picas=20, style=Style("schola", body_pt=11)))
    return laid_beside(proof, panel_of(block_of("NOTICE", body_pt=40), pad_px=40), "head").image


@pytest.mark.parametrize(
    "how", ["as it is", "on its head", "mirrored", "on its side", "askew", "askew, mirrored"]
)
def test_the_picture_is_made_again_to_the_pixel(tmp_path, ferry, how):
    path = tmp_path / "ferry.png"
    Image.fromarray(np.ascontiguousarray(lying(ferry, how))).save(path, dpi=(300, 300))
    text = f"NOTICE\n\n{TEXT}"
    copy = Copy(text, "copy.txt", "", "utf-8", (Span(0, 6), Span(8, len(text))))
    _same_picture(check_proof(path, copy, options=QUICK), path, panels=1)


@pytest.mark.parametrize("how", ["as it is", "on its head", "on its side", "askew"])
def test_rules_and_borders_are_taken_from_the_picture_made_again(tmp_path, how):
    rows = [("Ferry", "6 15", "7 40"), ("Coach", "8 5", "11 20"), ("Mail", "9 30", "4 45")]
    proof = print_proof(compose([Para(TEXT)], measure_picas=20, style=Style("schola", body_pt=11)))
    image = garlanded(laid_under(proof, table_of(rows, [8, 5, 5])), "star").image
    path = tmp_path / "table.png"
    Image.fromarray(np.ascontiguousarray(lying(image, how))).save(path, dpi=(300, 300))
    text = TEXT + "".join("\n" + "\t".join(row) for row in rows)
    report = check_proof(
        path, Copy(text, "copy.txt", "", "utf-8", (Span(0, len(text)),)), options=QUICK
    )
    assert len(report.sheets[0].lifted) > 8
    _same_picture(report, path, panels=0)


def test_the_picture_of_a_page_taken_by_hand_is_made_again(tmp_path):
    path = SAMPLES / "concert-phone.jpg"
    _same_picture(check_proof(path, SAMPLES / "concert-copy.txt", options=QUICK), path, panels=0)


def _same_picture(report, path, *, panels):
    (sheet,) = report.sheets
    assert len(sheet.panels) == panels
    text = report_text(report)
    bare = report_from_text(text)
    assert not bare.pictured
    back = with_pictures(bare, [path])
    assert np.array_equal(back.sheets[0].image, sheet.image)
    assert np.array_equal(back.sheets[0].as_printed(), sheet.as_printed())
    assert report_text(back) == text
