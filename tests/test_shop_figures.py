"""Figures of the shop: what is counted, for how many ems, and what the tool is judged by.

An em is the square of the body (the trade's unit of composed matter); the sums here are made by
hand from the programme's five lines of 10 pt at 300 dpi.
"""

from __future__ import annotations

import csv
import io
from datetime import UTC, datetime

import pytest
from desk_cases import with_proof
from docket_cases import (
    JOB,
    Clock,
    begun,
    decide_all,
    pull,
    quick_folder,
    report_on,
    shown_made,
)
from typer.testing import CliRunner

from proofcheck.cli.program import app
from proofcheck.docket import amend_job, decide
from proofcheck.docket.own_marks import OwnMark, mark_own
from proofcheck.docket.proved import ems_of, read_data
from proofcheck.docket.shop import Shop
from proofcheck.docket.shop_figures import GROUPS, shop_csv, shop_figures
from proofcheck.docket.show_figures import shop_text


@pytest.fixture
def docket():
    with quick_folder() as folder:
        held = begun(folder, clock=Clock(datetime(2026, 12, 31, 20, tzinfo=UTC)))
        amend_job(held, JOB, {"machine": "No. 2", "face": "Old Style 10"}, by="P.C.")
        yield held


def figures(docket, **shop):
    return shop_figures(docket.jobs(), Shop(zone="UTC", **shop))


def named(found, group):
    return {row.name: (row.faults, row.missed, row.wrongly) for row in found.of(group)}


def test_ems_are_the_lengths_of_lines_in_squares_of_their_bodies(docket) -> None:
    report = report_on(docket)
    by_hand = sum(
        line["box"][2] / 300 / 0.013837 / line["body_pt"] for line in report["lines"]
    )  # 0.013837 inch to the point: Stewart, 1919
    assert ems_of(report) == round(by_hand) > 50
    for scan in report["scans"]:
        scan["turned_deg"] = 90
    for line in report["lines"]:
        x, y, width, height = line["box"]
        line["box"] = [y, x, height, width]
    assert ems_of(report) == round(by_hand)
    for scan in report["scans"]:
        scan["turned_deg"] = 270
    assert ems_of(report) == round(by_hand)
    # A line whose body is not known counts for none; the others do.
    known = [dict(line) for line in report["lines"]]
    report["lines"][0]["body_pt"] = 0
    del known[0]
    assert ems_of(report) == ems_of({**report, "lines": known}) > 0
    report["scans"][0]["dpi"] = 0
    assert ems_of(report) == 0


def test_what_is_let_stand_or_wrongly_alleged_is_no_fault_of_the_type(docket) -> None:
    pull(docket)
    assert named(figures(docket), "machine") == {"No. 2": (3, 0, 0)}
    decide(docket, JOB, "1", "sound", by="B.A.")
    decide(docket, JOB, "2", "stand", by="B.A.")
    decide(docket, JOB, "4", "correct", by="B.A.")  # the query, granted
    found = figures(docket)
    assert (found.whole.faults, found.whole.wrongly, found.whole.missed) == (2, 1, 0)
    assert named(found, "kind") == {
        "wrong letter": (0, 0, 1), "word missing": (1, 0, 0), "point missing": (1, 0, 0),
    }  # fmt: skip
    assert named(found, "sort") == {"u printed n": (0, 0, 1)}
    assert named(found, "operator") == {"T.W.": (2, 0, 1)}
    assert named(found, "customer") == {"Village band": (2, 0, 1)}
    assert named(found, "face") == {"Old Style 10": (2, 0, 1)}
    assert not figures(docket, operators_in_figures=False).of("operator")


def test_a_fault_that_only_the_reader_saw_is_counted_as_missed() -> None:
    with quick_folder() as folder:
        docket = with_proof(folder)
        mark_own(docket, JOB, OwnMark(1, 4, 5, kind="broken-letter"), by="B.A.")
        found = figures(docket)
        assert (found.whole.faults, found.whole.missed) == (4, 1)
        assert named(found, "kind")["broken letter"] == (1, 1, 0)


def test_author_s_alterations_are_not_counted(docket) -> None:
    pull(docket)
    decide(docket, JOB, "1", "correct", by="B.A.", charge="AA")
    assert figures(docket).whole.faults == 2


def test_a_fault_missed_on_the_revise_is_counted_once_and_the_ems_of_both(docket) -> None:
    pull(docket)
    once = figures(docket)
    decide_all(docket)
    pull(docket, b"revise", revise=shown_made(docket, **{"1/F1": "missed"}))
    twice = figures(docket)
    assert twice.whole.ems == 2 * once.whole.ems
    assert named(twice, "sort") == {"u printed n": (1, 0, 0)}


def test_weeks_are_those_of_the_shop_s_calendar_by_iso_8601(docket) -> None:
    """31 December 2026 is a Thursday of week 53; 4 January 2027 begins week 1 (ISO 8601)."""
    pull(docket)
    docket.clock.now = datetime(2027, 1, 4, 0, 30, tzinfo=UTC)
    decide_all(docket)
    pull(docket, b"revise", revise=shown_made(docket))
    assert [row.name for row in figures(docket).of("week")] == ["2026-W53", "2027-W01"]
    west = shop_figures(docket.jobs(), Shop(zone="America/New_York"))
    assert [row.name for row in west.of("week")] == ["2026-W53"]


def test_rates_are_for_a_thousand_ems_of_the_proofs_whose_ems_are_known(docket) -> None:
    pull(docket)
    whole = figures(docket).whole
    assert whole.a_thousand == pytest.approx(1000 * 3 / ems_of(report_on(docket)))
    bare = shop_figures([], Shop())
    assert (bare.whole.a_thousand, bare.rows) == (None, ())
    assert "0 faults on 0 proofs" in shop_text(bare)


def test_the_table_for_a_spreadsheet_has_every_row_and_no_formula(docket) -> None:
    amend_job(docket, JOB, {"customer": "=1+1"}, by="P.C.")
    pull(docket)
    decide(docket, JOB, "1", "sound", by="B.A.")
    place = ["--docket", docket.store.place]
    done = CliRunner().invoke(app, ["docket", "figures", "--csv", *place])
    assert done.exit_code == 0
    rows = list(csv.DictReader(io.StringIO(done.stdout, newline="")))
    assert {row["by"] for row in rows} == {"all", *GROUPS}
    assert rows[0]["alleged_wrongly"] == "1"
    assert [row["name"] for row in rows if row["by"] == "customer"] == ["'=1+1"]
    assert done.stdout.replace("\n", "\r\n").count("\r\n") == len(rows) + 1
    assert shop_csv(figures(docket)).count("\r\n") == len(rows) + 1
    told = CliRunner().invoke(app, ["docket", "figures", *place]).stdout
    assert "Alleged of sound type: 1" in told
    assert "No. 2" in told


@pytest.mark.parametrize(("ems", "wrong"), [(None, False), (7, True)])
def test_a_proof_recorded_before_ems_were_noted_is_none_that_was_changed(
    docket, monkeypatch, ems, wrong
) -> None:
    from proofcheck.docket import recording, verify

    def older(report, *, here, person):
        told = {**read_data(report, here=here, person=person), "ems": ems}
        return {name: value for name, value in told.items() if value is not None}

    with monkeypatch.context() as patch:
        patch.setattr(recording, "read_data", older)
        pull(docket)
    assert any("(ems)" in trouble for trouble in verify(docket).troubles) is wrong
    assert figures(docket).whole.ems == (ems or 0)
    assert (figures(docket).whole.a_thousand is None) is (ems is None)
