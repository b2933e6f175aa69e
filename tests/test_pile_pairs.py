"""Which scan goes with which copy: by name, or by a table; and what can't be paired is told."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from proofcheck.base.errors import SettingError
from proofcheck.base.options import Options
from proofcheck.pile.by_name import pile_of_folder
from proofcheck.pile.cell_options import options_in
from proofcheck.pile.listed import pile_of_table
from proofcheck.pile.piled import folder_names, natural


def _put(folder: Path, *names: str) -> Path:
    for name in names:
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(b"x")
    return folder


def _pairs(pile) -> dict[str, tuple[list[str], str]]:
    """Scans and copy by job, of those that can be read."""
    return {
        each.job: ([scan.name for scan in each.scans], each.copy.name)
        for each in pile.jobs
        if not each.trouble
    }


def _troubles(pile) -> dict[str, str]:
    return {each.job: each.trouble for each in pile.jobs if each.trouble}


def test_sheets_go_with_their_copy_in_the_order_of_their_numbers(tmp_path: Path) -> None:
    names = ["307.txt", *(f"307-{n}.png" for n in (10, 2, 1)), "308.PDF", "308.docx"]
    found = pile_of_folder(_put(tmp_path, *names), Options())
    assert _pairs(found) == {
        "307": (["307-1.png", "307-2.png", "307-10.png"], "307.txt"),
        "308": (["308.PDF"], "308.docx"),
    }
    # Sheets 3 to 9 are not there: read without them, and said so.
    assert "3, 4, 5, 6, 7, 8, 9" in found.jobs[0].notes[0]


def test_a_copy_of_the_whole_name_goes_before_the_number(tmp_path: Path) -> None:
    found = pile_of_folder(_put(tmp_path, "9-1.png", "9-2.png", "9-1.txt", "9-2.txt"), Options())
    assert _pairs(found) == {"9-1": (["9-1.png"], "9-1.txt"), "9-2": (["9-2.png"], "9-2.txt")}


def test_what_it_is_may_stand_behind_the_name(tmp_path: Path) -> None:
    found = pile_of_folder(_put(tmp_path, "card-proof.png", "Card-copy.md"), Options())
    assert _pairs(found) == {"Card": (["card-proof.png"], "Card-copy.md")}


def test_a_folder_with_one_copy_is_one_job(tmp_path: Path) -> None:
    _put(tmp_path, "214/scan2.png", "214/scan1.png", "214/as approved.txt", "215/215.png")
    found = pile_of_folder(_put(tmp_path, "215/215.txt", "215/216.txt", "215/216.png"), Options())
    assert _pairs(found) == {
        "214": (["214/scan1.png", "214/scan2.png"], "214/as approved.txt"),
        "215/215": (["215/215.png"], "215/215.txt"),
        "215/216": (["215/216.png"], "215/216.txt"),
    }


@pytest.mark.parametrize(
    ("names", "job", "said"),
    [
        (["1.png", "1.txt", "1.docx"], "1", "more than one copy"),
        (["1.txt"], "1", "no scan"),
        (["1.png"], "1.png", "no copy"),
        (["1.png", "1.jpg", "1.txt"], "1", "same sheet"),
        (["1-2.png", "1-02.png", "1.txt"], "1", "same sheet"),
        (["1.png", "1-2.png", "1.txt"], "1", "same sheet"),
    ],
)
def test_what_can_be_paired_in_two_ways_or_in_none_is_told(
    tmp_path: Path, names: list[str], job: str, said: str
) -> None:
    found = pile_of_folder(_put(tmp_path, *names), Options())
    assert not _pairs(found)
    assert said in _troubles(found)[job]


def test_papers_drawn_of_a_proof_are_no_scans(tmp_path: Path) -> None:
    own = ["1-marked.png", "1-marked-2.png", "1-marked.pdf", "1-corrections.csv", "1-recast.pdf"]
    found = pile_of_folder(_put(tmp_path, "1.png", "1.txt", "more.pub", *own), Options())
    assert _pairs(found) == {"1": (["1.png"], "1.txt")}
    assert {each.name for each in found.left} == {*own, "more.pub"}


def test_two_jobs_of_one_name_are_told(tmp_path: Path) -> None:
    """One by its files, one by its folder: their papers would go into one folder."""
    found = pile_of_folder(_put(tmp_path, "7.png", "7.txt", "7/a.png", "7/b.txt"), Options())
    assert not _pairs(found)
    assert all("more than once" in each.trouble for each in found.jobs)
    assert len({each.job for each in found.jobs}) == 2


def test_an_empty_folder_is_refused(tmp_path: Path) -> None:
    with pytest.raises(SettingError, match="no scan and no copy"):
        pile_of_folder(tmp_path, Options())


def test_names_that_drive_a_terminal_are_shown_as_signs(tmp_path: Path) -> None:
    evil = "3\x1b[2J\n\u202e7"
    try:
        _put(tmp_path, f"{evil}.png", f"{evil}.txt", os.fsdecode(b"\xff\xfe.png"))
    except OSError:
        pytest.skip("this file system takes no such names")
    found = pile_of_folder(tmp_path, Options())
    for each in found.jobs:
        for text in (each.job, each.trouble, *(scan.name for scan in each.scans)):
            assert text.isprintable()
            text.encode("utf-8")
    assert len(_pairs(found)) == 1
    assert all(Path(scan.address).is_file() for each in found.jobs for scan in each.scans)


# ------------------------------------------------------------------ tables


def _table(folder: Path, text: str, encoding: str = "utf-8") -> Path:
    (folder / "pile.csv").write_bytes(text.encode(encoding))
    return folder / "pile.csv"


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16"])
@pytest.mark.parametrize("parted", [",", ";", "\t"])
def test_a_table_is_read_as_spreadsheets_write_it(
    tmp_path: Path, encoding: str, parted: str
) -> None:
    _put(tmp_path, "é-1.png", "é-2.png", "é.txt", "b, c.png")
    rows = [
        ["Proof", "Copy", "Job", "Options"],
        ["é-*.png", "é.txt", "Nº 7", "part up=4"],
        ['"b, c.png"', "é.txt", "", ""],
    ]
    text = "\r\n".join(parted.join(row) for row in rows)
    found = pile_of_table(_table(tmp_path, text, encoding), Options(dpi=300))
    assert _pairs(found) == {
        "Nº 7": (["é-1.png", "é-2.png"], "é.txt"),
        "b, c": (["b, c.png"], "é.txt"),
    }
    assert found.jobs[0].options == Options(dpi=300, part=True, up=4)


def test_sheets_in_a_cell_keep_the_order_they_are_given_in(tmp_path: Path) -> None:
    _put(tmp_path, "b.png", "a.png", "c.txt")
    found = pile_of_table(_table(tmp_path, "proof,copy\nb.png | a.png,c.txt\n"), Options())
    assert _pairs(found) == {"b": (["b.png", "a.png"], "c.txt")}


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "no row"),
        ("proof,copy\n", "no row"),
        ("proof,job\na.png,1\n", "no column 'copy'"),
        ("proof,copy,colour\na.png,a.txt,red\n", "'colour' is unknown"),
        ("proof,copy,copy\na.png,a.txt,b.txt\n", "there twice"),
        ("proof,copy\na.png,a.txt,more\n", "more cells"),
        ('proof,copy\n"a.png,a.txt\n', "no table"),
        ("proof,copy\n\0\n", "no table"),
    ],
)
def test_a_table_that_is_none_is_refused_in_one_line(tmp_path: Path, text: str, said: str) -> None:
    _put(tmp_path, "a.png", "a.txt")
    with pytest.raises(SettingError) as refused:
        pile_of_table(_table(tmp_path, text), Options())
    assert said in str(refused.value)
    assert "\n" not in str(refused.value)


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("none.png,a.txt,,", "none.png is not there"),
        ("a.png,none.txt,,", "none.txt is not there"),
        ("a*.tif,a.txt,,", "no file is there"),
        (",a.txt,,", "not named"),
        ("a.png,a.txt,,colour=red", "no option 'colour'"),
        ("a.png,a.txt,,dpi=fast", "dpi can't be 'fast'"),
        ("a.png,a.txt,,dpi=-3", "dpi is -3"),
        ("a.png,a.txt,,reader=owl", "no reader"),
    ],
)
def test_a_row_that_can_t_be_used_is_told_and_the_rest_stands(
    tmp_path: Path, row: str, said: str
) -> None:
    _put(tmp_path, "a.png", "a.txt")
    text = f"proof,copy,job,options\n{row}\na.png,a.txt,good,\n"
    found = pile_of_table(_table(tmp_path, text), Options())
    assert list(_pairs(found)) == ["good"]
    (trouble,) = _troubles(found).values()
    assert said in trouble
    assert "row 2" in trouble


def test_the_same_job_twice_is_told_on_both_rows(tmp_path: Path) -> None:
    _put(tmp_path, "a.png", "a.txt")
    text = "proof,copy,job\na.png,a.txt,X1\na.png,a.txt,x1\na.png,a.txt,X2\n"
    found = pile_of_table(_table(tmp_path, text), Options())
    assert list(_pairs(found)) == ["X2"]
    assert len(_troubles(found)) == 2
    assert all("more than once" in each for each in _troubles(found).values())


def test_a_table_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(SettingError, match=r"none\.csv can't be read"):
        pile_of_table(tmp_path / "none.csv", Options())


def test_choices_in_a_cell_go_by_the_names_of_the_settings(tmp_path: Path) -> None:
    words = "hand-set type_too=no enforced=folio,leaders face='my face.otf' fault_certainty=0.6"
    found = options_in(words, Options(language="fra"), tmp_path)
    assert found == Options(
        language="fra", hand_set=True, type_too=False, enforced=("folio", "leaders"),
        face=tmp_path / "my face.otf", fault_certainty=0.6,
    )  # fmt: skip


# ------------------------------------------------------------------ names


def test_no_two_jobs_share_a_folder_on_any_file_system() -> None:
    jobs = ["307", "Card", "card", "a/b", "a-b", "..", "", "x" * 300, "\u202e", "é"]
    names = folder_names(jobs)
    assert len({name.casefold() for name in names.values()}) == len(jobs)
    assert names["307"] == "307"
    assert names["é"] == "é"
    for name in names.values():
        assert name.isprintable()
        assert not set(name) & set("/\\.:*?")
        assert 0 < len(name) <= 100


def test_two_comes_before_ten() -> None:
    assert sorted(["a10", "a2", "A1", "b"], key=natural) == ["A1", "a2", "a10", "b"]
