"""What is given out for other programs: held against the formats' own schemas, and the picture."""

import json
import re
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import cv2
import numpy as np
import pytest
from desk_cases import JOB, with_proof
from lxml import etree
from report_cases import perspective, programme, set_sheet, turned
from test_cli import refused, run

from proofcheck.base.errors import OutputError, SettingError
from proofcheck.base.found import Placing, Status, Unread, Verdict
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Inset, Lifted, no_picture
from proofcheck.docket import decide
from proofcheck.docket.decisions import answer_query
from proofcheck.export_job import Exports, export_from_docket, export_record
from proofcheck.results.exchange.alto_xml import NAMESPACE as ALTO
from proofcheck.results.exchange.alto_xml import alto_xml
from proofcheck.results.exchange.page_xml import NAMESPACE as PAGE
from proofcheck.results.exchange.page_xml import page_xml
from proofcheck.results.exchange.told_sheets import in_xml, told_sheets
from proofcheck.results.exchange.web_annotations import web_annotations
from proofcheck.results.report_json import report_text, unreadable_text

SCHEMAS = Path(__file__).parent / "data" / "schemas"
NOW = datetime(2026, 5, 4, 12, tzinfo=UTC)
IN = {"p": PAGE, "a": ALTO}
MAPS = ["level", 90, 180, 270, "perspective", "mirror"]


@pytest.fixture(scope="module")
def schemas():
    """The published schemas (tests/data/schemas/README.md)."""
    names = {"page": "page-2019-07-15.xsd", "alto": "alto-4-2.xsd"}
    return {key: etree.XMLSchema(etree.parse(SCHEMAS / name)) for key, name in names.items()}


def scanned(how):
    """The programme on a scan that lies this way; its report, and the scan's picture."""
    report = programme()
    sheet = report.sheets[0]
    height, width = sheet.image.shape
    if how == "perspective":
        to_scan, size = perspective(width, height)
    elif how == "mirror":
        to_scan, size = (
            np.array([[-1, 0, width - 1.0], [0, 1, 0], [0, 0, 1]], float),
            (width, height),
        )
    else:
        to_scan, size = turned(width, height, 0 if how == "level" else how)
    scan = replace(sheet.scan, width_px=size[0], height_px=size[1])
    picture = cv2.warpPerspective(sheet.image, to_scan, size, borderValue=255)
    return replace(report, sheets=(replace(sheet, scan=scan, to_scan=to_scan),)), picture


def both(report):
    return [
        tuple(etree.fromstring(make(report, told, NOW)) for make in (page_xml, alto_xml))
        for told in told_sheets(report)
    ]


def valid(schemas, report):
    made = both(report)
    for page, alto in made:
        schemas["page"].assertValid(page)
        schemas["alto"].assertValid(alto)
    return made


def found(element, path):
    return element.xpath(path, namespaces=IN)


def points(text):
    return np.array([[int(side) for side in pair.split(",")] for pair in text.split(" ")])


def annotated(report, replies=()):
    text = web_annotations(report, told_sheets(report), NOW, replies)
    held = json.loads(text)
    return held, held["first"]["items"]


@pytest.mark.parametrize("how", MAPS)
def test_both_keep_to_their_schemas_and_say_the_same(schemas, how):
    report, _ = scanned(how)
    ((page, alto),) = valid(schemas, report)
    words = [found(w, "string(p:TextEquiv/p:Unicode)") for w in found(page, "//p:Word")]
    assert words == found(alto, "//a:String/@CONTENT")
    assert words == " ".join(reading.text for reading in report.readings).split()
    shapes = found(page, "//p:Word/p:Coords/@points")
    assert shapes == found(alto, "//a:String/a:Shape/a:Polygon/@POINTS")


@pytest.mark.parametrize("how", MAPS)
def test_lines_lie_on_their_ink(how):
    report, picture = scanned(how)
    ((page, _),) = both(report)
    for path in ("//p:TextLine/p:Coords", "//p:Glyph/p:Coords", "//p:TextRegion/p:Coords"):
        mask = np.zeros_like(picture)
        for text in found(page, f"{path}/@points"):
            cv2.fillPoly(mask, [points(text).astype(np.int32)], 255)
        ink = picture < 120
        assert np.count_nonzero(ink & (mask > 0)) > 0.985 * np.count_nonzero(ink)


@pytest.mark.parametrize("how", MAPS)
def test_corners_and_baselines_are_where_opencv_puts_them(how):
    report, _ = scanned(how)
    sheet, line = report.sheets[0], report.lines[2]
    ((page, _),) = both(report)
    told = found(page, "//p:TextLine[@id='line-3']")[0]
    box, (left, right) = line.box, line.baseline
    upper, lower = (
        [(box.x, box.y), (box.right, box.y)],
        [(box.right, box.bottom), (box.x, box.bottom)],
    )
    ends = [(box.x, left), (box.right, right)]
    for path, corners in (("p:Coords", upper + lower), ("p:Baseline", ends)):
        edges = np.array([corners], np.float64) - 0.5
        wanted = cv2.perspectiveTransform(edges, sheet.to_scan)[0] + 0.5
        assert np.abs(points(found(told, f"{path}/@points")[0]) - wanted).max() <= 0.5


def test_a_line_has_its_text_as_printed_and_as_the_copy_has_it():
    ((page, _),) = both(programme())
    line = found(page, "//p:TextLine")[1]
    texts = [(e.get("index"), found(e, "string(p:Unicode)")) for e in found(line, "p:TextEquiv")]
    assert texts == [
        ("0", "will give its snmmer concert on the green,"),
        ("1", "will give its summer concert on the green,"),
    ]


def test_a_line_that_is_not_in_the_copy_has_one_text_and_one_not_read_an_empty_one(schemas):
    report = programme()
    placings = (*report.collation.placings[:3], Placing(4, None), *report.collation.placings[4:])
    collation = replace(report.collation, placings=placings)
    report = replace(report, collation=collation, readings=report.readings[1:])
    ((page, alto),) = valid(schemas, report)
    texts = [[found(e, "string(p:Unicode)") for e in found(line, "p:TextEquiv")]
             for line in found(page, "//p:TextLine")]  # fmt: skip
    assert texts[0] == ["", "THE VILLAGE BAND"]
    assert len(texts[3]) == 1
    assert found(alto, "//a:TextLine[1]/a:String/@CONTENT") == [""]


def test_words_with_something_wrong_are_tagged(schemas):
    ((page, alto),) = valid(schemas, programme())
    tags = {tag.get("ID"): tag for tag in found(alto, "//a:OtherTag")}
    word = found(alto, "//a:String[@CONTENT='snmmer']")[0]
    tag = tags[word.get("TAGREFS")]
    assert (tag.get("TYPE"), tag.get("LABEL")) == ("fault", "wrong-letter")
    assert tag.get("DESCRIPTION") == "F1: change n to u"
    assert found(page, "//p:Word[starts-with(@comments, 'F1, fault, wrong-letter')]")
    assert not found(alto, "//a:String[@CONTENT='green,']/@TAGREFS")
    used = {name for refs in found(alto, "//@TAGREFS") for name in refs.split()}
    assert used == set(tags)


def test_a_line_that_is_missing_is_told_of_the_line_it_follows(schemas):
    report = programme()
    missing = replace(report.faults[0], kind=Kind.LINE_MISSING, proof_text="")
    ((page, alto),) = valid(schemas, replace(report, faults=(missing,)))
    assert found(alto, "//a:TextLine[@TAGREFS]/@ID") == ["line-2"]
    assert not found(alto, "//a:String/@TAGREFS")
    assert found(page, "//p:TextLine[@comments]/@id") == ["line-2"]


def test_columns_are_regions_read_in_order(schemas):
    report = programme()
    columns = (0, 0, 1, 1, 2)
    lines = tuple(replace(n, column=c) for n, c in zip(report.lines, columns, strict=True))
    ((page, _),) = valid(schemas, replace(report, lines=lines))
    order = found(page, "//p:RegionRefIndexed/@regionRef")
    held = [found(page, f"//p:TextRegion[@id='{name}']/p:TextLine/@id") for name in order]
    assert held == [["line-1", "line-2"], ["line-3", "line-4"], ["line-5"]]
    assert found(page, "//p:RegionRefIndexed/@index") == ["0", "1", "2"]


def test_a_table_read_row_by_row_is_one_box(schemas):
    report = programme()
    level = [replace(n, box=n.box._replace(y=report.lines[0].box.y)) for n in report.lines]
    ((page, _),) = valid(schemas, replace(report, lines=tuple(level)))
    assert len(points(found(page, "//p:TextRegion/p:Coords/@points")[0])) == 4


def test_what_no_xml_can_hold_is_told_as_a_sign(schemas):
    # XML 1.0, production 2; a turned letter and one beyond the first plane are characters like any.
    odd = 'ɐ\x0b\ud800\ufffe𝔄<&"'
    report = programme()
    letters = tuple(
        replace(letter, text=char)
        for letter, char in zip(report.readings[0].letters, odd, strict=False)
    )
    text = report.copy.text.replace("THE", "\x00<&", 1)
    copy = replace(report.copy, text=text)
    readings = (replace(report.readings[0], letters=letters), *report.readings[1:])
    ((page, alto),) = valid(schemas, replace(report, copy=copy, readings=readings))
    signs = 'ɐ\ufffd\ufffd\ufffd𝔄<&"'
    assert found(alto, "//a:String/@CONTENT")[0] == signs
    texts = [e.text for e in found(page, "//p:TextLine[1]/p:TextEquiv/p:Unicode")][:2]
    assert texts == [signs, "\ufffd<& VILLAGE BAND"]
    assert in_xml("a\tb\nc\ue000\U0010ffff") == "a\tb\nc\ue000\U0010ffff"


def test_what_is_no_line_is_told_too(schemas):
    report = programme()
    sheet = report.sheets[0]
    parts = (("rule", 10), ("", 20), ("ornament", 30), ("sideways", 40))
    lifted = tuple(Lifted(Box(10, y, 30, 5), no_picture(5, 30), look) for look, y in parts)
    unread = (Unread(0, Box(5, 5, 20, 20), "2 × 2 mm at the head"),)
    sheets = (replace(sheet, lifted=lifted),)
    ((page, alto),) = valid(schemas, replace(report, sheets=sheets, unread=unread))
    kinds = [etree.QName(e).localname for e in found(page, "//*[starts-with(@id, 'lifted')]")]
    assert kinds == ["SeparatorRegion", "SeparatorRegion", "GraphicRegion", "UnknownRegion"]
    (unread,) = found(page, "//p:UnknownRegion[@id='unread-1']/p:Coords/@points")
    assert unread == "5,5 25,5 25,25 5,25"
    assert found(alto, "//a:Illustration/@HPOS") == ["5"]


def test_type_set_sideways_that_is_read_is_told_by_its_lines_alone(schemas):
    report = programme()
    sheet, home = report.sheets[0], Box(10, 40, 5, 30)
    lifted = (Lifted(home, no_picture(30, 5), "sideways"),)
    inset = Inset(report.lines[-1].box, home, 90)
    sheets = (replace(sheet, lifted=lifted, insets=(inset,)),)
    ((page, _),) = valid(schemas, replace(report, sheets=sheets, unread=()))
    assert not found(page, "//p:UnknownRegion")


def test_a_sheet_without_lines_is_still_a_page(schemas):
    report = programme(lines=(), readings=(), faults=(), unread=())
    ((page, _),) = valid(schemas, report)
    assert not found(page, "//p:ReadingOrder")


def test_a_sheet_of_other_copy_has_no_copy_beside_it(schemas):
    ((page, _),) = valid(schemas, programme(verdict=Verdict.MISMATCH, faults=()))
    assert not found(page, "//p:TextEquiv[@index='1']")
    assert "not of this copy" in found(page, "string(//p:Comments)")


# ------------------------------------------------------------------ annotations

MOTIVATIONS = {"editing", "questioning", "replying"}
PURPOSES = {"commenting", "tagging", "editing", "replying"}


def model(items):
    """What the Web Annotation Data Model asks of each (from memory of the Recommendation of 2017;
    this claims no conformance)."""
    assert len({item["id"] for item in items}) == len(items)
    for item in items:
        assert item["type"] == "Annotation"
        assert item["motivation"] in MOTIVATIONS
        assert re.match(r"urn:uuid:[0-9a-f-]{36}$", item["id"])
        for body in item["body"]:
            assert body["type"] == "TextualBody"
            assert body["purpose"] in PURPOSES
            assert isinstance(body["value"], str)
        if item["motivation"] == "replying":
            assert item["target"] in {other["id"] for other in items}
            continue
        for target in item["target"]:
            assert target["type"] == "SpecificResource"
            assert target["source"]["id"].startswith("ni:///sha-256;")


@pytest.mark.parametrize("how", MAPS)
def test_faults_edit_and_queries_question(how):
    report, _ = scanned(how)
    held, items = annotated(report)
    model(items)
    assert held["@context"] == "http://www.w3.org/ns/anno.jsonld"
    assert (held["type"], held["total"]) == ("AnnotationCollection", len(report.faults))
    wanted = ["questioning" if f.status is Status.QUERY else "editing" for f in report.faults]
    assert [item["motivation"] for item in items] == wanted
    for fault, item in zip(report.faults, items, strict=True):
        picture, copy = item["target"]
        svg = etree.fromstring(picture["selector"]["value"])
        shape = svg[0].get("points")
        wide, high = map(int, svg.get("viewBox").split()[2:])
        scan = report.sheets[0].scan
        assert (wide, high) == (scan.width_px, scan.height_px)
        box = fault.box
        middle = np.array([[[box.x + box.width / 2 - 0.5, box.y + box.height / 2 - 0.5]]])
        x, y = cv2.perspectiveTransform(middle, report.sheets[0].to_scan)[0, 0] + 0.5
        where = points(shape)
        assert np.abs(where.mean(axis=0) - (x, y)).max() < 2
        position, *quote = copy["selector"]
        assert (position["start"], position["end"]) == tuple(fault.copy)
        for each in quote:
            text = report.copy.text
            assert each["exact"] == text[position["start"] : position["end"]]
            assert text.startswith(each["prefix"] + each["exact"] + each["suffix"],
                                   position["start"] - len(each["prefix"]))  # fmt: skip


def test_what_is_to_stand_there_is_a_body_of_its_own():
    _, items = annotated(programme())
    edits = [[b["value"] for b in item["body"] if b["purpose"] == "editing"] for item in items]
    assert edits[:3] == [["u"], [""], ["the "]]
    assert edits[3:] == [[]]


def test_ink_not_read_is_asked_about_and_a_page_of_a_pdf_is_named():
    report = programme(unread=(Unread(0, Box(5, 5, 20, 20), "2 × 2 mm at the head"),))
    sheet = report.sheets[0]
    scan = replace(sheet.scan, name="proofs/all.pdf", page=2)
    _, items = annotated(replace(report, sheets=(replace(sheet, scan=scan),)))
    model(items)
    last = items[-1]
    assert last["motivation"] == "questioning"
    (target,) = last["target"]
    # RFC 3778: fragments of application/pdf count pages from 1.
    assert target["selector"]["value"] == "page=3"
    assert target["selector"]["refinedBy"]["type"] == "SvgSelector"
    assert target["source"]["label"] == "all.pdf"
    assert target["source"]["format"] == "application/pdf"


def test_the_name_of_a_file_is_its_digest():
    # RFC 6920, section 8.1: the digest of "Hello World!" and its name.
    digest = "7f83b1657ff1fc53b92dc18148a1d65dfc2d4b1fa3d677284addd200126d9069"
    report = programme()
    _, items = annotated(replace(report, copy=replace(report.copy, sha256=digest)))
    name = items[0]["target"][1]["source"]["id"]
    assert name == "ni:///sha-256;f4OxZX_x_FO5LcGBSKHWXfwtSx-j1ncoSt3SABJtkGk"


def test_the_same_record_gives_the_same_names():
    assert annotated(programme())[1] == annotated(programme())[1]


# ------------------------------------------------------------------ from the record, by command


@pytest.fixture
def record(tmp_path):
    path = tmp_path / "proof.json"
    path.write_text(report_text(programme()), encoding="ascii")
    return path


def test_the_record_alone_is_enough(schemas, record, tmp_path):
    names = [tmp_path / name for name in ("page.xml", "alto.xml", "found.jsonld")]
    page, alto, found_ = names
    done = run("export", record, "--page-xml", page, "--alto", alto, "--annotations", found_)
    assert done.returncode == 1
    assert done.stdout == ""
    schemas["page"].assertValid(etree.parse(page))
    schemas["alto"].assertValid(etree.parse(alto))
    model(json.loads(found_.read_text())["first"]["items"])


def test_each_sheet_has_a_file(schemas, tmp_path):
    report = programme()
    sheet, lines, readings = set_sheet(["one more", "sheet"], number=1, first=6)
    report = replace(
        report,
        sheets=(*report.sheets, sheet),
        lines=(*report.lines, *lines),
        readings=(*report.readings, *readings),
    )
    path = tmp_path / "proof.json"
    path.write_text(report_text(report), encoding="ascii")
    files, _ = export_record(path, Exports(page_xml=tmp_path / "p.xml", alto=tmp_path / "a.xml"))
    assert [file.name for file in files] == ["p-1.xml", "p-2.xml", "a-1.xml", "a-2.xml"]
    second = etree.parse(tmp_path / "p-2.xml")
    schemas["page"].assertValid(second)
    assert found(second, "//p:TextLine/@id") == ["line-6", "line-7"]
    assert found(second, "//p:Page/@imageFilename") == ["proof-1.png"]


def test_nothing_is_written_over_and_nothing_half(record, tmp_path):
    taken = tmp_path / "a.xml"
    taken.write_text("mine")
    with pytest.raises(OutputError, match="exists already"):
        export_record(record, Exports(page_xml=tmp_path / "p.xml", alto=taken))
    assert not (tmp_path / "p.xml").exists()
    assert taken.read_text() == "mine"
    with pytest.raises(OutputError, match="a name of its own"):
        export_record(record, Exports(page_xml=tmp_path / "x", alto=tmp_path / "x"))


def test_what_is_no_record_is_told(record, tmp_path):
    out = tmp_path / "p.xml"
    with pytest.raises(SettingError, match="--page-xml"):
        export_record(record, Exports())
    refused(run("export", tmp_path / "none.json", "--alto", out), "can't be read")
    first = tmp_path / "first.json"
    first.write_text('{"report": 1, "verdict": "clean"}\n')
    refused(run("export", first, "--alto", out), "version 1", "read the proof again")
    record.write_bytes(record.read_bytes().replace(b"snmmer", b"summer"))
    refused(run("export", record, "--alto", out), "changed since it was written")
    empty = tmp_path / "empty.json"
    empty.write_text(unreadable_text("too pale"), encoding="ascii")
    refused(run("export", empty, "--alto", out), "holds no sheet")
    assert not out.exists()


def test_a_record_of_places_that_can_t_be_is_told(tmp_path):
    report = programme()
    lines = tuple(replace(line, baseline=(float("nan"), 3.0)) for line in report.lines)
    path = tmp_path / "odd.json"
    path.write_text(report_text(replace(report, lines=lines)), encoding="ascii")
    refused(run("export", path, "--alto", tmp_path / "a.xml"), "read the proof again")


# ------------------------------------------------------------------ from the docket


def test_decisions_are_replies(tmp_path):
    held = with_proof(tmp_path)
    decide(held, JOB, "F1", "sound", by="AB", note="it is a u")
    decide(held, JOB, "F4", "query", by="AB", note="small capitals?")
    answer_query(held, JOB, "F4", "stand", "as it is", answered_by="Mrs Tarrimew", by="AB")
    path = tmp_path / "found.jsonld"
    export_from_docket(held, JOB, 0, Exports(annotations=path))
    items = json.loads(path.read_text())["first"]["items"]
    model(items)
    said = [
        (item["body"][0]["value"], item["creator"]["name"])
        for item in items
        if item["motivation"] == "replying"
    ]
    assert said[0] == ("no fault: read wrongly. it is a u", "AB")
    assert ("as it is", "Mrs Tarrimew") in said
    assert all(item["created"].startswith("2026-05-04T") for item in items if "creator" in item)
