"""Casting against the trade's own tables and worked sums, each with its source.

Points and picas are checked in test_units.
"""

from __future__ import annotations

import pytest
from typesetter.faces import FACES, family

from proofcheck.base.bands import BANDS, band_kind
from proofcheck.base.errors import SettingError
from proofcheck.base.options import Options
from proofcheck.base.units import inches_to_pt, pt_to_inches
from proofcheck.recast.change import Change, NewSlug
from proofcheck.recast.cost import Rates, toll_of
from proofcheck.recast.faces import load_face, usual_face
from proofcheck.recast.handset import SPACES, load_bill, sorts_wanted, spaces_for
from proofcheck.recast.justify import fit_line, limits_of_bands, limits_of_case
from proofcheck.recast.keyed import keyed, units_of

THICK, THIN = BANDS["thick"], BANDS["extra-thin"]


def fills(measure_pt, letters_pt, gaps, band):
    """Whether the plan lets a line be filled so."""
    limits = limits_of_bands(band, 10)
    return fit_line(measure_pt, letters_pt, gaps, limits, spread=True) is not None


def test_a_line_of_twenty_picas_by_the_band():
    # Band widths: keyboard handbook of the machine, as quoted in a modern summary. The sum is
    # reckoned by hand: 240 pt, 8 gaps, letters 205 pt: 4.375 pt = .0605 in. = .4375 em of 10-pt.
    needed = (240 - 205) / 8
    assert needed == pytest.approx(4.375)
    assert pt_to_inches(needed) == pytest.approx(0.0605, abs=5e-5)
    assert THICK.least_in < pt_to_inches(needed) < THICK.greatest_in
    assert fills(240, 205, 8, THICK)


@pytest.mark.parametrize(
    ("band", "shortest", "longest"), [(THICK, 180.16, 218.32), (THIN, 185.48, 223.81)]
)
def test_how_long_the_letters_of_such_a_line_may_be(band, shortest, longest):
    # The same sum by hand, to the hundredth of a point.
    assert 240 - 8 * band.greatest_pt == pytest.approx(shortest, abs=0.005)
    assert 240 - 8 * band.least_pt == pytest.approx(longest, abs=0.005)
    limits = limits_of_bands(band, 10)
    for letters, fits in ((shortest - 0.1, False), (shortest + 0.1, True),
                          (longest - 0.1, True), (longest + 0.1, False)):  # fmt: skip
        assert (fit_line(240, letters, 8, limits, spread=True) is not None) is fits


def test_one_kind_of_band_refuses_what_another_takes():
    # By hand: 222 pt of letters leaves 2.25 pt a gap, .0311 in.: under a thick band's least.
    assert pt_to_inches((240 - 222) / 8) == pytest.approx(0.0311, abs=5e-5)
    assert not fills(240, 222, 8, THICK)
    assert fills(240, 222, 8, THIN)


def test_what_five_bands_open():
    # By hand: 5 × 4.77 = 23.9 pt, about two picas; a shop's rule of thumb says 3 pt a band.
    opened = 5 * (THICK.greatest_pt - THICK.least_pt)
    assert opened == pytest.approx(23.9, abs=0.06)
    assert THICK.greatest_pt - THICK.least_pt > 3


SIXTIETHS = {
    12: "5", 15: "4", 20: "3", 24: "5 5", 27: "4 5", 30: "n", 32: "3 5", 35: "3 4", 36: "5 5 5",
    39: "4 5 5", 40: "3 3", 42: "n 5", 44: "3 5 5", 45: "n 4", 47: "3 4 5", 48: "5 5 5 5",
    50: "n 3", 51: "4 5 5 5", 52: "3 3 5", 54: "n 5 5", 55: "3 3 4", 56: "3 5 5 5", 57: "n 4 5",
    59: "3 4 5 5", 60: "m",
}  # fmt: skip
NAMES = {"5": "5-to-em", "4": "4-to-em", "3": "3-to-em", "n": "en", "m": "em"}


@pytest.mark.parametrize("sixtieths", SIXTIETHS)
def test_the_table_of_sixtieths(sixtieths):
    # Stewart, *Typesetting* (1919): all 25 rows. Where two ways are as near and as few, as wide.
    named = [NAMES[piece] for piece in SIXTIETHS[sixtieths].split()]
    assert sum(SPACES[name] for name in named) == sixtieths
    found = spaces_for(sixtieths / 60)
    assert sum(SPACES[name] for name in found) == sixtieths
    assert len(found) <= len(named)


_LOWER = (
    "a30 b12 c16 d18 e40 f12 g12 h20 i30 j8 k8 l20 m16 n30 o30 p12 q6 r30 s30 t30 u16 v8 w12 "
    "x6 y12 z6"
)
_UPPER = (
    "A15 B6 C10 D8 E18 F7 G7 H8 I15 J5 K5 L10 M8 N15 O15 P8 Q3 R15 S15 T15 U8 V5 W6 X3 Y6 Z3 &6"
)
_POINTS = {".": 31, ",": 31, ":": 6, ";": 6, "-": 9, "’": 13, "!": 9, "?": 8, "(": 6, ")": 6}
_FIGURES = dict.fromkeys("123456789", 4) | {"0": 6, "$": 4}

JOB_FONT = (
    {entry[0]: int(entry[1:]) for entry in f"{_LOWER} {_UPPER}".split()}
    | _POINTS
    | _FIGURES
    | {"fi": 3, "fl": 3, "ff": 3, "ffi": 2, "ffl": 2}
)
# A 15A 30a font as sold (Stewart, *Type*, 1918); of figures given as "4 or 5" the fewer.


def change(text, line, old=()):
    slug = NewSlug(text, 240.0, 0.0, 0.0, 10.0)
    return Change((line, *old), line - 1, (slug,), ("F1",), "", "")


def test_sorts_are_counted_against_the_font():
    printed = {1: "the bnad", 2: "e" * 40, 3: "efficient"}
    wanted = sorts_wanted([change("the band", 1)], printed, JOB_FONT)
    assert wanted.put_in == {}
    assert wanted.in_galley == (1,)
    assert ("e", 43, 40) in wanted.short
    # The one joined ffi is held; nothing is taken apart.
    assert all(sort != "ffi" for sort, *_ in wanted.short)
    # Of a sort the font does not name it holds none.
    accented = sorts_wanted([change("the bând", 1)], printed, JOB_FONT)
    assert ("â", 1, 0) in accented.short
    more = sorts_wanted([change("the bands", 1)], printed, None)
    assert (more.put_in, more.in_galley, more.short) == ({"s": 1}, (), ())


def test_hand_spacing_keeps_to_good_work():
    # De Vinne, *Correct Composition*: 5-to-em now and then; two 3-to-ems too wide but passes.
    limits = limits_of_case(10)
    assert fit_line(100, 98.5, 1, limits, spread=True) is None
    assert fit_line(100, 93, 1, limits, spread=True) is None
    assert fit_line(100, 96.6, 1, limits, spread=True).steps == 0


def test_ems_and_time_are_summed():
    # 13 picas of 8-pt are 19.5 ems (by hand); rates are the shop's own.
    toll = toll_of([(2, 39.0, False), (1, 19.5, True)], 1, Rates(4, 3))
    assert (toll.slugs, toll.ems) == (3, 58.5)
    assert toll.minutes == 2 * 4 + 3 + 1 * 4 + 3 + 3
    assert (toll.alteration_slugs, toll.alteration_minutes) == (1, 7)
    assert toll_of([(2, 39.0, False)]).minutes == 0


def test_copy_is_keyed_as_type_has_it():
    text = "\"It's -- well -- 'done',\"  he  said"
    made = keyed(text, 0, len(text))
    assert made.text == "“It’s—well—‘done’,” he said"
    assert len(made.at) == len(made.text)
    assert [text[at] for at in made.at if text[at].isalnum()] == [
        char for char in made.text if char.isalnum()
    ]
    assert units_of("affix") == ["a", "ffi", "x"]


def test_a_face_of_the_shop_is_read(tmp_path):
    face = load_face(FACES / "texgyreschola-regular.otf")
    schola = family("schola").roman
    for char in "aemW&.’":
        assert face.width_em(char) == pytest.approx(schola.glyph(char).advance_em, abs=0.001)
    (tmp_path / "a.toml").write_text("[widths]\na = 0.5\n'fi' = 0.55\n")
    (tmp_path / "a.csv").write_text("unit,width_em\na,0.5\nfi,0.55\n")
    for name in ("a.toml", "a.csv"):
        table = load_face(tmp_path / name)
        assert (table.width_em("a"), table.width_em("fi")) == (0.5, 0.55)
    assert usual_face().width_em("é") == pytest.approx(usual_face().width_em("e"), abs=0.05)


@pytest.mark.parametrize(
    ("name", "text"),
    [("a.toml", "[widths\n"), ("a.toml", ""), ("a.toml", "[widths]\na = -1\n"), ("a.csv", "x\n1\n"),
     ("a.csv", "unit,width_em\na,wide\n"), ("a.otf", "no face"), ("a.txt", "a"),
     ("a.toml", "widths = 3\n")],
)  # fmt: skip
def test_a_bad_face_is_one_clear_line(tmp_path, name, text):
    path = tmp_path / name
    path.write_text(text)
    with pytest.raises(SettingError, match="face") as caught:
        load_face(path)
    assert "\n" not in str(caught.value)


def test_bad_settings_are_one_clear_line(tmp_path):
    with pytest.raises(SettingError, match="no spaceband is called 'fat'; there are: thick"):
        Options(bands="fat")
    with pytest.raises(SettingError, match="can't be read"):
        load_face(tmp_path / "none.otf")
    (tmp_path / "bill.toml").write_text("[sorts]\na = 'many'\n")
    for bad in ("bill.toml", "none.toml"):
        with pytest.raises(SettingError, match="bill of type"):
            load_bill(tmp_path / bad)
    (tmp_path / "bill.toml").write_text("[sorts]\na = 30\n")
    assert load_bill(tmp_path / "bill.toml") == {"a": 30}
    assert band_kind("thick").least_pt == pytest.approx(inches_to_pt(0.0375))
