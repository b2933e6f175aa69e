"""The command line on the samples: results, exit status, and one clear line for every bad input.

Exit status as `diff` gives it (POSIX.1-2017, diff, EXIT STATUS: 0 no differences, 1 differences,
more than 1 an error).
"""

from __future__ import annotations

import io
import json
import struct
import subprocess
import sys
import zlib
from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
import pikepdf
import pytest
from PIL import Image

from proofcheck.cli.program import main

SAMPLES = Path(__file__).parent.parent / "samples"
NOTICE, NOTICE_COPY = SAMPLES / "notice-proof.png", SAMPLES / "notice-copy.txt"


@dataclass(frozen=True)
class Done:
    """What a person sees of one run."""

    returncode: int
    stdout: str
    stderr: str


def run(*arguments: object, stdin: bytes = b"") -> Done:
    """`proofcheck` as a person starts it, in this process: into a pipe, out of a pipe."""
    out, err = (io.TextIOWrapper(io.BytesIO(), encoding="utf-8") for _ in range(2))
    given = io.TextIOWrapper(io.BytesIO(stdin), encoding="utf-8")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sys, "argv", ["proofcheck", *map(str, arguments)])
        for name, stream in (("stdin", given), ("stdout", out), ("stderr", err)):
            patch.setattr(sys, name, stream)
        with pytest.raises(SystemExit) as left:
            main()
        out.flush()
        err.flush()
    shown = [stream.buffer.getvalue().decode() for stream in (out, err)]
    return Done(int(left.value.code or 0), *shown)


def refused(done: Done, *said: str) -> None:
    """Status 2, nothing on standard output, one line that says all of `said`."""
    assert done.returncode == 2, done.stdout + done.stderr
    assert done.stdout == ""
    assert "Traceback" not in done.stderr
    lines = done.stderr.strip().splitlines()
    assert len(lines) == 1, done.stderr
    for words in said:
        assert words in lines[0]


# ------------------------------------------------------------------ results and exit status


def test_a_clean_proof_is_clean(tmp_path: Path) -> None:
    done = run("read", NOTICE, "--copy", NOTICE_COPY, "--out", tmp_path)
    assert done.returncode == 0, done.stdout
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        "notice-proof-corrections.csv",
        "notice-proof-marked.html",
        "notice-proof-marked.pdf",
        "notice-proof-marked.png",
    ]
    assert done.stderr == ""  # silent in a pipe


def test_faults_give_status_1_and_the_report_nothing_more(tmp_path: Path) -> None:
    copy = tmp_path / "copy.txt"
    text = NOTICE_COPY.read_text()
    word = next(word for word in text.split() if len(word) > 6 and word.isalpha())
    copy.write_text(text.replace(word, word[:3] + word[4:], 1))
    done = run("read", NOTICE, "--copy", copy, "--json", "-")
    assert done.returncode == 1
    report = json.loads(done.stdout)
    assert report["verdict"] == "faults"
    assert [fault["kind"] for fault in report["faults"]] == ["letter-extra"]
    assert report["faults"][0]["proof"]["text"] == word[3]
    assert [path.name for path in tmp_path.iterdir()] == ["copy.txt"]


def test_the_copy_may_come_from_standard_input() -> None:
    done = run("read", NOTICE, "--copy", "-", "--list", stdin=NOTICE_COPY.read_bytes())
    assert done.returncode == 0, done.stdout + done.stderr


def test_a_proof_read_again_makes_a_new_set_and_leaves_the_old(tmp_path: Path) -> None:
    kept = tmp_path / "notice-proof-marked.pdf"
    kept.write_text("the one marked by hand")
    asked = ("read", NOTICE, "--copy", NOTICE_COPY, "--text-only", "--out", tmp_path)
    refused(run(*asked), "--again")
    for number in (2, 3):
        done = run(*asked, "--again")
        assert done.returncode == 0, done.stdout + done.stderr
        assert f"notice-proof-{number}-marked.pdf" in done.stdout
        assert (tmp_path / f"notice-proof-{number}-corrections.csv").exists()
    assert kept.read_text() == "the one marked by hand"


def test_nothing_is_overwritten_unless_told(tmp_path: Path) -> None:
    kept = tmp_path / "notice-proof-marked.pdf"
    kept.write_text("the one marked by hand")
    done = run("read", NOTICE, "--copy", NOTICE_COPY, "--out", tmp_path)
    refused(done, "notice-proof-marked.pdf", "--overwrite")
    assert kept.read_text() == "the one marked by hand"
    assert list(tmp_path.iterdir()) == [kept]


def test_copy_of_another_job_is_told_as_such(tmp_path: Path) -> None:
    done = run("read", NOTICE, "--copy", SAMPLES / "concert-copy.txt", "--list")
    assert done.returncode == 2
    assert "not of this copy" in done.stdout
    assert len(done.stdout.splitlines()) < 6


@pytest.mark.parametrize(
    ("name", "change"),
    [
        ("head down", lambda image: np.rot90(image, 2)),
        ("on its side", lambda image: np.rot90(image, 1)),
        ("on the other side", lambda image: np.rot90(image, 3)),
        ("mirrored", np.fliplr),
        ("mirrored and head down", np.flipud),
    ],
)
def test_the_sheet_is_turned_without_being_told(tmp_path: Path, name: str, change) -> None:
    scan = tmp_path / "scan.png"
    image = np.ascontiguousarray(change(cv2.imread(str(NOTICE), cv2.IMREAD_GRAYSCALE)))
    Image.fromarray(image).save(scan, dpi=(300, 300))
    done = run("read", scan, "--copy", NOTICE_COPY, "--json", "-")
    assert done.returncode == 0, f"{name}: {done.stderr}{done.stdout[:2000]}"
    (sheet,) = json.loads(done.stdout)["scans"]
    assert sheet["mirrored"] == ("mirrored" in name)
    assert (sheet["turned_deg"] != 0) == (name != "mirrored")


# ------------------------------------------------------------------ bad input


def test_missing_scan(tmp_path: Path) -> None:
    refused(run("read", tmp_path / "none.png", "--copy", NOTICE_COPY), "none.png")


def test_folder_for_a_scan(tmp_path: Path) -> None:
    refused(run("read", tmp_path, "--copy", NOTICE_COPY), str(tmp_path))


def test_empty_scan(tmp_path: Path) -> None:
    (tmp_path / "empty.png").touch()
    refused(run("read", tmp_path / "empty.png", "--copy", NOTICE_COPY), "empty")


def test_truncated_scan(tmp_path: Path) -> None:
    scan = tmp_path / "half.png"
    scan.write_bytes(NOTICE.read_bytes()[:20_000])
    refused(run("read", scan, "--copy", NOTICE_COPY), "half.png")


def test_huge_picture_is_refused_before_it_is_decoded(tmp_path: Path) -> None:
    """40,000 × 40,000 pixels from a file of a few kilobytes (a decompression bomb)."""
    scan = tmp_path / "huge.png"
    header = struct.pack(">II5B", 40_000, 40_000, 1, 0, 0, 0, 0)
    chunks = [(b"IHDR", header), (b"IDAT", zlib.compress(bytes(5_000))), (b"IEND", b"")]
    scan.write_bytes(
        b"\x89PNG\r\n\x1a\n"
        + b"".join(
            struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
            for name, data in chunks
        )
    )
    refused(run("read", scan, "--copy", NOTICE_COPY), "huge.png", "million pixels")


def test_locked_pdf(tmp_path: Path) -> None:
    scan = tmp_path / "locked.pdf"
    pdf = pikepdf.new()
    pdf.add_blank_page()
    pdf.save(scan, encryption=pikepdf.Encryption(owner="a", user="b"))
    refused(run("read", scan, "--copy", NOTICE_COPY), "locked.pdf", "password")


def test_blank_sheet(tmp_path: Path) -> None:
    scan = tmp_path / "blank.png"
    Image.new("L", (1200, 1600), 250).save(scan)
    refused(run("read", scan, "--copy", NOTICE_COPY), "blank")


def test_a_picture_of_no_type_at_all(tmp_path: Path) -> None:
    """A photograph: smooth light and dark, textured, no lines of type."""
    rng = np.random.default_rng(5)
    rough = cv2.resize(rng.uniform(0, 255, (30, 40)).astype(np.float32), (1600, 1200))
    fur = cv2.GaussianBlur(rng.normal(0, 30, (1200, 1600)).astype(np.float32), (0, 0), 2.0)
    scan = tmp_path / "cat.jpg"
    Image.fromarray(np.clip(rough + 3 * fur, 0, 255).astype(np.uint8)).save(scan)
    refused(run("read", scan, "--copy", NOTICE_COPY), "cat.jpg")


@pytest.mark.parametrize(
    ("name", "data", "said"),
    [
        ("empty.txt", b"", "empty"),
        ("spaces.txt", b" \n \n", "no text"),
        ("picture.txt", b"\x89PNG\r\n\x1a\n" + bytes(64), "picture.txt"),
        ("binary.txt", bytes(range(256)) * 8, "binary.txt"),
    ],
)
def test_copy_that_is_none(tmp_path: Path, name: str, data: bytes, said: str) -> None:
    copy = tmp_path / name
    copy.write_bytes(data)
    refused(run("read", NOTICE, "--copy", copy), said)


def test_copy_in_another_encoding_than_said(tmp_path: Path) -> None:
    copy = tmp_path / "copy.txt"
    copy.write_bytes("Überall Flöten".encode("latin-1"))
    refused(run("read", NOTICE, "--copy", copy, "--encoding", "utf-8"), "copy.txt", "utf-8")


def test_unknown_language() -> None:
    done = run("read", NOTICE, "--copy", NOTICE_COPY, "--language", "xyz", "--reader", "tesseract")
    refused(done, "xyz")


def test_unknown_reader_and_allowance() -> None:
    refused(run("read", NOTICE, "--copy", NOTICE_COPY, "--reader", "guess"), "guess", "letters")
    refused(run("read", NOTICE, "--copy", NOTICE_COPY, "--enforce", "spelling"), "spelling")


def test_engine_not_installed_says_how(monkeypatch: pytest.MonkeyPatch) -> None:
    from proofcheck.base.errors import EngineError
    from proofcheck.reading import engine

    engine.find_engine.cache_clear()
    monkeypatch.setattr(engine.shutil, "which", lambda _: None)
    monkeypatch.setattr(engine, "_carried_engine", lambda: (None, None))
    with pytest.raises(EngineError, match="not installed; install it"):
        engine.find_engine()
    engine.find_engine.cache_clear()


def test_damaged_weights_say_how_to_get_them_again(tmp_path: Path) -> None:
    weights = tmp_path / "weights.onnx"
    weights.write_bytes(b"not a network")
    done = run("read", NOTICE, "--copy", NOTICE_COPY, "--weights", weights)
    refused(done, "weights", "--reader tesseract")


def test_hostile_copy_does_not_drive_the_terminal(tmp_path: Path) -> None:
    copy = tmp_path / "copy.txt"
    hostile = "\u202e\x9b31m<script>alert(1)</script> "
    text = NOTICE_COPY.read_text()
    copy.write_text(text[:40] + hostile + text[40:], encoding="utf-8")
    done = run("read", NOTICE, "--copy", copy, "--out", tmp_path)
    assert done.returncode in {1, 2}
    assert not set("\x1b\x9b\u202e") & set(done.stdout + done.stderr)
    page = tmp_path / "notice-proof-marked.html"
    if page.exists():
        assert "<script>alert" not in page.read_text()


@pytest.mark.slow
def test_a_megabyte_on_one_line_is_no_trouble(tmp_path: Path) -> None:
    copy = tmp_path / "copy.txt"
    filler = "nothing of this job at all " * 40_000
    copy.write_text(filler)
    done = run("read", NOTICE, "--copy", copy, "--list")
    assert done.returncode == 2
    assert "not of this copy" in done.stdout


# ------------------------------------------------------------------ the marks


def test_marks_are_shown_as_text_and_as_a_sheet(tmp_path: Path) -> None:
    shown = run("marks")
    assert shown.returncode == 0
    assert "wrong font" in shown.stdout.lower()
    sheet = tmp_path / "marks.pdf"
    assert run("marks", "--sheet", sheet).returncode == 0
    with pikepdf.open(io.BytesIO(sheet.read_bytes())) as pdf:
        assert len(pdf.pages) >= 1
    refused(run("marks", "--sheet", sheet), "marks.pdf")


# ------------------------------------------------------------------ help


def test_help_loads_no_library_that_it_does_not_need() -> None:
    """What made it slow was loaded for its boxes; what reads a proof is none of its business."""
    for words in (["--help"], ["docket", "--help"], ["read", "--help"]):
        asked = (
            "import sys\n"
            f"sys.argv = ['proofcheck', *{words!r}]\n"
            "from proofcheck.cli import main\n"
            "try:\n    main()\nexcept SystemExit:\n    pass\n"
            "print('LOADED', *sorted(sys.modules))\n"
        )
        done = subprocess.run(
            [sys.executable, "-c", asked], capture_output=True, text=True, check=True
        )
        help_, _, loaded = done.stdout.partition("LOADED")
        assert "Usage" in help_
        heavy = {"rich.console", "rich.markdown", "numpy", "cv2", "onnxruntime", "sqlalchemy"}
        assert not heavy & set(loaded.split()), words


def test_no_command_is_cut_short_in_the_list_of_commands() -> None:
    for words in (["--help"], ["docket", "--help"]):
        _, _, commands = run(*words).stdout.partition("Commands:")
        assert commands
        assert "..." not in commands
