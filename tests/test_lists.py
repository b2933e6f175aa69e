"""The correction list at any width and on any terminal, and as CSV that no spreadsheet runs."""

import csv
import io
import re
import unicodedata
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from report_cases import COPY_LINES, copy_of, programme

from proofcheck.base.errors import OutputError
from proofcheck.base.found import Collation, Difference, Status, Verdict
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Span
from proofcheck.results.excerpts import excerpts, printed_span
from proofcheck.results.lists import CSV_COLUMNS, correction_csv, correction_list, write_csv
from proofcheck.results.tally import tally

HOSTILE = "a\x1b[2Jb\x07\x9b31m\r\nc\u202egnp.exe\u2066[bold]x[/bold]:smile:\x00\x7f</td>"


def columns_wide(line):
    """Terminal columns by Unicode's East Asian Width (UAX #11); combining marks take none."""
    return sum(
        0 if unicodedata.combining(c) else 2 if unicodedata.east_asian_width(c) in "WF" else 1
        for c in line
    )


def with_texts(printed, wanted, **mark):
    report = programme()
    first = report.faults[0]
    return replace(
        report,
        faults=(
            replace(
                first,
                proof_text=printed,
                copy_text=wanted,
                mark=replace(first.mark, **{"margin": wanted + "/", "words": wanted, **mark}),
            ),
            *report.faults[1:],
        ),
    )


def test_each_fault_gives_line_printed_copy_mark_certainty_and_cause():
    text = correction_list(programme(), width=100)
    rows = text.splitlines()
    at = next(i for i, row in enumerate(rows) if "s[n]mmer" in row)
    assert re.match(r"\s+1/1 +2 +\S.*s\[n\]mmer.* u/ +change n to u +98 %$", rows[at])
    assert "s[u]mmer" in rows[at + 1]
    assert "turned sort?" in rows[at + 1]
    # The two readings stand one above the other, place under place.
    assert rows[at].index("[n]") == rows[at + 1].index("[u]")
    assert "Saturday the [the ]fourth" in text
    assert "6d. at ‸door" in text
    assert "6d. at [the ]door" in text
    assert re.search(r"41 %\n.*query", text)
    assert "3 faults, 1 query in 5 lines read against programme.txt." in text
    assert "quote-shape 4" in text
    assert "Note: the scan says no resolution" in text


@pytest.mark.parametrize("width", [24, 40, 75, 76, 80, 100, 200])
@pytest.mark.parametrize("ascii_only", [False, True])
def test_no_line_is_wider_than_the_terminal(width, ascii_only):
    text = correction_list(programme(), width=width, ascii_only=ascii_only)
    assert max(map(columns_wide, text.splitlines())) <= width
    assert "98 %" in text
    assert not text.endswith("\n\n")
    if ascii_only:
        assert text.isascii()


def test_wide_and_combining_letters_keep_the_places_under_one_another():
    lines = list(COPY_LINES)
    lines[1] = "茶と菓子 cafe\u0301 its summer concert on the green,"
    report = replace(programme(), copy=copy_of(lines))
    u = report.copy.text.index("summer") + 1
    placings = tuple(
        replace(placing, copy=span)
        for placing, span in zip(report.collation.placings, report.copy.paragraphs, strict=True)
    )
    fault = replace(report.faults[0], copy=Span(u, u + 1))
    report = replace(report, faults=(fault,), collation=Collation(placings, ()))
    for width in (80, 60):
        rows = correction_list(report, width=width).splitlines()
        printed = next(row for row in rows if "[n]" in row)
        wanted = next(row for row in rows if "[u]" in row)
        assert columns_wide(printed[: printed.index("[")]) == columns_wide(
            wanted[: wanted.index("[")]
        )
        assert max(map(columns_wide, rows)) <= width


@pytest.mark.parametrize("colour", [False, True])
@pytest.mark.parametrize("width", [60, 100])
def test_hostile_text_cannot_drive_the_terminal(colour, width):
    report = replace(with_texts(HOSTILE, HOSTILE), warnings=(HOSTILE,))
    report = replace(report, copy=replace(report.copy, name=HOSTILE))
    text = correction_list(report, width=width, colour=colour)
    bare = re.sub(r"\x1b\[[0-9;]*m", "", text) if colour else text
    assert all(char == "\n" or char.isprintable() for char in bare)
    # Markup of the table's own library is matter like any other.
    assert "[bold]x[/bold]:smile:" in bare.replace("\n", "")
    assert "␛" in bare
    assert correction_list(report, width=width, ascii_only=True).isascii()


@settings(max_examples=40)
@given(st.text(max_size=60), st.text(max_size=60), st.integers(24, 120))
def test_any_text_makes_a_list(printed, wanted, width):
    text = correction_list(with_texts(printed, wanted), width=width)
    assert all(char == "\n" or char.isprintable() for char in text)


def test_colour_adds_to_the_same_text_and_only_when_asked():
    plain = correction_list(programme())
    coloured = correction_list(programme(), colour=True)
    assert "\x1b" not in plain
    assert "\x1b[" in coloured
    bare = re.sub(r"\x1b\[[0-9;]*m", "", coloured)
    assert [line.rstrip() for line in bare.splitlines()] == plain.splitlines()


def test_the_environment_changes_nothing(monkeypatch):
    plain = correction_list(programme())
    monkeypatch.setenv("FORCE_COLOR", "1")
    monkeypatch.setenv("COLUMNS", "30")
    assert correction_list(programme()) == plain


def test_order_of_the_proof_or_the_surest_first():
    proof = correction_list(programme(), width=60)
    sure = correction_list(programme(), width=60, order="certainty")
    assert re.findall(r"^1/\d  Line (\d+)", proof, re.MULTILINE) == ["2", "3", "4", "5"]
    assert re.findall(r"^1/\d  Line (\d+)", sure, re.MULTILINE) == ["3", "2", "4", "5"]


def test_a_certainty_is_never_rounded_up_to_all():
    report = programme()
    report = replace(report, faults=(replace(report.faults[0], certainty=0.9999),))
    assert "99 %" in correction_list(report)
    assert "100 %" not in correction_list(report)


def test_missing_lines_say_what_they_follow():
    report = programme()
    missing = replace(report.faults[0], kind=Kind.LINE_MISSING, proof_text="")
    report = replace(report, faults=(replace(missing, line=0), replace(missing, line=2)))
    text = correction_list(report)
    assert re.search(r"^ *1/1 +head ", text, re.MULTILINE)
    assert re.search(r"^ *1/1 +after 2 ", text, re.MULTILINE)


def test_closing_sentences():
    clean = programme(faults=(), verdict=Verdict.CLEAN)
    assert tally(clean) == "No fault in 5 lines read against programme.txt."
    assert "Printed" not in correction_list(clean)
    queries = programme()
    queries = replace(queries, faults=(queries.faults[3],), verdict=Verdict.QUERIES)
    assert tally(queries) == "No fault, 1 query to settle in 5 lines read against programme.txt."
    assert "A query is for a person to settle." in " ".join(correction_list(queries).split())
    other = programme(
        faults=(), verdict=Verdict.MISMATCH, collation=Collation((), (), {}, 0.12, mismatch=True)
    )
    assert "not of this copy: 12 %" in tally(other).replace("12%", "12 %")
    assert "not judged" in tally(programme(faults=(), verdict=Verdict.UNREADABLE))


def read_back(text):
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_csv_has_a_row_a_fault_under_the_trades_terms():
    rows = read_back(correction_csv(programme()))
    assert tuple(rows[0]) == CSV_COLUMNS
    assert [row["fault"] for row in rows] == ["F1", "F2", "F3", "F4"]
    first = rows[0]
    assert (first["line"], first["printed"], first["copy has"]) == ("2", "n", "u")
    assert (first["mark"], first["certainty"], first["status"]) == ("u/", "0.98", "fault")
    assert first["likely cause"] == "turned sort"
    assert "s[n]mmer" in first["printed, with its neighbours"]
    assert rows[3]["status"] == "query"
    assert correction_csv(programme()).count("\r\n") == 5


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t=", "\r=", "＝", " =", "\n@"])
def test_no_cell_starts_a_formula(start):
    # Leading characters and the apostrophe: OWASP, "CSV Injection" (from memory).
    rows = read_back(correction_csv(with_texts(start + "HYPERLINK()", start + '1",=2;=3')))
    for name in ("printed", "copy has", "mark", "instruction"):
        assert rows[0][name].lstrip().startswith("'")
    assert len(rows) == 4


def test_no_cell_can_open_another():
    report = with_texts('a";=1\n"', HOSTILE)
    for dialect in (",", ";"):
        text = correction_csv(report)
        rows = list(csv.reader(io.StringIO(text, newline=""), delimiter=dialect))
        assert len(rows) == 5
        assert any("'=1" in cell for cell in rows[1])
        assert not any(cell.lstrip().startswith("=") for row in rows for cell in row)


def test_csv_is_written_whole_with_a_byte_order_mark(tmp_path):
    path = write_csv(with_texts("½", "¼ é"), tmp_path / "list.csv")
    data = path.read_bytes()
    assert data.startswith(b"\xef\xbb\xbf")  # spreadsheets then read it as UTF-8
    assert data[3:].decode() == correction_csv(with_texts("½", "¼ é"))
    with pytest.raises(OutputError, match="exists already"):
        write_csv(programme(), path)
    write_csv(programme(), path, overwrite=True)


def test_long_matter_is_cut_in_the_middle_for_people():
    long = "word " * 200_000
    report = programme()
    copy = replace(report.copy, text=long, paragraphs=(Span(0, len(long)),))
    fault = replace(report.faults[0], kind=Kind.MATTER_MISSING, copy=Span(100, 900_000))
    fault = replace(fault, copy_text=long, line=0, proof_text="")
    report = replace(report, copy=copy, faults=(fault,))
    assert len(correction_list(report)) < 2000
    assert len(correction_csv(report)) < 5000


def test_the_printed_place_is_found_by_the_collation_or_by_the_box():
    report = programme()
    assert [printed_span(report, fault) for fault in report.faults] == [
        Span(15, 16),
        Span(13, 17),
        Span(19, 19),
        Span(38, 38),
    ]
    fault = report.faults[0]
    told = Difference(fault.kind, 2, Span(15, 16), "n", fault.copy, "u")
    astray = replace(fault, box=Box(0, 0, 5, 5))
    collation = replace(report.collation, differences=(told,))
    assert printed_span(replace(report, collation=collation), astray) == Span(15, 16)
    # Without it, the nearest place that reads as the fault says.
    near = replace(fault, box=fault.box._replace(x=fault.box.x - 12))
    assert printed_span(report, near) == Span(15, 16)
    assert printed_span(report, replace(fault, line=99)) is None


def test_excerpts_are_cut_alike_at_words():
    report = programme()
    printed, wanted = excerpts(report, report.faults[0], 32)
    assert printed.before == wanted.before
    assert printed.at == "n"
    assert wanted.at == "u"
    assert printed.after.endswith("…")
    query = replace(report.faults[3], status=Status.QUERY)
    assert excerpts(report, query, 80)[1].after == ""
