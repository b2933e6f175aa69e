"""The compared form, the way back from it, and the named allowances."""

import unicodedata

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from proofcheck.base.errors import SettingError
from proofcheck.base.values import Span
from proofcheck.collate.same import Rules, compared, is_letter


@pytest.mark.parametrize(
    ("source", "form"),
    [
        ("“Yes,” he said; ‘no’", "\"Yes,\" he said; 'no'"),
        ("``Yes,'' he said", '"Yes," he said'),
        ("“‘Yes’”", "\"'Yes\"'"),
        ("the end\n\n  of it\u00a0\u2009all ", "the end of it all"),
        ("soft\u00adhyphen\u200b and \ufeffmark", "softhyphen and mark"),
        ("a \u00ad b", "a b"),
        ("oﬃce ﬁsh ﬂat oﬀ", "office fish flat off"),
        ("Ｆｕｌｌ １２", "Full 12"),
        ("ΑΘΗΝΑ, ότι; Țepeș, Ðuro", "AΘHNA, óτι; Ţepeş, Đuro"),
        ("cafe\u0301 na\u00efve", "café naïve"),
        ("non\u2011break to\u2010day", "non-break to-day"),
        ("wait . . . and ... so on....", "wait … and … so on.…"),
        ("per oz. ....... 3d.", "per oz. …… 3d."),
        ("wait. . . then", "wait… then"),
        ("per quart .. 1s.", "per quart …… 1s."),
        ("Doors open .......... 7", "Doors open …… 7"),
        ("", ""),
        (" \n ", ""),
    ],
)
def test_what_looks_alike_is_written_alike(source, form):
    assert compared(source).text == form


@pytest.mark.parametrize(
    ("source", "form"),
    [
        ("well -- then", "well—then"),
        ("well--then", "well—then"),
        ("well --- then", "well—then"),
        ("well - then", "well - then"),
        ("----------", "----------"),
    ],
)
def test_typed_dashes_are_dashes_in_copy_alone(source, form):
    assert compared(source, typed=True).text == form
    assert compared(source).text == " ".join(source.split())
    assert compared(source, Rules().without("typed-dash"), typed=True).text == source


@pytest.mark.parametrize(
    "pair",
    ["-–", "–—", "aA", "eé", ".,", "01", "lI", ";:", "oø", "șs", "ΛA", "ΔA", "νv", "Đð", "ĐD"],
)
def test_dashes_capitals_points_figures_and_accents_are_never_waived(pair):
    one, other = (compared(char, typed=True).text for char in pair)
    assert one != other


def test_the_way_back_leads_to_the_source():
    source = "“Oﬃce”  hours -- ten"
    form = compared(source, typed=True)
    assert form.text == '"Office" hours—ten'
    at = form.text.index("hours")
    assert source[slice(*form.span(at, at + 5))] == "hours"
    dash = form.text.index("—")
    assert source[slice(*form.span(dash, dash + 1))] == " -- "
    # The letters of a ligature all come from it.
    assert [source[slice(*form.span(k, k + 1))] for k in (2, 3, 4)] == ["ﬃ"] * 3
    assert form.span(at, at) == Span(source.index("hours"), source.index("hours"))
    assert form.span(len(form.text), len(form.text)) == Span(len(source), len(source))


TEXT = st.text(
    st.sampled_from("abAB  \n\t.-—–'\"“”‘’`ﬁﬃé\u0301\u00ad\u200b\u00a0…;!1"), max_size=60
)


@given(TEXT, st.booleans())
@settings(max_examples=300, derandomize=True)
def test_positions_rise_and_cover_what_is_kept(text, typed):
    form = compared(text, typed=typed)
    assert len(form.text) == len(form.start) == len(form.end) == len(form.altered)
    assert (np.diff(form.start) >= 0).all()
    assert (form.end > form.start).all()
    assert "  " not in form.text
    assert form.text == form.text.strip(" ")
    for k, char in enumerate(form.text):
        if not form.altered[k]:
            assert text[form.start[k] : form.end[k]] == char
    # Nothing but white and invisible characters is lost.
    kept = set()
    for start, end in zip(form.start.tolist(), form.end.tolist(), strict=True):
        kept.update(range(start, end))
    lost = {text[k] for k in range(len(text)) if k not in kept}
    assert all(char.isspace() or unicodedata.category(char) == "Cf" for char in lost)


@given(TEXT)
@settings(max_examples=200, derandomize=True)
def test_the_compared_form_of_a_compared_form_is_itself(text):
    once = compared(text).text
    # Four points are an ellipsis and a point: set together again they are points in a row.
    if "…." not in once and "….." not in once:
        assert compared(once).text == once


@pytest.mark.slow
def test_a_megabyte_of_hostile_copy_keeps_the_way_back():
    for piece in (" ", ". ", "-", "'", "e\u0301", "\u00ad ", " -- "):
        text = piece * (1_000_000 // len(piece))
        form = compared(text, typed=True)
        assert len(form.start) == len(form.text)
        assert (form.start[1:] >= form.start[:-1]).all()


def test_a_long_run_of_figures_is_gone_over_once():
    """Half a million of them: gone over from each, it would take hours."""
    run = "9" * 500_000
    assert compared(run, typed=True).text == run
    assert compared(f"{run}\u20448", typed=True).text == f"{run}/8"


def test_rules_have_names_and_can_be_switched():
    assert "quote-shape" in Rules().names
    assert "division-run" not in Rules().names
    strict = Rules().without("quote-shape", "folio")
    assert not strict.quote_shape
    assert not strict.folio
    assert strict.ligature
    assert compared("“a”", strict).text == "“a”"
    assert Rules().along_with("division-run").division_run


def test_an_unknown_rule_is_refused_by_name():
    with pytest.raises(SettingError, match=r"no allowance is called 'spelling'.*quote-shape"):
        Rules().without("spelling")


def test_letters_and_points():
    assert all(map(is_letter, "aZ9é&£½°"))
    assert not any(map(is_letter, " .,;—-'\"()*"))
