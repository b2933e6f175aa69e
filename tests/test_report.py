"""The report's verdicts, and its JSON form against the contract and outside references."""

import json
from dataclasses import replace

import cv2
import jsonschema
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from report_cases import perspective, programme, set_sheet, turned

from proofcheck.base.found import Cause, Collation, Status, Verdict
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box
from proofcheck.results.report import Provenance, exit_status, scan_box, verdict_of
from proofcheck.results.report_json import (
    report_schema,
    report_text,
    report_to_json,
    unreadable_text,
)


@pytest.fixture(scope="module")
def check():
    schema = report_schema()
    jsonschema.Draft202012Validator.check_schema(schema)
    return jsonschema.Draft202012Validator(schema).validate


def test_the_json_form_keeps_to_its_schema(check):
    check(json.loads(report_text(programme())))


def test_an_empty_report_keeps_to_the_schema(check):
    empty = programme(
        verdict=Verdict.UNREADABLE, lines=(), readings=(), faults=(), recast=(), warnings=()
    )
    empty = replace(empty, collation=Collation((), (), {}, 0.0), sheets=())
    check(report_to_json(empty))
    assert exit_status(empty) == 2


def test_a_proof_refused_unread_keeps_to_the_schema(check):
    report = json.loads(unreadable_text("the sheet is blank"))
    check(report)
    assert report["verdict"] == "unreadable"
    assert report["warnings"] == ["the sheet is blank"]
    assert report["faults"] == []


def test_the_schema_can_refuse(check):
    good = report_to_json(programme())
    spoilt = [
        {**good, "verdict": "fine"},
        {**good, "report": 3},
        {key: value for key, value in good.items() if key != "waived"},
        {**good, "faults": [{**good["faults"][0], "certainty": 1.2}]},
        {**good, "faults": [{**good["faults"][0], "kind": "typo"}]},
        {**good, "lines": [{**good["lines"][0], "box": [0, 0, 1]}]},
    ]
    for report in spoilt:
        with pytest.raises(jsonschema.ValidationError):
            check(report)
    check({**good, "a later key": 1})


def test_every_kind_and_cause_keeps_to_the_schema(check):
    report = programme()
    for kind in Kind:
        check(report_to_json(replace(report, faults=(replace(report.faults[0], kind=kind),))))
    for cause in Cause:
        check(report_to_json(replace(report, faults=(replace(report.faults[0], cause=cause),))))


def test_the_keys_of_version_1_are_all_there():
    # The shape of the contract as first agreed; keys may be added to it, never taken away.
    report = report_to_json(programme())
    assert report["report"] == 2
    assert report["verdict"] == "faults"
    scan = {"path", "sha256", "width_px", "height_px", "dpi", "turned_deg", "mirrored", "skew_deg"}
    assert scan <= report["scans"][0].keys()
    assert {"path", "sha256", "characters"} <= report["copy"].keys()
    line = report["lines"][1]
    assert {"number", "scan", "box", "body_pt", "text", "copy"} <= line.keys()
    assert line["text"] == "will give its snmmer concert on the green,"
    fault = report["faults"][0]
    assert fault["id"] == "F1"
    assert fault["kind"] == "wrong-letter"
    assert fault["line"] == 2
    assert fault["proof"] == {"text": "n"}
    assert {"margin": "u/", "text": "stroke", "words": "change n to u"}.items() <= fault[
        "mark"
    ].items()
    assert fault["cause"] == "turned sort"
    assert fault["status"] == "fault"
    assert report["recast"] == [
        {
            "lines": [2],
            "matter": ["will give its summer concert on the green,"],
            "reason": ["F1"],
            "after": 0,
            "spaces_pt": [],
        }
    ]
    assert report["waived"] == {"quote-shape": 4}
    assert report["counts"] == {"faults": 3, "queries": 1}


def test_copy_positions_point_into_the_copy():
    report = programme()
    written = report_to_json(report)
    assert written["copy"]["characters"] == len(report.copy.text)
    for fault in written["faults"]:
        span = fault["copy"]
        assert report.copy.text[span["start"] : span["end"]] == span["text"]
    start, end = written["lines"][2]["copy"]
    assert report.copy.text[start:end] == "Saturday the fourth, at half past six."


def test_a_line_not_in_the_copy_has_no_span():
    report = programme()
    placings = (replace(report.collation.placings[0], copy=None), *report.collation.placings[1:])
    report = replace(report, collation=replace(report.collation, placings=placings))
    assert report_to_json(report)["lines"][0]["copy"] is None


def test_verdicts_and_exit_status():
    fault = programme().faults[0]
    query = replace(fault, status=Status.QUERY)
    assert verdict_of([]) is Verdict.CLEAN
    assert verdict_of([query, query]) is Verdict.QUERIES
    assert verdict_of([], wholly_read=False) is Verdict.NOT_WHOLLY_READ
    assert verdict_of([query], wholly_read=False) is Verdict.NOT_WHOLLY_READ
    assert verdict_of([query, fault], wholly_read=False) is Verdict.FAULTS
    assert verdict_of([query, fault]) is Verdict.FAULTS
    assert verdict_of([fault], mismatch=True) is Verdict.MISMATCH
    assert verdict_of([fault], mismatch=True, readable=False) is Verdict.UNREADABLE
    # As with diff(1), POSIX: 0 no differences, 1 differences, more than 1 trouble.
    expected = {
        "clean": 0,
        "queries": 1,
        "faults": 1,
        "not-wholly-read": 2,
        "mismatch": 2,
        "unreadable": 2,
    }
    assert {v.value: exit_status(programme(verdict=v)) for v in Verdict} == expected


def test_json_holds_any_file_name_and_only_numbers(check):
    report = programme()
    sheet = replace(
        report.sheets[0],
        dpi=float("nan"),
        skew_deg=-0.0001,
        scan=replace(report.sheets[0].scan, name="pr\udcfcf\n.png"),
    )
    text = report_text(replace(report, sheets=(sheet,)))
    assert text.isascii()
    loaded = json.loads(text)
    check(loaded)
    assert loaded["scans"][0]["path"] == "pr\udcfcf\n.png"
    assert loaded["scans"][0]["dpi"] == 0
    assert str(loaded["scans"][0]["skew_deg"]) == "0.0"


def test_the_same_report_gives_the_same_text():
    assert report_text(programme()) == report_text(programme())
    assert Provenance("letters").version


@pytest.mark.parametrize("degrees", [0, 90, 180, 270])
def test_boxes_of_a_turned_scan_lie_on_the_same_pixels(degrees):
    # Outside reference: OpenCV turns the picture; the box must hold the same pixels there.
    sheet, _, readings = set_sheet()
    to_scan, size = turned(sheet.image.shape[1], sheet.image.shape[0], degrees)
    sheet = replace(sheet, to_scan=to_scan, scan=replace(sheet.scan, width_px=size[0]))
    sheet = replace(sheet, scan=replace(sheet.scan, height_px=size[1]))
    back = {90: cv2.ROTATE_90_COUNTERCLOCKWISE, 180: cv2.ROTATE_180, 270: cv2.ROTATE_90_CLOCKWISE}
    scan = cv2.rotate(sheet.image, back[degrees]) if degrees else sheet.image
    assert scan.shape == size[::-1]
    box = readings[2].letters[4].box
    here = sheet.image[box.y : box.bottom, box.x : box.right]
    there = scan_box(sheet, box)
    cut = scan[there.y : there.bottom, there.x : there.right]
    assert np.array_equal(cv2.rotate(here, back[degrees]) if degrees else here, cut)
    gap = scan_box(sheet, Box(box.x, box.y, 0, box.height))
    assert sorted([gap.width, gap.height]) == [0, box.height]


box_values = st.tuples(
    st.integers(-20, 700), st.integers(-20, 500), st.integers(0, 400), st.integers(0, 90)
)


@settings(max_examples=60)
@given(box_values)
def test_boxes_of_a_phone_picture_match_opencv(values):
    # Outside reference: cv2.perspectiveTransform of the corners, half a pixel for the edges.
    sheet, _, _ = set_sheet()
    to_scan, size = perspective(sheet.image.shape[1], sheet.image.shape[0])
    scan = replace(sheet.scan, width_px=size[0], height_px=size[1])
    sheet = replace(sheet, to_scan=to_scan, scan=scan)
    box = Box(*values)
    corners = np.array(
        [[(box.x, box.y), (box.right, box.y), (box.right, box.bottom), (box.x, box.bottom)]], float
    )
    points = cv2.perspectiveTransform(corners - 0.5, to_scan)[0] + 0.5
    ours = scan_box(sheet, box)
    low = np.clip(points.min(axis=0), 0, size)
    high = np.clip(points.max(axis=0), 0, size)
    assert np.all(np.abs(np.array([ours.x, ours.y]) - low) <= 1.0)
    assert np.all(np.abs(np.array([ours.right, ours.bottom]) - high) <= 1.0)
    assert ours.x <= low[0] + 1e-4
    assert ours.right >= high[0] - 1e-4
    assert ours.x >= 0
    assert ours.right <= size[0]
    assert ours.bottom <= size[1]


def test_lines_readings_and_placings_are_found_by_number():
    report = programme()
    assert report.line(3).number == 3
    assert report.reading(3).text.startswith("Saturday the the")
    assert report.placed(3) == report.copy.paragraphs[2]
    assert report.line(0) is None
    assert report.reading(99) is None
    assert report.placed(0) is None
