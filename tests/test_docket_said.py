"""What the docket says of proofs and of its own record, word for word, and on what it rests.

The parts are asked by themselves, with a job's rows and a proof's reading put in by hand.
"""

from __future__ import annotations

import importlib
import json
from collections import defaultdict
from types import SimpleNamespace

import pytest

from proofcheck.docket import agreeing, proved, unproved
from proofcheck.docket.agreeing import at_odds, reports_on, unnamed
from proofcheck.docket.canonical import sha256_of
from proofcheck.docket.chain import HOUSE, START, link
from proofcheck.docket.job import Job, _within
from proofcheck.docket.vouching import facts_of

verify = importlib.import_module("proofcheck.docket.verify")
"""The module; the room hands out a function of that name."""

SCAN, REPORT, COPY = "5" * 64, "7" * 64, "c" * 64
FOUND = {"id": "F1", "status": "fault", "charge": "PE"}


def read(**more):
    """How a proof was read, as the record has it."""
    held = {
        "how": "here", "version": "1.0", "reader": "letters", "reader_version": "3",
        "settings": {}, "held": [], "unread": [], "let_go": 0, "notes": [],
    }  # fmt: skip
    return held | more


# --- an entry held against its report -------------------------------------------------------------


@pytest.fixture
def odds(tmp_path, monkeypatch):
    """Tells what is at odds between an entry and its report, each as they should be but for one."""
    monkeypatch.setattr(agreeing, "entry_misfit", lambda *_: "")
    monkeypatch.setattr(agreeing, "fault_data", lambda fault: fault)
    monkeypatch.setattr(agreeing, "read_data", lambda report, **_: report["read"])
    path = tmp_path / "report"

    def told(*, data=None, report=None, text=None, originals=None):
        held = {
            "scans": [{"sha256": SCAN, "page": 0}], "copy": {"sha256": COPY}, "verdict": "faults",
            "faults": [FOUND], "read": read(),
        }  # fmt: skip
        path.write_text(text or json.dumps(held | (report or {})), encoding="utf-8")
        own = {
            "report": REPORT, "scans": [{"sha256": SCAN, "page": 0}], "copy": 1,
            "verdict": "faults", "found": [FOUND], "read": read(),
        }  # fmt: skip
        copy = SimpleNamespace(kind="copy", originals=[{"sha256": COPY}])
        proof = SimpleNamespace(
            kind="proof", number=4, job="1042", data=own | (data or {}),
            originals=originals or [{"sha256": SCAN}, {"sha256": REPORT}],
        )  # fmt: skip
        docket = SimpleNamespace(originals=SimpleNamespace(path=lambda _: path))
        return at_odds(docket, [copy, proof])

    return told


def test_an_entry_that_is_as_its_report_has_it_is_at_odds_with_nothing(odds):
    assert odds() == []
    # Who bears the charge is reckoned anew; what a revise showed is in no report.
    assert odds(report={"faults": [FOUND | {"charge": "AA"}]}) == []
    assert odds(data={"found": [FOUND, {"id": "R1", "status": "revise"}]}) == []
    # What an older version did not put on record says nothing against it.
    assert odds(data={"read": None}) == []
    assert odds(report={"read": read(ems=400, program="x")}) == []


@pytest.mark.parametrize(
    ("other", "words"),
    [
        ({"text": "[]"}, "its report is none"), ({"text": "{"}, "its report is none"),
        ({"text": "{}"}, "its report is none"),
        ({"originals": [{"sha256": SCAN}]}, "its scans or its report are not among its originals"),
        ({"originals": [{"sha256": REPORT}]},
         "its scans or its report are not among its originals"),
        ({"report": {"scans": [{"sha256": "6" * 64, "page": 0}]}}, "its report is on other scans"),
        ({"report": {"scans": [{"sha256": SCAN, "page": 1}]}}, "its report is on other scans"),
        ({"report": {"copy": {"sha256": "d" * 64}}}, "its report is on other copy"),
        ({"data": {"copy": 2}}, "its report is on other copy"),
        ({"report": {"verdict": "clean"}}, "its report says clean, the record faults"),
        ({"data": {"found": []}}, "its report tells of F1, which is not on the record"),
        ({"report": {"faults": []}}, "its report has no F1, which stands on the record"),
        ({"report": {"faults": [FOUND | {"line": 3}]}},
         "F1 is not on the record as its report has it"),
        ({"report": {"read": read(let_go=1)}},
         "its report has it otherwise with what it was read (let_go)"),
        ({"data": {"read": {k: v for k, v in read().items() if k != "reader"}}},
         "its report has it otherwise with what it was read (reader)"),
    ],
)  # fmt: skip
def test_what_an_entry_and_its_report_say_otherwise_is_told(odds, other, words):
    assert odds(**other) == [f"entry 4 (job 1042) is at odds: {words}"]


def test_reports_that_no_entry_names_are_known_by_what_they_are_on(tmp_path):
    texts = {
        "a": json.dumps({"copy": {"sha256": COPY}, "scans": []}),
        "b": json.dumps({"copy": {"sha256": "0"}, "scans": [{"sha256": SCAN}]}),
        "c": json.dumps({"copy": {"sha256": "0"}, "scans": [{"sha256": "1"}]}),
        "d": "no report", "e": "{", "f": "{}",
    }  # fmt: skip
    for name, text in texts.items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    originals = SimpleNamespace(path=lambda name: tmp_path / name, held=lambda: [*texts])
    docket = SimpleNamespace(originals=originals)
    assert unnamed(docket, ["b", "f"]) == ("a", "c", "d", "e")
    assert reports_on(docket, [COPY], [*texts, "gone"]) == ("a",)
    assert reports_on(docket, [COPY, SCAN], [*texts, "gone"]) == ("a", "b")
    assert reports_on(docket, [], texts) == ()


# --- the rows of the record -----------------------------------------------------------------------


def checked(monkeypatch, *, place=1, before=START, troubles=(), **other):
    """What is said of one row, which is as it should be but for one thing."""
    monkeypatch.setattr(
        verify, "entry_of",
        lambda body, number: SimpleNamespace(job=body.decode().split("|")[0], place=2)
        if b"bad" not in body else (_ for _ in ()).throw(ValueError),
    )  # fmt: skip
    job = other.get("job", "1042")
    body = other.get("body", f"{other.get('says', job)}|body".encode())
    sha = other.get("sha256", sha256_of(body if isinstance(body, bytes) else body.encode()))
    number = other.get("number", 1)
    row = verify._Row(
        number, job, other.get("place_in_job", 2), body, sha,
        other.get("book", link(before, number, sha)),
    )  # fmt: skip
    told = list(troubles)
    chains = defaultdict(list)
    book = verify._check_row(row, place, before, told, chains)
    assert book == row.book
    return told[len(troubles) :]


def test_a_row_is_held_against_its_hash_its_place_and_the_one_before(monkeypatch):
    assert checked(monkeypatch) == []
    assert checked(monkeypatch, number=3) == ["an entry before entry 3 is missing (there are 0)"]
    assert checked(monkeypatch, number=3, troubles=["entry 2 is missing"]) == []
    assert checked(monkeypatch, body="1042|body") == ["entry 1 is not stored as it was recorded"]
    changed = checked(monkeypatch, sha256="0" * 64)
    assert changed[0] == "entry 1 (job 1042) has been changed"
    (own,) = checked(monkeypatch, sha256="0" * 64, job=HOUSE, says=HOUSE)[:1]
    assert own == "entry 1 (of the docket's own) has been changed"
    assert checked(monkeypatch, body=b"bad") == ["entry 1 can't be read as an entry"]
    elsewhere = "entry 1 is filed under another job or place than its own"
    assert checked(monkeypatch, says="7") == [elsewhere]
    assert checked(monkeypatch, place_in_job=3) == [elsewhere]
    assert checked(monkeypatch, book="0" * 64) == [
        "entry 1 does not follow on the entry before it in the docket"
    ]


def test_the_last_link_is_that_of_the_last_entry():
    def said(rows, *end):
        return verify._check_end(
            [SimpleNamespace(only=only, number=n, book=book) for only, n, book in end],
            [SimpleNamespace(number=n, book=book) for n, book in rows],
        )

    rows = [(1, "a"), (2, "b")]
    assert said(rows, (1, 2, "b")) == []
    assert said([], (1, 0, START)) == []
    missing = ["the docket's last link is missing"]
    assert said(rows) == said(rows, (2, 2, "b")) == said(rows, *[(1, 2, "b")] * 2) == missing
    assert said(rows, (1, 5, "e")) == ["entry 3 and all after it, up to entry 5, have been removed"]
    assert said([], (1, 5, "e")) == ["entry 1 and all after it, up to entry 5, have been removed"]
    other = ["the docket's last link is not that of its last entry (2)"]
    assert said(rows, (1, 2, "x")) == said(rows, (1, 1, "b")) == other


def test_originals_are_named_once_with_what_they_are():
    def entry(job, *names):
        return SimpleNamespace(
            job=job, originals=[{"name": name, "sha256": sha} for name, sha in names]
        )

    held = [entry("7", ("a.png", "1"), ("b.txt", "2")), entry("8", ("c.png", "1"))]
    assert verify._originals_of(held) == {"1": "a.png of job 7", "2": "b.txt of job 7"}
    docket = SimpleNamespace(
        originals=SimpleNamespace(trouble=lambda sha: "is gone" if sha == "2" else "")
    )
    assert verify.check_originals(docket, [held]) == (
        2, ["the original b.txt of job 7 (2…) is gone"],
    )  # fmt: skip


# --- how a proof was read -------------------------------------------------------------------------


def proof(number=1, *, how_read=None, verdict="faults", copy=1, found=(), name="first proof"):
    return SimpleNamespace(
        number=number, name=name, read=read() if how_read is None else how_read, verdict=verdict,
        hashes=(SCAN,), report_sha256=REPORT, copy=copy, found=found,
    )  # fmt: skip


def reasons(one):
    return [(each.key, each.words) for each in unproved._of_proof(one)]


def settings(**changed):
    usual = {"fault_certainty": "0.5", "query_certainty": "0.02"}
    return {name: text for name, text in (usual | changed).items() if text is not None}


def test_how_a_proof_was_read_is_said_where_it_is_not_as_usual():
    plain = read(settings=settings())
    assert reasons(proof(how_read=plain)) == []
    older = proof()
    older.read = None
    assert reasons(older) == [
        ("not-said:1", ("the record does not say how the first proof was read: an older version "
         "recorded it")),
    ]  # fmt: skip
    by_person = proof(how_read=plain | {"how": "person", "by": "A. Mason"})
    assert reasons(by_person) == [
        ("by-person:1", "the first proof was read by a person, A. Mason, and by no program"),
    ]  # fmt: skip
    taken = proof(2, how_read=plain | {"how": "taken-in"}, name="revise")
    assert reasons(taken) == [
        ("taken-in:2", ("the report on the revise was taken in, not read here (proofcheck 1.0, "
         "reader letters 3, as it says)")),
    ]  # fmt: skip
    assert proved.how_taken(taken) == (
        "the record of a reading made elsewhere (proofcheck 1.0, reader letters 3, as it says)"
    )
    assert proved.how_taken(proof(how_read=plain)) == ""


def test_ink_not_read_is_named_four_times_and_then_counted():
    def said(*unread, verdict="faults"):
        return [words for _, words in reasons(
            proof(how_read=read(settings=settings(), unread=list(unread)), verdict=verdict)
        )]  # fmt: skip

    assert said() == []
    assert said(verdict="not-wholly-read") == ["not read on the first proof: some of its ink"]
    assert said("a stain") == ["not read on the first proof: a stain"]
    assert said(*"abcd") == ["not read on the first proof: a; b; c; d"]
    assert said(*"abcdef") == ["not read on the first proof: a; b; c; d; 2 places more"]
    (one,) = unproved._of_proof(proof(how_read=read(settings=settings(), unread=["a stain"])))
    assert one.facts == facts_of("unread", {"scans": [SCAN], "report": REPORT})


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({}, []),
        ({"fault_certainty": "0.4"}, []), ({"query_certainty": "0.01"}, []),
        ({"fault_certainty": "0.9"},
         [("no difference called a fault that is less sure than 0.9; usual is 0.5 "
          "(fault_certainty)")]),
        ({"query_certainty": "0.3"},
         [("differences less sure than 0.3 let go as slips of the reading; usual is 0.02 "
          "(query_certainty)")]),
        ({"fault_certainty": None},
         [("no difference called a fault that is less sure than what is not said; usual is 0.5 "
          "(fault_certainty)")]),
        ({"second_look": "false"}, ["without the second look"]),
        ({"type_too": "false"}, ["the type itself not looked at"]),
        ({"unfit": "true"}, ["though the sheet is not fit to be judged"]),
        ({"weights": '"other.onnx"'}, ["with other weights"]),
        ({"weights": '""'}, []), ({"weights": "null"}, []),
        ({"allowed": '"division-run, folio"'},
         ["letting pass more than two divisions running, folio (allowed)"]),
        ({"allowed": '""'}, []),
    ],
)  # fmt: skip
def test_choices_under_which_less_is_found_are_named(changed, words):
    assert proved.laxness(proof(how_read=read(settings=settings(**changed)))) == words


def test_another_reader_is_named_and_the_engine_called_so():
    for reader, words in (
        ("letters", []), ("tesseract", ["by the OCR engine alone"]),
        ("mine", ["by the reader 'mine'"]),
    ):  # fmt: skip
        one = proof(how_read=read(settings=settings(), reader=reader))
        assert proved.laxness(one) == words
        assert bool(proved.lax_choices(one)) == bool(words)


def test_the_record_says_of_a_report_with_what_it_was_read_and_how_much():
    report = {
        "made": {"version": "1.0", "reader": "letters", "reader_version": "3",
                 "settings": {"part": True}, "program": "proofcheck"},
        "scans": [{"turned_deg": 0, "dpi": 300.0}, {"turned_deg": 90, "dpi": 300.0}],
        "unread": [{"words": "a stain", "scan": 1}], "let_go": [{"copy": {"start": 9, "end": 12}}],
        "faults": [{"copy": {"start": 4, "end": 6}}, {"copy": {"start": 6, "end": 6}}],
        "lines": [{"copy": [0, 5], "scan": 0, "box": [0, 0, 3000, 50], "body_pt": 10.0},
                  {"copy": None, "scan": 1, "box": [0, 0, 50, 600], "body_pt": 12.0}],
        "copy": {"notes": ["a note"]},
    }  # fmt: skip
    told = proved.read_data(report, here=True)
    assert (told["how"], told["program"], told["version"]) == ("here", "proofcheck", "1.0")
    assert (told["reader"], told["reader_version"]) == ("letters", "3")
    assert told["settings"] == {"part": "true"}
    assert told["held"] == [[0, 6], [9, 12]]
    assert told["unread"] == ["a stain of sheet 2"]
    assert (told["let_go"], told["notes"]) == (1, ["a note"])
    # Ten inches of 10-point, and two on a sheet turned by a quarter of 12-point: 72.27 to the inch.
    assert told["ems"] == round(10 * 72.27 / 10 + 2 * 72.27 / 12)
    assert "by" not in told
    assert proved.read_data(report, here=False)["how"] == "taken-in"
    by_hand = proved.read_data(report, here=True, person="A. Mason")
    assert (by_hand["how"], by_hand["by"]) == ("person", "A. Mason")
    del report["made"]["program"]
    assert "program" not in proved.read_data(report, here=True)


# --- what is of which proof -----------------------------------------------------------------------


def test_a_place_is_of_a_part_that_it_touches():
    def found(start, end, status="fault"):
        return SimpleNamespace(copy=(start, end), status=status)

    for start, end, within in ((5, 9, False), (5, 10, True), (15, 20, True), (20, 25, True),
                               (21, 25, False)):  # fmt: skip
        assert _within(found(start, end), [(10, 20)]) is within
        assert _within(found(start, end), [(50, 60), (10, 20)]) is within
        assert _within(found(start, end), None)
    # What a revise says of the metal has no place in the copy.
    assert _within(found(0, 0, "revise"), [(10, 20)])
    assert not _within(found(0, 0), [])


def test_a_reference_names_what_was_found_on_that_proof_or_nothing():
    proofs = [
        SimpleNamespace(number=1, found=[SimpleNamespace(id="F1"), SimpleNamespace(id="F2")]),
        SimpleNamespace(number=2, found=[SimpleNamespace(id="F1")]),
    ]
    job = SimpleNamespace(proofs=proofs)
    assert Job.at(job, "1/F2") is proofs[0].found[1]
    assert Job.at(job, "2/F1") is proofs[1].found[0]
    for ref in ("2/F2", "3/F1", "F1", "", "1/"):
        assert Job.at(job, ref) is None


def test_entries_taken_in_are_told_with_where_they_came_from():
    def job(*kinds, **more):
        entries_ = [SimpleNamespace(kind=kind, sha256=str(at)) for at, kind in enumerate(kinds)]
        parts = [
            SimpleNamespace(first=first, last=last, archive="job.zip", by="X.Y.")
            for first, last in more.get("taken", [(1, len(kinds))])
        ]
        return SimpleNamespace(taken_in=parts, entries=entries_)

    for kind in ("proof", "decided", "answered", "signed", "vouched", "copy"):
        (one,) = unproved._from_archives(job("opened", kind))
        assert one.key == "archive:1-2"
        assert one.words == ("entries 1-2 were not recorded here but taken in from job.zip by X.Y.")
        assert one.facts == facts_of("archive", {"entries": ["1"]})
    assert unproved._from_archives(job("opened", "amended")) == []
    assert unproved._from_archives(SimpleNamespace(taken_in=[], entries=[])) == []
    (two,) = unproved._from_archives(
        job("opened", "amended", "opened", "proof", taken=[(1, 1), (3, 4)])
    )
    assert two.key == "archive:1-1,3-4"
    assert two.facts == facts_of("archive", {"entries": ["0", "3"]})
