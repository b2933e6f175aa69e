"""Lines of a sheet against set matter whose every letter's place is known."""

from __future__ import annotations

import itertools
from pathlib import Path

import cv2
import numpy as np
import pytest
from PIL import ImageFont
from typesetter import Columns, Gap, Head, Leader, Para, Style, compose, print_proof, pull
from typesetter.jobs import CONCERT, CONCERT_STYLE, PRICES, PRICES_STYLE
from typesetter.ruled import table_of

from proofcheck.base.values import Scan, Sheet
from proofcheck.sheet.baselines import Fit, share_sizes
from proofcheck.sheet.lines import find_lines
from proofcheck.sheet.on_one_line import rows_of
from proofcheck.sheet.pieces import Pieces
from proofcheck.sheet.rows import find_segments

PROSE = (
    "The foot-bridge below the mill will be closed from Monday to Thursday, while the carpenter "
    "renews the planks and the hand rail; those bound for the school may cross by the ferry."
)


def sheet_of(image, dpi=300.0, number=0):
    height, width = image.shape
    scan = Scan("proof", 0, "", width, height)
    return Sheet(
        image, scan, number, dpi, "option", 0, mirrored=False, skew_deg=0.0, to_scan=np.eye(3)
    )


def paste(page, image, x, y):
    height, width = image.shape
    np.minimum(page[y : y + height, x : x + width], image, out=page[y : y + height, x : x + width])


def printed(*blocks, measure=20, dpi=300, **style):
    return print_proof(compose(list(blocks), measure_picas=measure, style=Style(**style)), dpi=dpi)


def matches(lines, proof):
    """Greatest distance of any box edge from its true place, in x-heights; same count first."""
    assert len(lines) == len(proof.lines)
    off = [
        max(
            abs(found.box.x - true.box[0]),
            abs(found.box.y - true.box[1]),
            abs(found.box.right - true.box[0] - true.box[2]),
            abs(found.box.bottom - true.box[1] - true.box[3]),
        )
        / true.x_height_px
        for found, true in zip(lines, proof.lines, strict=True)
    ]
    return max(off)


def test_a_short_word_in_large_quotes_far_off_at_the_end_of_a_line_is_of_it():
    # The quotes are more pieces than the letter, and stand higher: 15 px of its 31.
    letters = [(x, 20, x + 20, 40) for x in range(0, 240, 24)]
    for word in ([(300, 9, 306, 25), (309, 9, 315, 25), (320, 9, 340, 40)],
                 [(300, 9, 320, 40), (325, 9, 331, 25), (334, 9, 340, 25)]):  # fmt: skip
        x, y, right, bottom = np.array([*letters, *word], float).T
        pieces = Pieces(x, y, right, bottom, (right - x) * (bottom - y))
        segments = find_segments(pieces, np.ones(len(x), bool))
        assert len(segments) == 2
        assert len(rows_of(segments)) == 1


@pytest.fixture(scope="module")
def concert():
    return print_proof(compose(CONCERT, measure_picas=26, style=CONCERT_STYLE))


@pytest.fixture(scope="module")
def prices():
    return print_proof(compose(PRICES, measure_picas=38, style=PRICES_STYLE))


def test_programme_with_display_lines_rules_ornament_and_leaders(concert):
    lines = find_lines(sheet_of(concert.image))
    assert matches(lines, concert) < 0.15
    assert [line.number for line in lines] == list(range(1, len(lines) + 1))
    for found, true in zip(lines, concert.lines, strict=True):
        for y in found.baseline:
            assert y == pytest.approx(true.baseline_y, abs=0.8), true.text


@pytest.mark.parametrize("bits", [(0, 36), (0, 16, 18, 36), (0, 20, 24, 28, 30, 38)])
@pytest.mark.parametrize("gap", [0.8, 1.4])
def test_a_dash_for_no_price_is_of_its_line_also_where_it_prints_broken(bits, gap):
    rows = ("Still life with pears 4750.", "The old ferry at dusk 620.", "A lemon seller 85.")
    proof = printed(*(Para(row, "left", 0) for row in rows), lead_pt=4.0)
    image = np.pad(proof.image, ((0, 0), (0, 200)), constant_values=255)
    ends = []
    for true in proof.lines:
        x = round(true.box[0] + true.box[2] + gap * true.x_height_px)
        y = round(true.baseline_y - 0.5 * true.x_height_px)
        for start, end in zip(bits[::2], bits[1::2], strict=True):
            image[y - 1 : y + 2, x + start : x + end] = 0
        ends.append(x + bits[-1])
    lines = find_lines(sheet_of(image))
    assert [line.box.right for line in lines] == ends


@pytest.mark.parametrize("gap", [1.0, 2.6, 3.2])
def test_dashes_on_both_sides_of_a_folio_are_of_its_line(gap):
    proof = printed(Para("12", "centre", 0), Gap(12), Para(PROSE))
    true, image = proof.lines[0], proof.image.copy()
    x_height = proof.lines[1].x_height_px
    left, wide = round(true.box[0]), round(true.box[2])
    off, y = round(gap * x_height), round(true.baseline_y - 0.5 * x_height)
    for x in (left - off - 40, left + wide + off):
        image[y - 1 : y + 2, x : x + 40] = 0
    box = find_lines(sheet_of(image))[0].box
    assert (box.x, box.right) == (left - off - 40, left + wide + off + 40)


@pytest.mark.parametrize("bits", [(0, 40), (0, 23, 25, 40)])
def test_a_column_of_dashes_with_no_figure_over_or_under_is_of_its_lines(bits):
    rows = ("Still life with pears", "The old ferry at dusk", "A lemon seller")
    proof = printed(*(Para(row, "left", 0) for row in rows), lead_pt=4.0)
    image = np.pad(proof.image, ((0, 0), (0, 200)), constant_values=255)
    far = round(max(true.box[0] + true.box[2] for true in proof.lines)) + 150

    def with_dashes(count):
        page = image.copy()
        for true in proof.lines[:count]:
            y = round(true.baseline_y - 0.5 * true.x_height_px)
            for start, end in zip(bits[::2], bits[1::2], strict=True):
                page[y - 1 : y + 2, far + start : far + end] = 0
        return [line.box.right for line in find_lines(sheet_of(page))]

    assert with_dashes(3) == [far + 40] * 3
    # Two may be anything.
    assert max(with_dashes(2)) < far


def test_small_figures_set_low_in_a_gap_of_a_line_are_of_that_line():
    """As catalogues number what an entry shows; read as lines of their own they were foreign."""
    rows = ("44. The way to the mill", "45. At the old weir", "46. A tower in the snow")
    proof = printed(*(Para(row, "left", 0) for row in rows), lead_pt=4.0)
    figures = printed(Para("172", "left", 0), body_pt=7.0)
    x, y, wide, high = map(round, figures.lines[0].box)
    small = figures.image[y : y + high, x : x + wide]
    numbers = round(proof.lines[0].box[0]) + 60
    image = np.full_like(proof.image, 255)
    image[:, :numbers] = proof.image[:, :numbers]
    paste(image, proof.image[:, numbers:-70], numbers + 70, 0)
    for true in proof.lines:
        foot = round(true.baseline_y + 0.7 * true.x_height_px)
        paste(image, small, numbers + 15, foot - high)
    lines = find_lines(sheet_of(image))
    assert len(lines) == 3


def test_a_short_row_of_a_small_table_slopes_as_its_sheet_does():
    """Six letters far apart tell no slope; on a picture a little askew the last stood low."""
    rows = [("Place", "Fair", "Toll"), ("Aldham", "in May", ""), ("Birk", "", "4d.")]
    rows += [("Corsley", "at Easter", "2d."), ("Ewell", "in June", "6d.")]
    image = np.pad(
        table_of(rows, (12, 12, 8), level=False, upright=False, boxed=False),
        90,
        constant_values=255,
    )
    tall, wide = image.shape
    turned = cv2.getRotationMatrix2D((wide / 2, tall / 2), -0.12, 1)
    image = cv2.warpAffine(image, turned, (wide, tall), flags=cv2.INTER_CUBIC, borderValue=255)
    slopes = [
        (line.baseline[1] - line.baseline[0]) / line.box.width
        for line in find_lines(sheet_of(image))
    ]
    assert slopes == pytest.approx([np.tan(np.radians(0.12))] * len(rows), abs=4e-4)


def test_two_columns_of_items_with_leaders_are_one_line_a_row(prices):
    lines = find_lines(sheet_of(prices.image))
    assert matches(lines, prices) < 0.15
    assert [line.column for line in lines] == [max(true.column, 0) for true in prices.lines]


@pytest.mark.parametrize("dpi", [150, 200, 400, 600])
def test_resolutions(dpi):
    proof = printed(
        Head("SUMMER CONCERT", 18, letterspace_pt=1.5),
        Para(PROSE),
        Leader("Broad bean, per quart", "1s. 2d."),
        dpi=dpi,
    )
    lines = find_lines(sheet_of(proof.image, dpi))
    assert matches(lines, proof) < 0.3
    assert lines[2].baseline[0] == pytest.approx(proof.lines[2].baseline_y, abs=dpi / 300 + 0.5)


@pytest.mark.parametrize("wear", ["good", "worn"])
def test_a_worn_pull_gives_the_same_lines(wear):
    proof = printed(Head("NOTICE", 14, letterspace_pt=1.0), Para(PROSE), measure=14)
    assert len(find_lines(sheet_of(pull(proof, wear, seed=3)))) == len(proof.lines)


@pytest.mark.parametrize(
    ("name", "file", "size_pt"),
    [
        ("schola", "texgyreschola-regular.otf", 10.0),
        ("old-standard", "OldStandard-Regular.ttf", 12.0),
    ],
)
def test_x_height_is_that_of_the_face(name, file, size_pt):
    """Against the height of the face's own flat "x", drawn large with FreeType by Pillow."""
    proof = printed(Para(PROSE), family=name, body_pt=size_pt)
    font = ImageFont.truetype(str(Path(__file__).parent / "faces" / file), 1000)
    top = font.getbbox("x", anchor="ls")[1]
    true = -top / 1000 * size_pt * 300 / 72.27
    for line in find_lines(sheet_of(proof.image)):
        assert line.x_height_px == pytest.approx(true, rel=0.06)


def test_body_is_near_the_true_one_and_the_same_for_all_lines_of_a_size():
    proof = printed(Para(PROSE), body_pt=10.0)
    bodies = {line.body_pt for line in find_lines(sheet_of(proof.image))}
    assert len(bodies) == 1
    assert bodies.pop() == pytest.approx(10.0, rel=0.15)


def test_body_is_never_more_than_the_distance_of_solid_lines():
    proof = printed(Para(PROSE), body_pt=10.0, lead_pt=0.0, family="schola")
    for line in find_lines(sheet_of(proof.image)):
        assert line.body_pt <= 10.1


def test_tilted_lines_have_tilted_baselines():
    proof = printed(Para(PROSE), measure=26)
    slope = np.tan(np.radians(0.6))
    height, width = proof.image.shape
    shear = np.array([[1, 0, 0], [slope, 1, 0]], float)
    tilted = cv2.warpAffine(proof.image, shear, (width, height + 60), borderValue=255)
    lines = find_lines(sheet_of(tilted))
    assert len(lines) == len(proof.lines)
    for found, true in zip(lines, proof.lines, strict=True):
        if found.box.width > width / 2:
            fall = (found.baseline[1] - found.baseline[0]) / found.box.width
            assert fall == pytest.approx(slope, abs=0.001)
        assert found.baseline[0] == pytest.approx(true.baseline_y + slope * found.box.x, abs=1.5)


def with_touches(proof):
    """Solid matter over-inked: descenders run into the ascenders under them; and how many."""
    image, count = proof.image.copy(), 0
    for upper, lower in itertools.pairwise(proof.lines):
        for one in upper.letters:
            for other in lower.letters:
                x = max(one.box[0], other.box[0]) + 3
                right = min(one.box[0] + one.box[2], other.box[0] + other.box[2]) - 3
                if one.text in "gpqyj" and other.text in "bdfhklT" and right - x > 2:
                    top = round(one.box[1] + one.box[3]) - 3
                    image[top : round(other.box[1]) + 3, round(x) : round(x) + 3] = 0
                    count += 1
    return image, count


def test_solid_matter_whose_descenders_touch_the_next_line():
    proof = printed(Para((PROSE + " ") * 4), body_pt=10.0, lead_pt=0.0, measure=18)
    image, count = with_touches(proof)
    assert count > 4
    lines = find_lines(sheet_of(image))
    assert matches(lines, proof) < 0.35
    for found, true in zip(lines, proof.lines, strict=True):
        assert found.baseline[0] == pytest.approx(true.baseline_y, abs=0.8)


def test_short_lines_indents_single_letters_and_page_numbers():
    proof = printed(
        Para("12", align="centre"),
        Gap(12),
        Para(PROSE + " He said so to me."),
        Para("I", align="left"),
        Para("“No.”", align="left"),
        Para(PROSE),
        Gap(12),
        Para("B", align="right"),
    )
    assert matches(find_lines(sheet_of(proof.image)), proof) < 0.2


def test_small_words_at_the_end_of_a_paragraph_are_small_letters_and_heads_capitals():
    proof = printed(
        Head("NOTE", 10, letterspace_pt=0), Gap(6), Para(PROSE * 2), Para("more news", "left", 0)
    )
    lines = find_lines(sheet_of(proof.image))
    assert lines[-1].x_height_px == pytest.approx(lines[2].x_height_px, rel=0.02)
    assert lines[0].x_height_px < 1.2 * lines[2].x_height_px


@pytest.mark.parametrize(
    "ending", ["machine woven cane.", "years in succession.", "as seen in a cove"]
)
def test_a_last_line_with_hardly_a_tall_letter_has_the_size_of_its_paragraph(ending):
    proof = printed(Para(PROSE * 2), Para(ending, "left", 0), Para(PROSE))
    lines = find_lines(sheet_of(proof.image))
    true = next(line for line in proof.lines if line.text.startswith(ending[:5]))
    found = lines[proof.lines.index(true)]
    assert found.x_height_px == pytest.approx(true.x_height_px, rel=0.04)


@pytest.mark.parametrize(
    ("dotted", "others", "wanted"),
    [(True, [20.0], 20.0), (False, [20.0], 13.6), (True, [20.0, 13.6], 13.6)],
)
def test_a_short_line_set_in_is_of_small_letters_if_one_of_them_has_a_dot(dotted, others, wanted):
    """Unless the sheet has a size whose capitals are as high: the dot may be a speck."""
    sure = [Fit(0.0, 0.0, size, 20, 500.0, sure=True, height=size) for size in others]
    short = Fit(0.0, 0.0, 13.6, 5, 110.0, sure=False, height=20.0, signs=int(dotted), dotted=dotted)
    found = share_sizes([*sure, short], [True] * len(sure) + [False])
    assert found[-1].x_height == pytest.approx(wanted)


def test_a_line_in_small_capitals_as_tall_as_small_letters_keeps_the_size_of_capitals():
    """Small capitals are about as tall as small letters (common practice)."""
    small_capitals = Head("NEWS FROM A RIVER CAVERN", 6.9, letterspace_pt=0)
    proof = printed(Para(PROSE * 2), small_capitals, Para(PROSE))
    lines = find_lines(sheet_of(proof.image))
    place = next(i for i, line in enumerate(proof.lines) if line.text.isupper())
    assert lines[place].x_height_px < 0.8 * lines[0].x_height_px


def test_bent_lines_with_wide_spaces_stay_whole():
    """A page that curls at its spine; lines fall by more than an x-height from end to end."""
    proof = printed(Para((PROSE + " ") * 3), measure=40)
    height, width = proof.image.shape
    second = proof.lines[1]
    size = second.x_height_px
    start = next(s.box[0] for s in second.letters if s.text == " " and s.box[0] > 400)
    top, bottom = round(second.box[1]) - 2, round(second.box[1] + second.box[3]) + 2
    x, widened = round(start) - 2, round(2 * size)
    proof.image[top:bottom, x + widened :] = proof.image[top:bottom, x : width - widened].copy()
    proof.image[top:bottom, x : x + widened] = 255
    column = np.arange(width, dtype=np.float32)
    fall = 1.6 * size * np.sin(np.pi / 2 * column / width)
    places = np.broadcast_to(column, (height + 60, width))
    rows = np.arange(height + 60, dtype=np.float32)[:, None] - fall
    image = cv2.remap(
        proof.image, places.copy(), rows.astype(np.float32), cv2.INTER_LINEAR, borderValue=255
    )
    lines = find_lines(sheet_of(image))
    assert len(lines) == len(proof.lines)
    for found, true in zip(lines, proof.lines, strict=True):
        right = true.box[0] + true.box[2] + (widened if true is second else 0)
        assert found.box.x == pytest.approx(true.box[0], abs=3)
        assert found.box.right == pytest.approx(right, abs=3)


def test_columns_of_prose_with_heading_and_foot():
    column = (Para(PROSE), Para(PROSE), Para(PROSE))
    proof = printed(
        Head("NEWS OF THE BRIDGE", 16),
        Columns(column, column[:2], gutter_pt=14, rule=False),
        Gap(6),
        Para("Printed for the wardens and sold at the ferry by the keeper of it.", align="centre"),
        measure=36,
    )
    lines = find_lines(sheet_of(proof.image))
    assert matches(lines, proof) < 0.15
    assert [line.column for line in lines] == [max(true.column, 0) for true in proof.lines]


def test_three_columns_run_left_to_right():
    proof = printed(Para(PROSE), measure=12)
    height, width = proof.image.shape
    page = np.full((height + 80, 3 * width), 255, np.uint8)
    for index, drop in enumerate((0, 13, 40)):
        paste(page, proof.image, index * (width - 150), drop)
    lines = find_lines(sheet_of(page))
    count = len(proof.lines)
    assert [line.column for line in lines] == [0] * count + [1] * count + [2] * count
    tops = [line.box.y for line in lines[:count]]
    assert tops == sorted(tops)


def test_figures_far_to_the_right_without_leaders_belong_to_their_rows():
    items = [("Rake", "1s. 9d."), ("Hoe, Dutch", "1s. 7d."), ("Spade, strapped", "4s. 4d.")] * 3
    page = np.full((1000, 1400), 255, np.uint8)
    for row, (item, price) in enumerate(items):
        left = printed(Para(item, align="left"), measure=10).image
        right = printed(Para(price, align="right"), measure=8).image
        paste(page, left, 0, 60 * row)
        paste(page, right, 1400 - right.shape[1], 60 * row)
    lines = find_lines(sheet_of(page))
    assert len(lines) == len(items)
    assert all(line.box.width > 900 for line in lines)


def beside_a_rule(beside):
    """Ten names at the left of an upright rule as high as they are, and what is level with some."""
    page = np.full((1060, 1700), 255, np.uint8)
    for row in range(10):
        paste(page, printed(Para("Master Tanner", align="left"), measure=10).image, 0, 60 * row)
    page[140:830, 640:644] = 0
    for row, text in beside.items():
        paste(page, printed(Para(text, align="left"), measure=9).image, 600, 60 * row)
    return find_lines(sheet_of(page))


def test_a_rule_as_high_as_the_matter_parts_a_column_of_names_from_a_letter():
    lines = beside_a_rule({3: "19", 7: "Madam or Sir,"})
    assert [line.column for line in lines] == [0] * 10 + [1] * 2


def test_a_rule_within_a_table_parts_no_row():
    lines = beside_a_rule(dict.fromkeys([0, 1, 2, 4, 5, 7, 8, 9], "1s. 9d."))
    assert len(lines) == 10
    assert sum(line.box.width > 550 for line in lines) == 8


@pytest.mark.parametrize("white", [30, 90])
def test_a_number_in_large_type_between_small_words_is_a_line_of_its_own(white):
    large = printed(Head("2614", 36), measure=14)
    parts = [printed(Para(text, align="left"), measure=10) for text in ("Whole ticket,", "5 pence")]
    page = np.full((900, 2200), 255, np.uint8)
    x = 0
    for proof, drop in ((parts[0], 60), (large, 0), (parts[1], 60)):
        left, top, width, height = (round(side) for side in proof.lines[0].box)
        paste(page, proof.image[top - 2 : top + height + 2, left : left + width], 60 + x, 60 + drop)
        x += width + white
    paste(page, printed(Para(PROSE), measure=16).image, 60, 100)
    lines = find_lines(sheet_of(page))[:3]
    assert [line.box.y > 250 for line in lines] == [False] * 3
    assert [line.box.x for line in lines] == sorted(line.box.x for line in lines)
    assert lines[1].x_height_px > 2 * lines[0].x_height_px


def test_rules_boxes_cuts_specks_and_borders_are_no_lines():
    proof = printed(Para(PROSE), measure=16)
    height, width = proof.image.shape
    page = np.full((height + 900, width + 700), 255, np.uint8)
    paste(page, proof.image, 100, 100)
    cv2.rectangle(page, (120, 120), (width + 80, height + 80), 0, 4)
    cv2.line(page, (width + 200, 50), (width + 200, height + 600), 0, 3)
    page[height + 300 : height + 312, 100 : width + 600] = 0
    y, x = np.mgrid[0:400, 0:500]
    cut = np.where(np.hypot(y % 12 - 6, x % 12 - 6) < 2 + 5 * (x + y) / 900, 0, 255)
    paste(page, cut.astype(np.uint8), 150, height + 380)
    page[:, :25] = 0
    page[-30:] = 0
    rng = np.random.default_rng(1)
    for _ in range(300):
        page[rng.integers(0, page.shape[0] - 2), rng.integers(0, page.shape[1] - 2)] = 0
    lines = find_lines(sheet_of(page))
    assert len(lines) == len(proof.lines)
    for found, true in zip(lines, proof.lines, strict=True):
        assert found.baseline[0] == pytest.approx(true.baseline_y + 100, abs=1.5)


def test_dimension_lines_of_a_drawing_are_no_lines_but_folios_and_short_words_are():
    proof = printed(
        Para("— 12 —", align="centre"),
        Para(PROSE),
        Gap(60),
        Para("FIG. 2.", align="centre"),
        Para("TO LET", align="centre"),
        Para("T.", align="left"),
    )
    page = proof.image
    top = round(proof.lines[-3].box[1]) - 200
    for y, left, right in ((top, 420, 700), (top + 60, 300, 560), (top + 120, 500, 640)):
        for x in (left, right):
            cv2.line(page, (x, y - 12), (x, y + 12), 0, 2)
            toward = 8 if x == left else -8
            cv2.line(page, (x, y), (x + toward, y - 4), 0, 2)
            cv2.line(page, (x, y), (x + toward, y + 4), 0, 2)
        cv2.line(page, (left, y), (right, y + 1), 0, 2)
    assert matches(find_lines(sheet_of(page)), proof) < 0.2


def test_a_dropped_initial_belongs_to_its_first_line():
    first = printed(Para(PROSE * 2, indent_pt=0.0), measure=16)
    big = printed(Para("N", align="left", style=Style(body_pt=40.0)), measure=6)
    letter = big.lines[0]
    x, y, width, height = (round(side) for side in letter.box)
    page = np.full((first.image.shape[0] + 100, first.image.shape[1] + 300), 255, np.uint8)
    paste(page, first.image, 200, 50)
    lines_true = first.lines
    left = 200 + round(lines_true[0].box[0])
    top = 50 + round(lines_true[0].box[1])
    paste(page, big.image[y : y + height, x : x + width], left - width - 6, top)
    lines = find_lines(sheet_of(page))
    assert len(lines) == len(lines_true)
    assert lines[0].box.x == pytest.approx(left - width - 6, abs=2)
    assert lines[0].box.bottom == pytest.approx(top + height, abs=2)
    assert lines[1].box.x > left - 4


@pytest.mark.parametrize(
    "image",
    [
        np.full((600, 400), 255, np.uint8),
        np.full((600, 400), 240, np.uint8),
        np.zeros((600, 400), np.uint8),
        np.full((1, 1), 255, np.uint8),
        np.full((3, 2000), 0, np.uint8),
        np.random.default_rng(0).integers(235, 255, (500, 500)).astype(np.uint8),
    ],
)
def test_sheets_without_lines_have_none(image):
    assert find_lines(sheet_of(image)) == ()


def test_noise_does_not_crash():
    image = np.random.default_rng(0).integers(0, 256, (700, 700)).astype(np.uint8)
    find_lines(sheet_of(image))


def test_numbers_go_on_from_the_sheets_before(concert):
    lines = find_lines(sheet_of(concert.image, number=2), first_number=41)
    assert [line.number for line in lines][:2] == [41, 42]
    assert {line.sheet for line in lines} == {2}


def test_a_scanned_page_with_curled_lines():
    """`skimage.data.page`: a scanned page of print (scikit-image, BSD-3), light made even here."""
    data = pytest.importorskip("skimage.data")
    image = cv2.resize(data.page(), None, fx=2, fy=2, interpolation=cv2.INTER_CUBIC)
    paper = cv2.morphologyEx(image, cv2.MORPH_CLOSE, np.ones((41, 41), np.uint8))
    even = cv2.divide(image, cv2.GaussianBlur(paper, (0, 0), 15), scale=255).astype(float)
    lines = find_lines(sheet_of(np.clip((even - 110) * 2.04, 0, 255).astype(np.uint8), 200.0))
    # "Region-based segmentation" and the five lines of its first paragraph, counted by eye.
    heads = [line for line in lines if line.box.y < 300]
    assert len(heads) == 6
    assert heads[0].x_height_px > 1.3 * heads[1].x_height_px
