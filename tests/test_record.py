"""The record of a proof: written, read back, written again; and changed, refused."""

import json
import types
from collections.abc import Mapping
from dataclasses import fields, is_dataclass, replace
from enum import StrEnum
from typing import Union, get_args, get_origin, get_type_hints

import jsonschema
import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from report_cases import programme

from proofcheck.base import found, values
from proofcheck.base.errors import RecordError
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Grey, Sheet, Span
from proofcheck.docket.docket_errors import DocketError
from proofcheck.docket.given import report_at
from proofcheck.recast import change, cost, handset, plan
from proofcheck.results.proof_record import read_record, report_from_json, report_from_text
from proofcheck.results.report import Provenance, Report
from proofcheck.results.report_json import (
    report_schema,
    report_text,
    report_to_json,
    unreadable_text,
)
from proofcheck.results.sealing import laid_out, sealed
from tests.lab.recordschema import with_record

# ------------------------------------------------------------------ any report at all

NAMES = {"Kind": Kind, "Mapping": Mapping}
for module in (values, found, change, cost, handset, plan):
    NAMES |= vars(module)

texts = st.text(max_size=8) | st.sampled_from(["pr\udcfcf.png", '\n "record": 0', "\x00", "‸’ﬁ"])
whole = st.integers(-(10**6), 10**6)
maps = st.lists(st.floats(-1e3, 1e3), min_size=6, max_size=6).map(
    lambda six: np.array([six[:3], six[3:], [0.0, 0.0, 1.0]])
)
plain = st.none() | st.booleans() | whole | texts | st.floats(allow_nan=False, allow_infinity=False)
sides = st.integers(1, 40)
SIMPLE = {
    str: texts,
    int: whole,
    float: st.floats(),
    bool: st.booleans(),
    types.NoneType: st.none(),
    Grey: st.builds(lambda height, width: np.full((height, width), 7, np.uint8), sides, sides),
    NDArray[np.float64]: maps,
}


def any_of(kind):
    """Any value of a type as it is annotated: written here a second time, to check the first."""
    origin, inner = get_origin(kind), get_args(kind)
    if kind in SIMPLE:
        return SIMPLE[kind]
    if origin in (Union, types.UnionType):
        return plain if str in inner and int in inner else st.one_of(*map(any_of, inner))
    if origin is tuple:
        many = st.lists(any_of(inner[0]), max_size=2).map(tuple)
        return many if inner[-1] is Ellipsis else st.tuples(*map(any_of, inner))
    if origin is Mapping:
        return st.dictionaries(texts, any_of(inner[1]), max_size=3)
    if issubclass(kind, StrEnum):
        return st.sampled_from(kind)
    hints = get_type_hints(kind, localns=NAMES)
    names = [f.name for f in fields(kind)] if is_dataclass(kind) else kind._fields
    return st.builds(kind, **{name: any_of(hints[name]) for name in names})


def with_sheets_there(report):
    """The report with its sheets numbered, and everything on one of them."""
    sheets = tuple(replace(sheet, number=n) for n, sheet in enumerate(report.sheets))
    if not sheets:
        return replace(report, sheets=(), lines=(), faults=(), let_go=(), unread=())
    put = {
        part: tuple(replace(each, sheet=each.sheet % len(sheets)) for each in getattr(report, part))
        for part in ("lines", "faults", "let_go", "unread")
    }
    return replace(report, sheets=sheets, **put)


NAMES |= {"Provenance": Provenance, "Report": Report, "RecastPlan": plan.RecastPlan}
reports = any_of(Report).map(with_sheets_there)
often = settings(
    max_examples=60,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)


@often
@given(reports)
def test_written_read_and_written_again_is_the_same_bytes(report):
    text = report_text(report)
    back = report_from_text(text)
    assert report_text(back) == text
    for field in fields(Report):
        if field.name != "sheets":
            assert repr(getattr(back, field.name)) == repr(getattr(report, field.name))
    for sheet, was in zip(back.sheets, report.sheets, strict=True):
        assert np.array_equal(sheet.to_scan, was.to_scan)
        assert sheet.image.shape == was.image.shape
        assert [p.box for p in sheet.panels] == [p.box for p in was.panels]
        assert [(p.box, p.look) for p in sheet.lifted] == [(p.box, p.look) for p in was.lifted]
        told = [field.name for field in fields(Sheet) if field.name not in PICTURED]
        assert all(repr(getattr(sheet, n)) == repr(getattr(was, n)) for n in told)
        assert not sheet.pictured
        assert was.pictured


PICTURED = {"image", "to_scan", "panels", "lifted"}


def test_figures_out_of_arrays_are_written_as_figures():
    report = programme()
    first = report.readings[0]
    letter = replace(first.letters[0], box=Box(*np.arange(4)), certainty=np.float32(0.1))
    reading = replace(first, letters=(letter,))
    text = report_text(replace(report, readings=(reading,)))
    (back,) = report_from_text(text).readings
    assert back.letters[0].box == (0, 1, 2, 3)
    # IEEE 754: single precision's nearest to 0.1, in double precision.
    assert back.letters[0].certainty == 0.10000000149011612


def test_floats_keep_every_digit():
    # IEEE 754, double precision: the least number above 1 and the least above 0.
    report = programme()
    odd = (1 + 2**-52, 5e-324, -0.0)
    line = replace(report.lines[0], baseline=odd[:2], x_height_px=odd[2])
    back = report_from_text(report_text(replace(report, lines=(line, *report.lines[1:]))))
    assert repr(back.lines[0].baseline) == repr(odd[:2])
    assert repr(back.lines[0].x_height_px) == "-0.0"


def test_a_proof_refused_unread_has_a_record_too():
    text = unreadable_text("the sheet is blank")
    assert report_text(report_from_text(text)) == text


# ------------------------------------------------------------------ changed since

TEXT = report_text(programme())


@settings(max_examples=300)
@given(st.integers(0, len(TEXT) - 1), st.integers(0, 255), st.sampled_from(["put", "in", "out"]))
def test_one_byte_changed_is_refused(tmp_path_factory, at, byte, how):
    data = TEXT.encode("ascii")
    spoilt = data[:at] + (b"" if how == "out" else bytes([byte])) + data[at + (how != "in") :]
    path = tmp_path_factory.mktemp("record") / "r.json"
    path.write_bytes(spoilt)
    if spoilt == data:
        assert report_text(read_record(path)) == TEXT
        return
    with pytest.raises(RecordError) as told:
        read_record(path)
    assert "\n" not in str(told.value)


def test_white_space_and_the_version_are_under_the_seal_too():
    for spoilt in (TEXT.replace("\n ", "\n\t", 1), TEXT.rstrip("\n"), TEXT + " "):
        with pytest.raises(RecordError, match="its text was changed"):
            report_from_text(spoilt)
    with pytest.raises(RecordError, match="says version 1"):
        report_from_text(TEXT.replace('"report": 2', '"report": 1'))
    with pytest.raises(RecordError, match="digest is missing"):
        report_from_text(TEXT.replace('"digest"', '"digestt"'))
    assert laid_out(json.loads(TEXT)) == TEXT


@pytest.mark.parametrize(
    ("change_it", "told"),
    [
        (lambda r: r["faults"][0].update(line=3), "faults is not what its record says"),
        (lambda r: r["lines"].pop(), "lines is not what its record says"),
        (lambda r: r["record"]["faults"].pop(), "counts is not what its record says"),
        (lambda r: r["record"]["faults"][0].update(sheet=9), "what it does not hold"),
        (lambda r: r["record"]["lines"][0].update(tint=1), "tint is not known here"),
        (lambda r: r["record"]["lines"][0].pop("box"), r"lines\[0\].box is missing"),
        (lambda r: r["record"]["lines"][0]["box"].pop(), "box has not 4 values"),
        (lambda r: r["record"]["lines"][0].update(number=1.0), "number is no integer"),
        (lambda r: r["record"]["sheets"][0].update(image=[1 << 40, 3]), "no size of a picture"),
        (lambda r: r["record"].update(verdict="fine"), "verdict is none of those"),
        (lambda r: r.update(record=[]), "record is no group of values"),
    ],
)
def test_sealed_anew_it_must_still_agree_with_itself(change_it, told):
    spoilt = json.loads(TEXT)
    change_it(spoilt)
    with pytest.raises(RecordError, match=told):
        report_from_json(sealed(spoilt))


def test_a_record_of_a_version_that_told_less_is_read():
    told = json.loads(TEXT)
    del told["faults"][0]["other_lines"]
    del told["record"]["let_go"]
    assert report_from_json(sealed(told)).let_go == ()


def test_what_is_no_record_is_refused(tmp_path):
    with pytest.raises(RecordError, match="can't be read"):
        read_record(tmp_path / "none.json")
    for text in ("", "[]", "{}", "nul", "[" * 9000, '{"report": 2}'):
        (tmp_path / "r.json").write_text(text)
        with pytest.raises(RecordError, match="can't be used"):
            read_record(tmp_path / "r.json")


# ------------------------------------------------------------------ the contract


def version_1(report):
    old = {n: v for n, v in report.items() if n not in {"record", "digest"}}
    return {**old, "report": 1}


def test_version_1_is_still_a_report_but_too_little_to_draw_from(tmp_path):
    old = version_1(report_to_json(programme()))
    jsonschema.Draft202012Validator(report_schema()).validate(old)
    path = tmp_path / "old.json"
    path.write_text(json.dumps(old))
    with pytest.raises(DocketError, match="no record of a reading"):
        report_at(path)
    assert report_at(path, by_hand=True) == old
    with pytest.raises(RecordError, match="version 1"):
        report_from_json(old)


def test_the_docket_takes_version_2_and_none_that_was_changed(tmp_path):
    path = tmp_path / "report.json"
    path.write_text(TEXT)
    assert report_at(path) == json.loads(TEXT)
    path.write_text(TEXT.replace("SATURDAY", "SUNDAY").replace("summer", "winter"))
    with pytest.raises(DocketError, match="was changed since it was written"):
        report_at(path)
    for missing in ("digest", "record"):
        path.write_text(json.dumps({n: v for n, v in json.loads(TEXT).items() if n != missing}))
        with pytest.raises(DocketError, match=f"{missing} is missing"):
            report_at(path)


def test_the_schema_has_the_record_as_it_is_written():
    # Where this fails a value has a new field: python -m tests.lab.recordschema
    assert report_schema() == with_record(report_schema())


def test_a_record_of_everything_keeps_to_the_schema():
    slug = change.NewSlug("the green,", 240.0, 0.0, 3.2, 10.0, 1, True, True, False)
    recast_plan = plan.RecastPlan(
        (change.Change((2,), 1, (slug,), ("F1",), "will", "green,", 12.0),),
        (plan.TakenOut(3, "F2"),), (plan.Move(4, 2, "F3"),), (plan.StoneWork(1, "push", "F4"),),
        cost.Toll(1, 24.0, 0.5, 0, 0.0), 2, handset.SortsWanted({"e": 2}, (("e", 9, 8),), (2,)),
        ("a note",), ("a query",), True,
    )  # fmt: skip
    report = programme(
        plan=recast_plan,
        let_go=(found.LetGo(Kind.CASE, 1, 0, Box(0, 0, 1, 1), Span(0, 1), "t", "T", 0.1, "so"),),
        unread=(found.Unread(0, Box(1, 2, 3, 4), "40 × 12 mm at the foot"),),
    )
    told = report_to_json(report)
    jsonschema.Draft202012Validator(report_schema()).validate(told)
    assert report_from_json(told).plan == recast_plan
    spoilt = {**told, "record": {**told["record"], "readings": [{"line": 1, "letters": [["a"]]}]}}
    assert not jsonschema.Draft202012Validator(report_schema()).is_valid(spoilt)
