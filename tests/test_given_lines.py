"""Lines found by another program, taken in place of our own: from PAGE XML and ALTO of any kind."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from report_cases import PRINTED_LINES, perspective, set_sheet
from test_cli import NOTICE, NOTICE_COPY, refused, run

from proofcheck.base.errors import SettingError
from proofcheck.sheet.given_lines import given_lines, refuse_left_over
from proofcheck.sheet.line_files import pages_of
from proofcheck.sheet.lines import find_lines

PAGE = "http://schema.primaresearch.org/PAGE/gts/pagecontent/2019-07-15"
ALTO = "http://www.loc.gov/standards/alto/ns-v4#"


def corners(box):
    return f"{box.x},{box.y} {box.right},{box.y} {box.right},{box.bottom} {box.x},{box.bottom}"


def page_of(lines, size, *, picture="proof-0.png", order=None, regions=None):
    """A PAGE document with each line in a region of its own, or in those named."""
    regions = regions or [[at] for at in range(len(lines))]
    refs = "".join(
        f'<RegionRefIndexed index="{at}" regionRef="r{name}"/>'
        for at, name in enumerate(order or range(len(regions)))
    )
    told = "".join(
        f'<TextRegion id="r{name}"><Coords points="0,0 1,0 1,1"/>'
        + "".join(
            f'<TextLine id="l{at}"><Coords points="{corners(lines[at])}"/></TextLine>'
            for at in held
        )
        + "</TextRegion>"
        for name, held in enumerate(regions)
    )
    return (
        f'<PcGts xmlns="{PAGE}"><Metadata><Creator>x</Creator></Metadata>'
        f'<Page imageFilename="{picture}" imageWidth="{size[0]}" imageHeight="{size[1]}">'
        f'<ReadingOrder><OrderedGroup id="o">{refs}</OrderedGroup></ReadingOrder>'
        f"{told}</Page></PcGts>"
    )


def written(folder, text, name="lines.xml"):
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return str(path)


@pytest.fixture(scope="module")
def sheet():
    return set_sheet()[0]


@pytest.fixture(scope="module")
def own(sheet):
    """The lines found here."""
    return find_lines(sheet)


def size_of(sheet):
    return sheet.scan.width_px, sheet.scan.height_px


def laid(sheet, *files):
    given = given_lines(files, sheet.scan, 0)
    found = given.lay(sheet, 1)
    return found.lines, given.told(found.lines)


def alike(lines, own):
    """Each at its place, and measured as one found here."""
    assert len(lines) == len(own)
    for line, wanted in zip(lines, own, strict=True):
        assert np.abs(np.subtract(line.box, wanted.box)).max() <= 1
        assert np.abs(np.subtract(line.baseline, wanted.baseline)).max() <= 1
        assert line.x_height_px == pytest.approx(wanted.x_height_px, rel=0.05)


def test_lines_are_measured_as_our_own(sheet, own, tmp_path):
    text = page_of([line.box for line in own], size_of(sheet))
    lines, notes = laid(sheet, written(tmp_path, text))
    assert [line.number for line in lines] == list(range(1, len(PRINTED_LINES) + 1))
    alike(lines, own)
    assert len(notes) == 1
    assert "not found here" in notes[0]


def test_outlines_that_overlap_share_out_the_ink(sheet, own, tmp_path):
    wide = [line.box._replace(y=line.box.y - 18, height=line.box.height + 36) for line in own]
    lines, _ = laid(sheet, written(tmp_path, page_of(wide, size_of(sheet))))
    alike(lines, own)


def test_they_are_carried_from_the_scan_to_the_sheet(sheet, own, tmp_path):
    height, width = sheet.image.shape
    to_scan, size = perspective(width, height)
    scan = replace(sheet.scan, width_px=size[0], height_px=size[1])
    there = replace(sheet, scan=scan, to_scan=to_scan)
    told = []
    for line in own:
        x, y, right, bottom = line.box.x, line.box.y, line.box.right, line.box.bottom
        edges = np.array([(x, y, 1), (right, y, 1), (right, bottom, 1), (x, bottom, 1)]) - (
            0.5,
            0.5,
            0,
        )
        mapped = edges @ to_scan.T
        told.append(" ".join(f"{a:.0f},{b:.0f}" for a, b in mapped[:, :2] / mapped[:, 2:] + 0.5))
    text = page_of([line.box for line in own], size)
    for line, points in zip(own, told, strict=True):
        text = text.replace(corners(line.box), points)
    alike(laid(there, written(tmp_path, text))[0], own)


def test_the_files_order_of_reading_holds(sheet, own, tmp_path):
    text = page_of([line.box for line in own], size_of(sheet), order=[4, 0, 1, 2, 3])
    lines, _ = laid(sheet, written(tmp_path, text))
    assert [own.index(min(own, key=lambda o, n=n: abs(o.box.y - n.box.y))) for n in lines] == [
        4, 0, 1, 2, 3,
    ]  # fmt: skip
    # What stands over the one before it is of the next column.
    assert [line.column for line in lines] == [0, 1, 1, 1, 1]


def alto_of(own, size, *, shape=True, baseline="", unit="pixel", name="proof-0.png", sha=""):
    ns = ALTO
    told = ""
    for at, line in enumerate(own):
        box = line.box
        place = f'HPOS="{box.x}" VPOS="{box.y}" WIDTH="{box.width}" HEIGHT="{box.height}"'
        inner = f'<Shape><Polygon POINTS="{corners(box)}"/></Shape>' if shape else ""
        told += (
            f'<TextBlock ID="b{at}"><TextLine ID="l{at}" {place} {baseline}>{inner}'
            f'<String CONTENT="x"/></TextLine></TextBlock>'
        )
    held = f'<fileIdentifier fileIdentifierLocation="SHA-256">{sha}</fileIdentifier>' if sha else ""
    return (
        f'<alto xmlns="{ns}"><Description><MeasurementUnit>{unit}</MeasurementUnit>'
        f"<sourceImageInformation><fileName>{name}</fileName>{held}</sourceImageInformation>"
        f'</Description><Layout><Page ID="p" PHYSICAL_IMG_NR="1" WIDTH="{size[0]}" '
        f'HEIGHT="{size[1]}"><PrintSpace>{told}</PrintSpace></Page></Layout></alto>'
    )


@pytest.mark.parametrize("shape", [True, False])
def test_alto_with_polygons_or_boxes_alone(sheet, own, tmp_path, shape):
    text = alto_of(own, size_of(sheet), shape=shape)
    alike(laid(sheet, written(tmp_path, text))[0], own)


def test_older_forms_of_both_are_read(tmp_path):
    # PAGE of 2010 has an element for each point; ALTO before 4.1 the height of the baseline alone.
    older = (
        '<PcGts xmlns="http://schema.primaresearch.org/PAGE/gts/pagecontent/2010-03-19">'
        '<Page imageFilename="a.png" imageWidth="90" imageHeight="80"><TextRegion id="r">'
        '<TextLine id="l"><Coords><Point x="1" y="2"/><Point x="9" y="2"/><Point x="9" y="8"/>'
        "</Coords></TextLine></TextRegion></Page></PcGts>"
    )
    (page,) = pages_of(written(tmp_path, older))
    assert page.lines[0].outline == ((1, 2), (9, 2), (9, 8))
    own_lines = set_sheet(["one"])[1]
    text = alto_of(own_lines, (9, 9), shape=False, baseline='BASELINE="77.5"')
    (page,) = pages_of(written(tmp_path, text.replace("ns-v4#", "ns-v2#")))
    assert [y for _, y in page.lines[0].baseline] == [77.5, 77.5]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "no sound XML"),
        ("<PcGts>", "no sound XML"),
        ('<!DOCTYPE x [<!ENTITY a "b">]><PcGts>&a;</PcGts>', "no sound XML"),
        ("<html/>", "neither PAGE XML nor ALTO"),
        (f'<PcGts xmlns="{PAGE}"/>', "holds no page"),
        (f'<PcGts xmlns="{PAGE}"><Page/></PcGts>', "holds no line"),
        (
            "<PcGts><Page><TextRegion><TextLine id='l7'/></TextRegion></Page></PcGts>",
            "line l7",
        ),
        (alto_of((), (1, 1), unit="mm10"), "in mm10"),
    ],
)
def test_what_is_no_file_of_lines_is_told(sheet, tmp_path, text, said):
    with pytest.raises(SettingError, match=said):
        given_lines([written(tmp_path, text)], sheet.scan, 0)


def test_a_file_that_is_not_there_is_told(sheet, tmp_path):
    with pytest.raises(SettingError, match="can't be read"):
        given_lines([str(tmp_path / "none.xml")], sheet.scan, 0)


def test_another_picture_is_told(sheet, own, tmp_path):
    width, height = size_of(sheet)
    boxes = [line.box for line in own]
    for size in ((width // 2, height // 2), (width + 1, height)):
        path = written(tmp_path, page_of(boxes, size))
        with pytest.raises(SettingError, match=f"{size[0]} × {size[1]} pixels"):
            given_lines([path], sheet.scan, 0)
    # A file that says no size, with places off the scan.
    far = [box._replace(x=box.x + width) for box in boxes]
    with pytest.raises(SettingError, match="larger picture"):
        given_lines([written(tmp_path, page_of(far, ("", "")))], sheet.scan, 0)
    path = written(tmp_path, alto_of(own, size_of(sheet), sha="ab" * 32))
    with pytest.raises(SettingError, match="another scan"):
        given_lines([path], sheet.scan, 0)
    _, notes = laid(sheet, written(tmp_path, page_of(boxes, size_of(sheet), picture="b/other.tif")))
    assert "say they are of other.tif; taken for proof-0.png" in notes[0]


def test_lines_without_ink_are_told(sheet, own, tmp_path):
    boxes = [line.box for line in own]
    blank = boxes[0]._replace(y=2, height=20)
    lines, notes = laid(sheet, written(tmp_path, page_of([*boxes, blank], size_of(sheet))))
    alike(lines, own)
    assert any("1 line of" in note and "no ink" in note for note in notes)
    with pytest.raises(SettingError, match="of another picture"):
        laid(sheet, written(tmp_path, page_of([*boxes, *[blank] * 6], size_of(sheet))))


def test_each_sheet_wants_its_own(sheet, own, tmp_path):
    path = written(tmp_path, page_of([line.box for line in own], size_of(sheet)))
    assert given_lines((), sheet.scan, 3) is None
    with pytest.raises(SettingError, match="no lines are given for sheet 2"):
        given_lines([path], sheet.scan, 1)
    refuse_left_over([path, path], 2)
    with pytest.raises(SettingError, match="for 2 sheets and the proof has 1"):
        refuse_left_over([path, path], 1)


# ------------------------------------------------------------------ a proof read by them


@pytest.fixture(scope="module")
def notice(tmp_path_factory):
    """The notice read with its own lines, and those given out as PAGE XML."""
    folder = tmp_path_factory.mktemp("notice")
    record = folder / "own.json"
    run("read", NOTICE, "--copy", NOTICE_COPY, "--json", record, "--list")
    run("export", record, "--page-xml", folder / "lines.xml")
    return json.loads(record.read_text()), folder / "lines.xml"


def test_what_is_given_out_is_taken_in_and_read_the_same(notice):
    own_report, path = notice
    done = run("read", NOTICE, "--copy", NOTICE_COPY, "--lines", path, "--json", "-")
    assert done.returncode == 0, done.stderr
    report = json.loads(done.stdout)
    for name in ("verdict", "lines", "faults", "unread"):
        assert report[name] == own_report[name]


def test_a_line_that_is_missing_is_told_as_not_read(notice, tmp_path):
    from lxml import etree

    own_report, path = notice
    tree = etree.parse(path)
    lines = tree.xpath("//*[local-name()='TextLine']")
    lines[2].getparent().remove(lines[2])
    short = tmp_path / "short.xml"
    tree.write(short)
    done = run(
        "read", NOTICE, "--copy", NOTICE_COPY, "--lines", short, "--json", "-", "--text-only"
    )
    report = json.loads(done.stdout)
    x, y, width, height = own_report["lines"][2]["box"]
    places = [each["box"] for each in report["unread"]]
    assert any(x <= a < x + width and y - 9 <= b < y + height for a, b, _, _ in places)
    assert done.returncode in {1, 2}
    assert report["verdict"] in {"faults", "not-wholly-read"}


def test_lines_for_another_scan_end_in_one_line(notice, tmp_path):
    _, path = notice
    text = Path(path).read_text().replace('imageWidth="', 'imageWidth="1')
    odd = tmp_path / "odd.xml"
    odd.write_text(text)
    refused(run("read", NOTICE, "--copy", NOTICE_COPY, "--lines", odd, "--list"), "this very scan")
