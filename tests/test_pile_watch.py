"""At the scanner: each proof goes to its job's docket, and no file is lost or written over."""

from __future__ import annotations

import os
import shutil
import sys
from pathlib import Path

import numpy as np
import pikepdf
import pytest
from PIL import Image
from pile_cases import SAMPLES
from test_cli import refused, run

from proofcheck.base.errors import OutputError, ProofcheckError, ScanError, SettingError
from proofcheck.copytext import load_copy
from proofcheck.docket import open_docket, open_job, take_copy
from proofcheck.docket.docket_errors import RecordBrokenError
from proofcheck.docket.originals import Original
from proofcheck.pile.arriving import Group, Parting, Settling, groups_of
from proofcheck.pile.into_docket import Took
from proofcheck.pile.putting_away import put_apart, put_away
from proofcheck.pile.slips import Run, job_on_slip, runs_of, take_pages
from proofcheck.pile.watching import Watch, WatchJob, printer_of

zxingcpp = pytest.importorskip("zxingcpp", reason="the watch extra is not installed")
NOTICE = SAMPLES / "notice-proof.png"
KNOWN = {"307", "308", "9-1", "Ball/2"}


@pytest.fixture
def docket(tmp_path: Path):
    held = open_docket(tmp_path / "docket.db", create=True)
    for number in ("307", "308"):
        open_job(held, number, {"customer": "Village band"}, by="ab", another=True)
        copy = SAMPLES / "notice-copy.txt"
        take_copy(held, number, load_copy(copy), Original.of(copy), by="ab")
    return held


def _slip(tmp_path: Path, docket, number: str) -> Path:
    """A slip as a scanner gives it: a PDF of a picture."""
    from proofcheck.docket.job_slip import write_job_slip

    return write_job_slip(docket.job(number), tmp_path / f"slip-{number}.pdf")


def _file(folder: Path, name: str, data: bytes = b"x") -> Path:
    folder.mkdir(exist_ok=True)
    (folder / name).write_bytes(data)
    return folder / name


# ------------------------------------------------------------------ whole files


def test_a_file_is_taken_when_it_has_been_still(tmp_path: Path) -> None:
    settling, file = Settling(tmp_path, 2.0), _file(tmp_path, "1.png")
    assert settling.look(0) == ([], True)
    assert settling.look(1.9) == ([], True)
    file.write_bytes(b"more of it")
    assert settling.look(2.5) == ([], True)  # it grew: from here on
    assert settling.look(4.4) == ([], True)
    (lying,), coming = settling.look(4.6)
    assert (lying.path, coming) == (file, False)
    other = _file(tmp_path / "elsewhere", "0.png")
    other.rename(tmp_path / "1.png")  # renamed into place, over the one before
    assert settling.look(5.0) == ([], True)
    assert len(settling.look(7.1)[0]) == 1


def test_what_is_no_scan_is_left_alone(tmp_path: Path) -> None:
    for name in (".hidden.png", "1.txt", "1.png.part", "notes"):
        _file(tmp_path, name)
    (tmp_path / "folder.png").mkdir()
    assert Settling(tmp_path, 0).look(0) == ([], False)


# ------------------------------------------------------------------ what belongs together


def _groups(tmp_path: Path, runs: dict[str, tuple[Run, ...] | str], *names: str) -> list[Group]:
    """Groups of files with such pages; those not named have no slip."""

    class Told(Parting):
        def by_slips(self, lying):
            return runs.get(lying.path.name, (Run("", (0,)),))

    for at, name in enumerate(names):
        file = _file(tmp_path, name)
        os.utime(file, (at, at))
    settling = Settling(tmp_path, 0)
    known = {number.casefold(): number for number in KNOWN}
    parting = Told(lambda text: known.get(text.casefold(), ""), codes=True)
    return groups_of(settling.look(0)[0], parting)


def _shown(groups: list[Group]) -> list[tuple[str, list[str], bool]]:
    return [(g.job, [lying.path.name for _, lying in g.files], g.whole) for g in groups]


def test_sheets_are_known_by_their_names(tmp_path: Path) -> None:
    found = _groups(tmp_path, {}, "307-2.png", "308.png", "307-1.png", "9-1.png")
    assert _shown(found) == [
        ("307", ["307-1.png", "307-2.png"], False),
        ("308", ["308.png"], True),
        ("9-1", ["9-1.png"], True),
    ]
    assert not any(group.trouble for group in found)


def test_what_follows_a_slip_is_its_job_s_till_the_next(tmp_path: Path) -> None:
    slip, other = (Run("307", ()),), (Run("Ball/2", ()),)
    runs = {"a.png": slip, "d.png": other}
    found = _groups(tmp_path, runs, "a.png", "b.png", "c.png", "d.png", "e.png")
    assert _shown(found) == [
        ("307", ["b.png", "c.png"], True),  # the next slip closes it
        ("Ball/2", ["e.png"], False),
    ]
    assert [group.slip.path.name for group in found] == ["a.png", "d.png"]


def test_slips_within_a_file_part_it(tmp_path: Path) -> None:
    runs = {"all.pdf": (Run("307", (1, 2)), Run("308", (4,)))}
    (found,) = _groups(tmp_path, runs, "all.pdf")
    assert found.runs == runs["all.pdf"]
    assert found.whole


@pytest.mark.parametrize(
    ("names", "said"),
    [
        (["0815.png"], "names no job"),
        (["307-1.png", "307-01.jpg"], "same sheet"),
        (["307-1.png", "307-3.png"], "sheet 2 of job 307 has not come"),
    ],
)
def test_what_can_t_be_told_is_not_guessed_at(tmp_path: Path, names, said: str) -> None:
    (found,) = _groups(tmp_path, {}, *names)
    assert said in found.trouble


# ------------------------------------------------------------------ codes


@pytest.mark.parametrize("turn", [0, 1, 2, 3])
def test_the_slip_says_its_job_however_it_is_laid(tmp_path: Path, docket, turn: int) -> None:
    (run_,) = runs_of(_slip(tmp_path, docket, "307"))
    assert run_ == Run("307", ())
    from proofcheck.sheet.scans import open_scans

    (page,) = open_scans([tmp_path / "slip-307.pdf"])
    rng = np.random.default_rng(7)
    grey = page.image if page.image.ndim == 2 else page.image[..., 0]
    noisy = np.clip(
        np.rot90(grey, turn) * 0.8 + rng.normal(20, 12, np.rot90(grey, turn).shape), 0, 255
    )
    assert job_on_slip(noisy.astype(np.uint8)) == "307"


def test_a_code_39_of_the_shop_s_own_serves_as_well() -> None:
    """Code 39 (ISO/IEC 16388) as another library draws it."""
    code = zxingcpp.create_barcode("JOB-307", zxingcpp.BarcodeFormat.Code39)
    image = np.array(code.to_image(scale=4))
    assert job_on_slip(np.pad(image, 60, constant_values=255)) == "307"


def test_a_code_in_the_customer_s_matter_is_no_slip() -> None:
    import segno

    for text in ("307", "https://example.org/307", "PROOF-307"):
        modules = 255 * (1 - np.array([list(r) for r in segno.make_qr(text).matrix], np.uint8))
        image = np.kron(np.pad(modules, 4, constant_values=255), np.ones((8, 8), np.uint8))
        assert job_on_slip(image.astype(np.uint8)) == ""


def test_a_pdf_is_taken_apart_at_its_slips(tmp_path: Path, docket) -> None:
    whole = tmp_path / "whole.pdf"
    notice = tmp_path / "notice.pdf"
    Image.open(NOTICE).convert("L").save(notice, "PDF", resolution=300)
    with pikepdf.new() as pdf:
        for part in (
            _slip(tmp_path, docket, "307"),
            notice,
            notice,
            _slip(tmp_path, docket, "308"),
        ):
            with pikepdf.open(part) as one:
                pdf.pages.extend(one.pages)
        pdf.save(whole)
    assert runs_of(whole) == (Run("307", (1, 2)), Run("308", ()))
    part = take_pages(whole, (1, 2), tmp_path / "part")
    with pikepdf.open(part) as pdf:
        assert len(pdf.pages) == 2
    with pytest.raises(ScanError, match="taken apart"):
        take_pages(tmp_path / "docket.db", (0,), tmp_path / "part-2")


def test_a_tiff_is_taken_apart_without_a_pixel_changed(tmp_path: Path) -> None:
    rng = np.random.default_rng(1)
    frames = [Image.fromarray(rng.integers(0, 255, (40, 30), np.uint8)) for _ in range(3)]
    whole = tmp_path / "whole.tif"
    frames[0].save(whole, save_all=True, append_images=frames[1:], dpi=(300, 300))
    part = take_pages(whole, (1, 2), tmp_path / "part")
    with Image.open(part) as held:
        assert held.n_frames == 2
        assert round(float(held.info["dpi"][0])) == 300
        for at in (0, 1):
            held.seek(at)
            assert np.array_equal(np.array(held), np.array(frames[at + 1]))


# ------------------------------------------------------------------ nothing lost


def test_a_file_is_never_laid_over_another(tmp_path: Path, monkeypatch) -> None:
    away = tmp_path / "away"
    for at in range(3):
        put_away(_file(tmp_path / "in", "1.png", bytes([at])), away)
    assert {path.name: path.read_bytes() for path in away.iterdir()} == {
        "1.png": b"\0", "1 (2).png": b"\1", "1 (3).png": b"\2",
    }  # fmt: skip

    def linkless(*_: object) -> None:
        raise OSError(1, "no links here")

    monkeypatch.setattr(Path, "hardlink_to", linkless)
    put_apart([_file(tmp_path / "in", "1.png", b"\3")], away, "torn\x1b[2J")
    assert (away / "1 (4).png").read_bytes() == b"\3"
    assert (away / "1 (4).png.why.txt").read_text() == "torn␛[2J\n"
    assert not list((tmp_path / "in").iterdir())


def test_what_can_t_be_moved_stays_where_it_is(tmp_path: Path) -> None:
    file = _file(tmp_path / "in", "1.png")
    (tmp_path / "away").write_text("a file")
    with pytest.raises(OutputError, match=r"1\.png can't be put into"):
        put_away(file, tmp_path / "away")
    assert file.exists()


# ------------------------------------------------------------------ the whole way


def _watch(tmp_path: Path, docket, **more) -> tuple[Watch, list[str]]:
    said: list[str] = []
    (tmp_path / "in").mkdir(exist_ok=True)
    job = WatchJob(
        tmp_path / "in", "ab", tmp_path / "out", once=True, settle_s=0.05, quiet_s=0.1,
        patience_s=0.2, look_s=0.02, **more,
    )  # fmt: skip
    return Watch(job, docket, said.append), said


def test_a_proof_goes_from_the_scanner_to_the_docket_and_the_printer(
    tmp_path: Path, docket
) -> None:
    shutil.copy(NOTICE, _file(tmp_path / "in", "307.png"))
    _file(tmp_path / "in", "308.png", NOTICE.read_bytes()[:5000])
    _file(tmp_path / "in", "stray.png", NOTICE.read_bytes() + b"\0")
    printed = tmp_path / "printed $(touch x).txt"
    command = f'"{sys.executable}" -c "import sys; open(sys.argv[1], \'a\').write(sys.argv[2])"'
    watch, said = _watch(tmp_path, docket, print_with=f"{command} '{printed}' {{}}")
    watch.run()
    assert [proof.name for proof in docket.job("307").proofs] == ["first proof"]
    assert not docket.job("308").proofs
    out = tmp_path / "out"
    pdf = out / "307" / "307-1-marked.pdf"
    assert printed.read_text() == str(pdf)
    assert pdf.is_file()
    names = sorted(str(path.relative_to(out)) for path in out.rglob("*.png*"))
    assert names == [
        "307/307-1-marked.png", "307/scans/307.png", "apart/308.png", "apart/308.png.why.txt",
        "apart/stray.png", "apart/stray.png.why.txt",
    ]  # fmt: skip
    assert "damaged or cut short" in (out / "apart" / "308.png.why.txt").read_text()
    assert not list((tmp_path / "in").iterdir())
    assert watch.apart == 2
    assert any("first proof of job 307 recorded" in line for line in said)
    # Killed before it was put away, it comes again: on record already, it is not read again.
    shutil.copy(NOTICE, tmp_path / "in" / "307.png")
    again, said = _watch(tmp_path, docket)
    again.run()
    assert any("on record already" in line for line in said)
    assert len(docket.job("307").proofs) == 1
    assert (out / "307" / "scans" / "307 (2).png").is_file()


def test_trouble_that_is_not_the_sheet_s_lets_it_lie(tmp_path: Path, docket, monkeypatch) -> None:
    shutil.copy(NOTICE, _file(tmp_path / "in", "307.png"))
    watch, said = _watch(tmp_path, docket)
    answers = [Took("the docket is busy", again=True), Took("read", taken=True)]
    monkeypatch.setattr(watch, "_read", lambda *_: answers.pop(0))
    watch.run()
    assert said[0].startswith("307.png waits: the docket is busy")
    assert not answers
    assert watch.apart == 0
    assert (tmp_path / "out" / "307" / "scans" / "307.png").is_file()


def test_one_written_over_while_it_is_read_is_not_put_away_unread(
    tmp_path: Path, docket, monkeypatch
) -> None:
    scan = _file(tmp_path / "in", "307.png", b"the first")
    watch, _ = _watch(tmp_path, docket)
    read: list[bytes] = []

    def reading(_number: str, scans) -> Took:
        read.append(scans[0].read_bytes())
        if len(read) == 1:
            scan.write_bytes(b"the second, of the same name")
        return Took("read", taken=True)

    monkeypatch.setattr(watch, "_read", reading)
    watch.run()
    assert read == [b"the first", b"the second, of the same name"]
    kept = tmp_path / "out" / "307" / "scans" / "307.png"
    assert kept.read_bytes() == read[1]


def test_a_docket_that_can_t_be_asked_is_no_fault_of_the_sheet(
    tmp_path: Path, docket, monkeypatch
) -> None:
    shutil.copy(NOTICE, _file(tmp_path / "in", "307.png"))
    _file(tmp_path / "in", os.fsdecode(b"\xff.png"))
    watch, _ = _watch(tmp_path, docket)

    def broken(*_: object) -> None:
        msg = "the record is broken"
        raise RecordBrokenError(msg)

    monkeypatch.setattr(type(docket), "current", broken)
    with pytest.raises(RecordBrokenError):
        watch.run()
    assert len(list((tmp_path / "in").iterdir())) == 2


def test_once_nothing_is_tried_for_ever(tmp_path: Path, docket, monkeypatch) -> None:
    shutil.copy(NOTICE, _file(tmp_path / "in", "307.png"))
    watch, said = _watch(tmp_path, docket)
    monkeypatch.setattr(watch, "_read", lambda *_: Took("no engine here", again=True))
    watch.run()
    assert said == ["307.png waits: no engine here", "LEFT LYING 307.png: no engine here"]
    assert watch.apart == 1
    assert (tmp_path / "in" / "307.png").is_file()


def test_capitals_on_a_slip_are_passed_over(docket) -> None:
    numbers = ("Ball 2", "ball/3", "Ball/3")
    parting = Parting(
        lambda text: text if text in numbers else "", codes=True, all_=lambda: numbers
    )
    assert parting.job_of_slip("BALL 2") == "Ball 2"
    assert parting.job_of_slip("ball/3") == "ball/3"
    assert parting.job_of_slip("BALL/3") == "BALL/3"  # two may be meant


def test_a_slip_without_a_proof_and_one_of_no_job_are_put_apart(tmp_path: Path, docket) -> None:
    (tmp_path / "in").mkdir()
    _slip(tmp_path, docket, "307").rename(tmp_path / "in" / "scan-1.pdf")
    watch, said = _watch(tmp_path, docket)
    watch.run()
    assert "the slip of job 307 came with no proof after it" in said[0]
    assert (tmp_path / "out" / "apart" / "scan-1.pdf").is_file()


def test_bad_folders_and_printers_are_told_before_the_watch(tmp_path: Path, docket) -> None:
    with pytest.raises(SettingError, match="no folder"):
        Watch(WatchJob(tmp_path / "none", "ab", tmp_path / "out"), docket, print)
    with pytest.raises(OutputError, match="another folder"):
        Watch(WatchJob(tmp_path, "ab", tmp_path), docket, print)
    for command in ("no-such-printer {}", "'lp", "   "):
        with pytest.raises(ProofcheckError, match="--print-with"):
            printer_of(command)
    assert printer_of("") == []
    refused(
        run("watch", tmp_path / "none", "--by", "ab", "--docket", tmp_path / "docket.db"), "none"
    )


def test_the_slip_is_made_on_the_command_line(tmp_path: Path, docket) -> None:
    slip = tmp_path / "slip.pdf"
    done = run("docket", "slip", "307", slip, "--docket", tmp_path / "docket.db")
    assert done.returncode == 0, done.stderr
    assert runs_of(slip) == (Run("307", ()),)
