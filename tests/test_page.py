"""The page: everything escaped, nothing from elsewhere, each strip under its line of copy."""

import base64
import hashlib
import io
import re
from dataclasses import replace
from html.parser import HTMLParser

import numpy as np
import pytest
from PIL import Image
from report_cases import LEADING, MARGIN, fault_at, programme

from proofcheck.base.errors import OutputError
from proofcheck.base.found import Mark, Status, Unread, Verdict
from proofcheck.base.kinds import Kind
from proofcheck.base.values import Box, Span
from proofcheck.results.page import embedded
from proofcheck.results.page.embedded import MarkedSheet
from proofcheck.results.page.fault_page import page_html, write_page
from proofcheck.results.page.fault_strips import cut_strip

HOSTILE = (
    "</title></style></script><script>window.broken=1</script><img src=x onerror=window.broken=1>"
    "\"'`{{7*7}}\u202egnp\x1b]0;x\x07&amp;<!-- <svg onload=window.broken=1>"
)


class Tags(HTMLParser):
    """All tags with their attributes, and the text of styles and scripts."""

    def __init__(self, html):
        super().__init__()
        self.tags, self.raw = [], {}
        self._inside = None
        self.feed(html)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        self._inside = tag if tag in ("style", "script") else None

    def handle_endtag(self, tag):
        self._inside = None

    def handle_data(self, data):
        if self._inside:
            self.raw[self._inside] = self.raw.get(self._inside, "") + data

    def named(self, name):
        return [attrs for tag, attrs in self.tags if tag == name]


def hostile():
    report = programme()
    first, *others = report.faults
    mark = Mark(first.mark.sign, HOSTILE, HOSTILE + "/", HOSTILE, HOSTILE)
    text = report.copy.text.replace("summer", HOSTILE, 1)
    bad = replace(first, mark=mark, proof_text=HOSTILE, copy_text=HOSTILE)
    letters = tuple(
        replace(letter, text="<") if letter.text == "n" else letter
        for letter in report.readings[1].letters
    )
    readings = list(report.readings)
    readings[1] = replace(readings[1], letters=letters)
    return replace(
        report,
        faults=(replace(bad, kind=Kind.MATTER_MISSING), *others),
        copy=replace(report.copy, text=text, name=HOSTILE),
        readings=tuple(readings),
        sheets=(replace(report.sheets[0], scan=replace(report.sheets[0].scan, name=HOSTILE)),),
        warnings=(HOSTILE,),
        provenance=replace(report.provenance, reader=HOSTILE),
    )


def test_nothing_comes_from_elsewhere_and_the_policy_lets_nothing_in():
    page = Tags(page_html(programme()))
    policy = next(
        meta["content"]
        for meta in page.named("meta")
        if meta.get("http-equiv") == "Content-Security-Policy"
    )
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    # W3C Content Security Policy Level 3: the hash is of the element's text, in base64.
    for tag in ("style", "script"):
        digest = hashlib.sha256(page.raw[tag].encode()).digest()
        assert f"{tag}-src 'sha256-{base64.b64encode(digest).decode()}'" in policy
    for tag, attrs in page.tags:
        assert "style" not in attrs  # the policy would drop it
        assert not any(name.startswith("on") for name in attrs)
        for name in ("src", "href"):
            assert attrs.get(name, "#").startswith(("#", "data:image/webp;base64,")), tag


def test_every_reference_leads_somewhere_and_no_name_is_used_twice():
    page = Tags(page_html(programme()))
    names = [attrs["id"] for _, attrs in page.tags if attrs.get("id")]
    assert len(names) == len(set(names))
    for _, attrs in page.tags:
        if attrs.get("href", "").startswith("#"):
            assert attrs["href"][1:] in names
        for name in attrs.get("aria-labelledby", "").split():
            assert name in names


def test_each_fault_has_its_card():
    html = page_html(programme(), title="Summer concert")
    page = Tags(html)
    cards = [attrs for attrs in page.named("li") if "card" in attrs.get("class", "")]
    assert [card["id"] for card in cards] == ["F1", "F2", "F3", "F4"]
    assert [card["data-status"] for card in cards] == ["fault", "fault", "fault", "query"]
    assert cards[1]["data-kind"] == "word-doubled"
    text = re.sub(r"<[^>]+>", "", html)
    for words in (
        "Summer concert",
        "change n to u",
        "turned sort",
        "98 %",
        "41 %",
        "take out the second “the”",
        "3 faults, 1 query in 5 lines read against programme.txt.",
        "quote-shape 4",
    ):
        assert words in text
    assert len(page.named("image")) == 4 + 1


def test_hostile_text_is_only_ever_text():
    clean, page = Tags(page_html(programme())), Tags(page_html(hostile()))
    html = page_html(hostile(), title=HOSTILE)
    count = len([tag for tag, _ in clean.tags if tag in ("script", "style", "img", "iframe")])
    tags = Tags(html).tags
    assert len([tag for tag, _ in tags if tag in ("script", "style", "img", "iframe")]) == count
    assert page.raw == clean.raw
    assert "\u202e" not in html
    assert "\x1b" not in html
    assert "\x07" not in html
    assert "⟨U+202E⟩" in html
    assert "{{7*7}}" in html


def test_a_page_without_faults_says_why():
    clean = page_html(programme(faults=(), verdict=Verdict.CLEAN))
    assert "Nothing to mark." in clean
    assert "No fault in 5 lines" in clean
    some = Unread(0, Box(10, 10, 40, 20), "4 × 2 mm at the head")
    part = page_html(programme(faults=(), verdict=Verdict.NOT_WHOLLY_READ, unread=(some,)))
    assert "Nothing to mark in what was read." in part
    assert "Not read: 4 × 2 mm at the head." in part
    other = page_html(programme(faults=(), verdict=Verdict.MISMATCH))
    assert "the proof was not judged" in other
    assert "not of this copy" in other


def test_the_page_is_written_whole_and_never_over_another(tmp_path):
    path = write_page(programme(), tmp_path / "proof.html")
    assert path.read_text("utf-8").startswith("<!doctype html>")
    with pytest.raises(OutputError, match="exists already"):
        write_page(programme(), path)
    write_page(programme(), path, overwrite=True)


def figures(html):
    """Pictures of the proof's sheets, and their places by id."""
    page = Tags(html)
    pictures = [attrs for attrs in page.named("image") if attrs.get("role") == "img"]
    rects = re.findall(
        r'id="(F\d)-place".*?<rect x="([-\d.]+)" y="([-\d.]+)" width="([\d.]+)"', html
    )
    return pictures, {name: tuple(map(float, rest)) for name, *rest in rects}


def test_the_marked_picture_is_carried_and_the_places_lie_on_it():
    report = programme()
    sheet = report.sheets[0].image
    grown = np.full((sheet.shape[0] + 50, sheet.shape[1] + 200, 3), 255, np.uint8)
    grown[30 : 30 + sheet.shape[0], 150 : 150 + sheet.shape[1]] = sheet[..., None]
    pictures, places = figures(page_html(report, [MarkedSheet(grown, 0, (150.0, 30.0))]))
    data = base64.b64decode(pictures[0]["href"].partition(",")[2])
    carried = Image.open(io.BytesIO(data))
    assert carried.size == (grown.shape[1], grown.shape[0])
    assert np.abs(np.asarray(carried, int) - grown).mean() < 3
    for fault in report.faults:
        left, top, width = places[fault.id]
        middle = fault.box.x + fault.box.width / 2 + 150
        assert abs(left + width / 2 - middle) < 1
        assert top < fault.box.y + 30 < top + 60


def test_a_painted_file_is_carried_as_it_is_unless_it_is_large(tmp_path, monkeypatch):
    report, path = programme(), tmp_path / "marked.png"
    report = replace(report, sheets=(replace(report.sheets[0], dpi=600.0),))
    Image.fromarray(report.sheets[0].image).save(path)
    with Image.open(path) as painted:
        given = [MarkedSheet(painted, 0, file=path)]
        pictures, places = figures(page_html(report, given))
        monkeypatch.setattr(embedded, "MOST_FILE_BYTES", 100)
        others, same = figures(page_html(report, given))
    assert base64.b64decode(pictures[0]["href"].partition(",")[2]) == path.read_bytes()
    assert others[0]["href"].startswith("data:image/webp;base64,")
    # Either way it is as large on the page, and the places lie on it alike.
    assert [pictures[0][name] for name in ("width", "height")] == [
        others[0][name] for name in ("width", "height")
    ]
    assert places == same


def test_a_fine_scan_is_reduced_and_its_places_with_it():
    report = programme()
    sheet = replace(report.sheets[0], dpi=600.0)
    report = replace(report, sheets=(sheet,))
    pictures, places = figures(page_html(report))
    assert int(pictures[0]["width"]) == round(sheet.image.shape[1] / 2)
    left, _, width = places["F1"]
    box = report.faults[0].box
    assert abs(left + width / 2 - (box.x + box.width / 2) / 2) < 1


def test_bare_pictures_are_taken_in_order():
    report = programme()
    same = Image.fromarray(report.sheets[0].image)
    assert len(figures(page_html(report, [same]))[1]) == 4
    other = Image.new("RGBA", (100, 100), (255, 0, 0, 128))
    pictures, places = figures(page_html(report, [other, other]))
    assert len(pictures) == 2
    assert places == {}


# -------------------------------------------------------------------------- strips


def test_the_copy_stands_letter_over_letter():
    report = programme()
    fault = report.faults[0]
    strip = cut_strip(report, fault)
    reading = report.reading(2)
    left = report.line(2).box.x - 28  # two times 0.7 of the x-height of 20
    words = [(w.before + w.at + w.after, w.left, w.width) for w in strip.over]
    assert [w[0] for w in words] == report.copy.text[17:59].split()
    starts = [0, *(i + 1 for i, c in enumerate(reading.text) if c == " ")]
    for (text, x, width), start in zip(words, starts, strict=True):
        letters = reading.letters[start : start + len(text)]
        assert x == letters[0].box.x - left
        assert x + width == letters[-1].box.right - left
    summer = strip.over[3]
    assert (summer.before, summer.at, summer.after) == ("s", "u", "mmer")
    assert strip.copy_place == (fault.box.x - left, fault.box.right - left)
    assert strip.place.x == fault.box.x - left


def test_the_strip_holds_the_proofs_own_pixels():
    report = programme()
    strip = cut_strip(report, report.faults[0])
    box = report.faults[0].box
    here = report.sheets[0].image[box.y : box.bottom, box.x : box.right]
    place = strip.place
    cut = strip.image[place.y : place.y + place.height, place.x : place.x + place.width]
    assert np.array_equal(cut, here)


def test_a_missing_word_is_raised_over_its_gap():
    report = programme()
    strip = cut_strip(report, report.faults[2])
    raised = [word for word in strip.over if word.raised]
    assert [word.at or word.before for word in raised] == ["the"]
    assert strip.place.width == 0
    assert raised[0].left < strip.place.x < raised[0].left + raised[0].width
    assert strip.copy_place.left == strip.copy_place.right


def test_transposed_words_stand_over_the_place_as_one():
    report = programme()
    at = report.copy.text.index("on the green")
    mark = Mark("transpose", "", "tr", "curve", "transpose")
    copy = report.copy.text.replace("on the green", "the on green")
    report = replace(report, copy=replace(report.copy, text=copy))
    fault = fault_at(
        report.readings[1],
        1,
        Kind.WORDS_TRANSPOSED,
        Span(29, 35),
        Span(at, at + 6),
        ("on the", "the on"),
        mark,
    )
    strip = cut_strip(report, fault)
    assert not any(word.raised for word in strip.over)
    assert [word.at for word in strip.over if word.at] == ["the", "on"]
    assert strip.copy_place.left == strip.place.x
    assert strip.copy_place.right == strip.place.x + strip.place.width


def test_a_missing_line_shows_the_gap_and_sets_the_copy_freely():
    report = programme()
    line = report.line(2).box
    gap = Box(line.x, line.bottom + 10, line.width, 0)
    fault = replace(
        report.faults[0], kind=Kind.LINE_MISSING, box=gap, proof_text="", copy_text="a line " * 30
    )
    strip = cut_strip(report, fault)
    assert strip.image.shape[0] > LEADING
    assert "…" in strip.over[0].at
    assert strip.over[0].left + strip.over[0].width <= strip.image.shape[1]
    head = replace(fault, line=0, box=Box(line.x, MARGIN - 20, line.width, 0))
    assert cut_strip(report, head) is not None
    assert "Head of the proof" in page_html(replace(report, faults=(head,)))


def test_a_line_foreign_to_the_copy_has_none_set_over_it():
    report = programme()
    first, second, *rest = report.collation.placings
    placings = (first, replace(second, copy=None), *rest)
    report = replace(report, collation=replace(report.collation, placings=placings))
    fault = replace(report.faults[0], kind=Kind.LINE_FOREIGN, copy=Span(0, 0), copy_text="")
    assert cut_strip(report, fault).over == ()
    assert "No stretch of the copy answers" in page_html(replace(report, faults=(fault,)))


def test_a_large_scan_gives_a_small_strip():
    report = programme()
    sheet = replace(
        report.sheets[0], image=np.kron(report.sheets[0].image, np.ones((3, 3), np.uint8))
    )

    def thrice(box):
        return Box(*(3 * side for side in box))

    lines = tuple(replace(line, box=thrice(line.box), x_height_px=60.0) for line in report.lines)
    fault = replace(report.faults[0], box=thrice(report.faults[0].box))
    strip = cut_strip(replace(report, sheets=(sheet,), lines=lines), fault)
    assert strip.x_height == pytest.approx(22.0)
    assert strip.image.shape[0] < sheet.image.shape[0] / 6


def test_no_strip_where_there_is_nothing_to_cut():
    report = programme()
    assert cut_strip(replace(report, lines=()), report.faults[0]) is None
    assert cut_strip(replace(report, sheets=()), report.faults[0]) is None
    far = replace(report.faults[0], box=Box(5000, 5000, 10, 10))
    assert cut_strip(report, far) is not None
    html = page_html(replace(report, lines=()))
    assert html.count("<li id=") == 4
    assert Status.QUERY.value in html


@pytest.mark.parametrize(
    ("status", "shown"), [(Status.FAULT, "line through"), (Status.QUERY, "underline")]
)
def test_the_mark_in_the_text_is_told_as_the_marked_proof_shows_it(status, shown):
    """A query changes nothing: a wide place that would be struck out is underlined."""
    report = programme()
    first = report.faults[0]
    mark, line = replace(first.mark, text="line-through"), report.line(first.line)
    wide = replace(first, mark=mark, status=status, box=line.box)
    page = page_html(replace(report, faults=(wide,)))
    assert f"<dt>In the text</dt><dd>{shown}</dd>" in page
