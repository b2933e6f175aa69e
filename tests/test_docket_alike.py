"""Job numbers that look the same to a person are not two jobs unless that is said."""

from __future__ import annotations

import ctypes
import ctypes.util

import pytest
from docket_cases import begun, decide_all, ok, pull, quick_folder

from proofcheck.docket import export_job, import_job, open_docket, open_job
from proofcheck.docket.alike import LOOKS_LIKE, alike_among, skeleton
from proofcheck.docket.docket_errors import DocketError


@pytest.fixture
def docket():
    with quick_folder() as folder:
        yield open_docket(folder / "docket.db", create=True)


@pytest.mark.parametrize(
    ("held", "new"),
    [
        ("317", "３１７"),  # fullwidth: one by NFKC (Unicode Standard Annex #15)
        ("317", "3l7"),
        ("317", "3I7"),
        ("317", "3|7"),
        ("317", "0317"),
        ("317", "З17"),  # Cyrillic Ze
        ("317", "٣١٧"),  # by value
        ("508", "5O8"),
        ("508", "5О8"),  # Cyrillic O
        ("508", "5Ο8"),  # Greek Omicron
        ("A12", "А12"),  # Cyrillic A
        ("A12", "a12"),
        ("A12", "A 12"),
        ("A12", "A¹²"),
        ("B-7", "B–7"),
        ("B-7", "Β−7"),  # Greek Beta, minus
        ("XT9", "ХТ9"),  # Cyrillic both
        ("fig", "ﬁg"),
        ("Turner", "Tumer"),
    ],
)
def test_a_number_that_only_looks_like_another_is_refused_until_confirmed(docket, held, new):
    open_job(docket, held, {}, by="P.C.")
    with pytest.raises(DocketError, match="looks like job") as caught:
        open_job(docket, new, {}, by="P.C.")
    assert "\n" not in str(caught.value)
    assert docket.numbers() == (held,)
    entry = open_job(docket, new, {}, by="P.C.", another=True)
    assert entry.data["alike"] == [held]
    assert docket.numbers() == (held, " ".join(new.split()))


@pytest.mark.parametrize(
    ("held", "new"),
    [
        ("317", "318"), ("317", "3171"), ("317", "713"), ("317-1", "3171"), ("A12", "B12"),
        ("Oak", "Ash"), ("10", "100"), ("5", "S"), ("1906-3", "1906/3"),
    ],
)  # fmt: skip
def test_numbers_that_do_not_look_alike_are_two_jobs(docket, held, new):
    open_job(docket, held, {}, by="P.C.")
    open_job(docket, new, {}, by="P.C.")
    assert docket.numbers() == (held, new)


def test_a_job_not_there_is_told_with_the_one_that_looks_like_it(docket):
    open_job(docket, "2041", {}, by="P.C.")
    open_job(docket, "77", {}, by="P.C.")
    with pytest.raises(DocketError, match="looks like job 2041"):
        docket.job("2O4l")
    with pytest.raises(DocketError, match="the last opened is 77"):
        docket.job("99")


def test_a_job_from_an_archive_is_held_to_it_too():
    with quick_folder() as folder:
        docket = begun(folder)
        pull(docket)
        decide_all(docket)
        ok(docket)
        archive = export_job(docket, "1042", folder / "job.zip")
        (folder / "there").mkdir()
        there = open_docket(folder / "there" / "docket.db", create=True)
        open_job(there, "lO42", {}, by="X.Y.")
        with pytest.raises(DocketError, match="looks like job lO42"):
            import_job(there, archive, by="X.Y.")
        assert import_job(there, archive, by="X.Y.", another=True).new == 8
        assert import_job(there, archive, by="X.Y.").new == 0


def test_what_looks_alike_is_the_same_both_ways():
    for one, other in (("2O4l", "2041"), ("ХТ", "XT")):
        assert alike_among(one, [other]) == (other,)
        assert alike_among(other, [one]) == (one,)
        assert skeleton(one) == skeleton(other)


def _skeletons_by_icu():
    """ICU's own skeletons (UTS #39), where its library is installed."""
    name = ctypes.util.find_library("icui18n")
    version = name.rsplit(".so.", 1)[-1] if name else ""
    library = ctypes.CDLL(name) if version.isdigit() else None
    if library is None or not hasattr(library, f"uspoof_open_{version}"):
        pytest.skip("ICU is not installed")
    begin = getattr(library, f"uspoof_open_{version}")
    begin.restype = ctypes.c_void_p
    status = ctypes.c_int(0)
    checker = ctypes.c_void_p(begin(ctypes.byref(status)))
    made = getattr(library, f"uspoof_getSkeletonUTF8_{version}")

    def skeleton_of(text):
        data, out = text.encode(), ctypes.create_string_buffer(100)
        length = made(checker, 0, data, len(data), out, 100, ctypes.byref(ctypes.c_int(0)))
        return out.raw[:length].decode()

    return skeleton_of


def test_the_table_is_of_pairs_of_the_standard():
    """Unicode Technical Standard #39, confusables.txt, as ICU carries it."""
    skeleton_of = _skeletons_by_icu()
    for char, like in {**LOOKS_LIKE, "0": "O", "1": "l", "I": "l", "|": "l", "m": "rn"}.items():
        assert skeleton_of(char) == skeleton_of(like), (char, like)
