"""Reports and archives from outside: of the right shape to the last value, or refused.

And what is on record already and can't be read never breaks the list of the shop.
"""

from __future__ import annotations

import copy
import io
import json
import zipfile

import jsonschema
import pytest
from docket_cases import JOB, begun, decide_all, ok, pull, quick_folder, report_on
from hypothesis import given, settings
from hypothesis import strategies as st
from report_cases import programme

from proofcheck.base.errors import SettingError
from proofcheck.docket import export_job, import_job, open_docket, open_job, verify
from proofcheck.docket.archive import read_archive
from proofcheck.docket.canonical import canonical, sha256_of
from proofcheck.docket.chain import Draft, add_entry
from proofcheck.docket.docket_errors import ArchiveError, DocketError
from proofcheck.docket.figures import figures_of, figures_text
from proofcheck.docket.given import report_at, report_trouble
from proofcheck.docket.shapes import entry_misfit, fit_of, report_misfit
from proofcheck.docket.shop import load_shop
from proofcheck.docket.show import day_text, list_text
from proofcheck.results.report_json import report_schema, report_to_json

ODD = (None, True, -1, 0.5, "x", "", [], {}, [[]], {"a": 1}, 10**30, "\ud800")


@pytest.fixture
def tmp_path():
    with quick_folder() as folder:
        yield folder


def places(value, at=()):
    """Every place in a JSON value, outermost first."""
    yield at
    if isinstance(value, dict | list):
        for key in value if isinstance(value, dict) else range(len(value)):
            yield from places(value[key], (*at, key))


def put(value, at, new):
    """The value with another at one place."""
    if not at:
        return new
    out = copy.copy(value)
    out[at[0]] = put(value[at[0]], at[1:], new)
    return out


REPORT = report_to_json(programme())
PLACES = list(places(REPORT))


# ------------------------------------------------------------------ reports


@given(st.sampled_from(PLACES), st.sampled_from(ODD))
@settings(max_examples=400)
def test_a_report_fits_where_another_reader_of_the_schema_says_so(at, odd):
    """Held against the jsonschema library (JSON Schema, draft 2020-12)."""
    report = put(REPORT, at, odd)
    right = jsonschema.Draft202012Validator(report_schema()).is_valid(report)
    assert (report_misfit(report) == "") == right


@given(st.sampled_from([at for at in PLACES if at]))
@settings(max_examples=200)
def test_a_report_that_lacks_a_value_fits_where_another_reader_says_so(at):
    report = copy.deepcopy(REPORT)
    held = report
    for key in at[:-1]:
        held = held[key]
    del held[at[-1]]
    right = jsonschema.Draft202012Validator(report_schema()).is_valid(report)
    assert (report_misfit(report) == "") == right


def test_a_schema_with_a_word_not_understood_is_refused_rather_than_let_pass():
    with pytest.raises(ValueError, match="contains"):
        fit_of({"type": "array", "contains": {"type": "string"}})


@pytest.mark.parametrize("figure", [float("nan"), float("inf"), 1.0])
def test_figures_are_whole_where_they_must_be_and_never_none(figure):
    report = put(REPORT, ("faults", 0, "line"), figure)
    assert "faults[0].line is no whole number" in report_misfit(report)
    if figure != 1.0:
        assert report_misfit(put(REPORT, ("agreement",), figure))


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda r: r["counts"].update(faults=0), "not as many as it counts"),
        (lambda r: r.update(verdict="clean"), "verdict"),
        (lambda r: r.update(verdict="queries"), "verdict"),
        (lambda r: r["faults"][1].update(id="F1"), "named twice"),
        (lambda r: r["faults"][0].update(line=99), "a line that is not there"),
        (lambda r: r["faults"][0].update(scan=1), "a scan that is not there"),
        (lambda r: r["lines"][0].update(copy=[9, 3]), "stretch of copy"),
        (lambda r: r["lines"][0].update(copy=[0, 10**9]), "stretch of copy"),
        (lambda r: r["lines"][0].update(number=2), "numbered twice"),
        (
            lambda r: r.update(faults=[], counts={"faults": 0, "queries": 0},
                               verdict="not-wholly-read"),
            "verdict",
        ),
    ],
)  # fmt: skip
def test_a_report_at_odds_with_itself_is_refused(change, told):
    report = copy.deepcopy(REPORT)
    assert report_trouble(report) == ""
    change(report)
    assert told in report_trouble(report)


@pytest.mark.parametrize(
    "text",
    ["", "{", "[1]", "null", "NaN", '{"report": 1, "agreement": NaN}', "[" * 9000, "9" * 9000],
)
def test_what_is_no_report_is_refused_in_one_line(tmp_path, text):
    path = tmp_path / "report.json"
    path.write_text(text)
    with pytest.raises(DocketError, match="is no report of a proof") as caught:
        report_at(path)
    assert "\n" not in str(caught.value)
    with pytest.raises(DocketError, match="can't be read"):
        report_at(tmp_path / "none.json")


def test_a_hand_made_report_of_nothing_proves_nothing(tmp_path):
    docket = begun(tmp_path)
    with pytest.raises(DocketError, match="faults is no list"):
        pull(docket, more=lambda report: report.update(faults="none"))
    with pytest.raises(DocketError, match="copy that is not on the docket"):
        pull(docket, faults=False, more=lambda report: report["copy"].update(characters=3000))


# ------------------------------------------------------------------ archives


def whole_job(folder):
    docket = begun(folder)
    pull(docket)
    decide_all(docket, "stand")
    ok(docket)
    return export_job(docket, JOB, folder / "job.zip")


def forged(archive, change, *, canonically=True):
    """An archive made anew, entries changed, chained and sealed rightly."""
    with zipfile.ZipFile(archive) as held:
        files = {name: held.read(name) for name in held.namelist()}
    about = json.loads(files.pop("job.json"))
    before, last, bodies = "0" * 64, "", []
    for name in sorted(n for n in files if n.startswith("entries/")):
        entry = json.loads(files.pop(name))
        entry["before"] = before
        change(entry)
        body = json.dumps(entry, sort_keys=True, separators=(",", ":")).encode()
        body = canonical(entry) if canonically else body.replace(b'{"at"', b'{"by":"me","at"', 1)
        before = last = sha256_of(body)
        bodies.append(body)
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as anew:
        anew.writestr("job.json", json.dumps({**about, "last": last}))
        for place, body in enumerate(bodies, 1):
            anew.writestr(f"entries/{place:06d}.json", body)
        for name, data in files.items():
            anew.writestr(name, data)
        anew.comment = b"proofcheck job archive, sha256 " + b"0" * 64
    data = out.getvalue()[:-64]
    unsealed = data[: -len(b"proofcheck job archive, sha256 ")]
    path = archive.with_name("forged.zip")
    path.write_bytes(data + sha256_of(unsealed).encode())
    return path


def test_an_archive_forged_to_no_harm_is_read(tmp_path):
    assert read_archive(forged(whole_job(tmp_path), lambda entry: None)).job == JOB


def of_kind(kind, change):
    def changed(entry):
        if entry["kind"] == kind:
            change(entry["data"])

    return changed


@pytest.mark.parametrize(
    "change",
    [
        of_kind("opened", lambda data: data["details"].update(customer=["a", "b"])),
        of_kind("opened", lambda data: data.update(details=[1])),
        of_kind("copy", lambda data: data.update(alterations=[7])),
        of_kind("copy", lambda data: data.update(new_slugs="many")),
        of_kind("proof", lambda data: data["found"][0].update(line="4")),
        of_kind("proof", lambda data: data["found"][0].update(copy=[1])),
        of_kind("proof", lambda data: data["found"][0].update(status="sound")),
        of_kind("proof", lambda data: data.update(people=[])),
        of_kind("proof", lambda data: data.update(copy=9)),
        of_kind("proof", lambda data: data.update(verdict="mismatch")),
        of_kind("proof", lambda data: data["read"].update(held=[["a", "b"]])),
        of_kind("proof", lambda data: data.update(scans=[])),
        of_kind("decided", lambda data: data.update(fault="1/F99")),
        of_kind("decided", lambda data: data.update(what={})),
        of_kind("signed", lambda data: data.update(proof=3)),
        of_kind("signed", lambda data: data.update(words="fine")),
        lambda entry: entry.update(kind="amended") if entry["kind"] == "signed" else None,
        lambda entry: entry.update(kind="withdrawn") if entry["kind"] == "signed" else None,
        lambda entry: entry.update(originals=[{"sha256": "../../x", "name": "x", "bytes": 1}]),
        lambda entry: entry.update(place=10**25),
        lambda entry: entry.update(place=str(entry["place"])),
        lambda entry: entry.update(at="yesterday"),
        lambda entry: entry.update(by=7),
        lambda entry: entry.update(data=[]),
    ],
)
def test_an_archive_of_odd_values_is_refused_in_one_line(tmp_path, change):
    archive = forged(whole_job(tmp_path), change)
    (tmp_path / "there").mkdir()
    there = open_docket(tmp_path / "there" / "docket.db", create=True)
    with pytest.raises(ArchiveError) as caught:
        import_job(there, archive, by="X.Y.")
    assert "\n" not in str(caught.value)
    assert there.jobs() == ()


def test_an_entry_that_two_programs_could_read_in_two_ways_is_refused(tmp_path):
    archive = forged(whole_job(tmp_path), lambda entry: None, canonically=False)
    with pytest.raises(ArchiveError, match="not written as entries are"):
        read_archive(archive)


def test_every_kind_of_entry_has_a_shape_and_what_is_recorded_keeps_to_it(tmp_path):
    archive = read_archive(whole_job(tmp_path))
    for entry in archive.chain:
        assert entry_misfit(entry.kind, entry.data) == ""
    assert entry_misfit("withdrawn", {}) == "it is of a kind not known here"


# ------------------------------------------------------------------ on record already


@pytest.mark.parametrize(
    ("kind", "data"),
    [
        ("amended", {"details": {"customer": 7}}),
        ("amended", {}),
        ("proof", {"copy": 99}),
        ("decided", {"fault": "1/F99", "what": "stand"}),
        ("imported", {"job": 1}),
    ],
)
def test_an_entry_that_makes_no_sense_is_shown_as_such_and_the_list_goes_on(tmp_path, kind, data):
    docket = begun(tmp_path)
    open_job(docket, "2041", {"customer": "The mill"}, by="P.C.")
    with docket.store.writing() as connection:
        add_entry(connection, JOB, Draft(kind, "X", data), docket.clock(), "UTC +00:00")
    told = list_text(docket.jobs())
    assert "The mill" in told
    assert "the record is broken; run verify" in told
    # What was decided makes no sense beside the others only: by itself it can be read.
    day = day_text(docket.entries(), docket.clock().date(), docket.shop)
    assert ("NOT TO BE READ" in day) == (kind != "decided")
    assert figures_text(figures_of(docket.jobs(), docket.shop))
    with pytest.raises(DocketError, match="makes no sense"):
        docket.job(JOB)
    assert docket.job("2041").details


def test_a_row_that_was_changed_breaks_its_own_job_alone(tmp_path):
    import sqlite3

    docket = begun(tmp_path)
    open_job(docket, "2041", {"customer": "The mill"}, by="P.C.")
    held = sqlite3.connect(tmp_path / "docket.db")
    held.execute("UPDATE docket_entries SET body = x'7b' WHERE number = 1")
    held.commit()
    held.close()
    told = list_text(docket.jobs())
    assert "The mill" in told
    assert "the record is broken" in told
    assert verify(docket).troubles


# ------------------------------------------------------------------ the shop's settings


@pytest.mark.parametrize(
    "text",
    [
        "minutes_a_slug = nan", "minutes_a_slug = inf", "hour_costs = '-Infinity'",
        "hour_costs = 'sNaN'", "minutes_a_change = " + "9" * 400, "hour_costs = " + "9" * 5000,
        "hour_costs = 1e400", "zone = " + "[" * 3000 + "]" * 3000, 'zone = "\\u0000"',
        "zone = '../../UTC'", "name = 7", "minutes_a_slug = 2026-05-04",
        "zone = '" + "x" * 9000 + "'", "operators_in_figures = 1",
    ],
)  # fmt: skip
def test_odd_values_in_the_shops_settings_are_one_line(tmp_path, text):
    path = tmp_path / "docket.toml"
    path.write_text(text)
    with pytest.raises(SettingError) as caught:
        load_shop(path)
    assert "\n" not in str(caught.value)
    assert len(str(caught.value)) < 300


def test_report_on_keeps_to_the_schema(tmp_path):
    """The cases the other tests rest on are such as are taken in."""
    docket = begun(tmp_path)
    assert report_trouble(report_on(docket)) == ""
    assert report_trouble(report_on(docket, faults=False)) == ""
