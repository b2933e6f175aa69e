"""Whole sheets made up or set otherwise than the copy, and the same sheets sound."""

import pytest
from PIL import Image
from typesetter import Columns, Gap, Head, Para, Style, compose, copy_of, print_proof, pull

from proofcheck import Options, check_proof
from proofcheck.base.found import Verdict
from proofcheck.base.kinds import Kind
from proofcheck.copytext import load_copy

TEXTS = (
    (
        "The ferry at Lower Brindle was built in the year of the great flood, and the first to "
        "cross by it was a goose, which paid no toll and would not go back."
    ),
    (
        "Old men of the village hold that the rope was made of flax grown upon the far bank, and"
        " that it was wetted every evening so that it might not sing in the wind."
    ),
    (
        "A toll of one farthing was asked of all but the miller, who paid for his household in "
        "flour, and of him only while the harvest lasted."
    ),
    (
        "When the bridge was opened nobody took down the rope, lest the bridge should fail; but "
        "the ferryman’s daughter sold the boat for fuel."
    ),
)
ONE, TWO, THREE, FOUR = (Para(text) for text in TEXTS)
STYLES = {
    "schola": Style(family="schola", body_pt=10),
    "goudy": Style(family="goudy", body_pt=11),
}
ONLY_TEXT = Options(type_too=False, recast=False)


def _read(folder, pages, copy, face="schola", measure=20.0):
    """The report on sheets of blocks, read against the copy of others."""
    scans = []
    for number, blocks in enumerate(pages):
        proof = print_proof(compose(blocks, measure_picas=measure, style=STYLES[face]))
        scans.append(folder / f"page-{number}.png")
        Image.fromarray(pull(proof, "good", seed=40 + number)).save(scans[-1], dpi=(300, 300))
    (folder / "copy.txt").write_text(copy_of(copy), encoding="utf-8")
    return check_proof(scans, load_copy(folder / "copy.txt"), options=ONLY_TEXT)


def _moved(report):
    (fault,) = report.faults
    assert fault.kind is Kind.LINES_TRANSPOSED
    return fault.mark.words


def test_two_columns_of_prose_are_clean_and_exchanged_they_are_not(tmp_path):
    copy = [ONE, TWO, THREE, FOUR]
    sound = [Columns((ONE, TWO), (THREE, FOUR))]
    assert _read(tmp_path, [sound], copy, measure=40.0).verdict is Verdict.CLEAN
    wrong = [Columns((THREE, FOUR), (ONE, TWO))]
    assert "column" in _moved(_read(tmp_path, [wrong], copy, measure=40.0))


def test_pages_with_heads_and_folios_are_clean_and_exchanged_they_are_not(tmp_path):
    head, gap = Head("THE BRINDLE FERRY", 12), Gap(8)
    copy = [head, ONE, TWO, THREE, FOUR]
    first = [head, gap, ONE, TWO, Gap(14), Head("14", 9)]
    second = [head, gap, THREE, FOUR, Gap(14), Head("15", 9)]
    report = _read(tmp_path, [first, second], copy, face="goudy")
    assert report.verdict is Verdict.CLEAN
    assert report.collation.waived["folio"] == 3
    assert "page" in _moved(_read(tmp_path, [second, first], copy, face="goudy"))


def test_a_paragraph_on_the_wrong_page_and_a_head_come_again_otherwise(tmp_path):
    head, gap = Head("TOLLS OF 1874", 12), Gap(8)
    copy = [head, ONE, TWO, THREE, FOUR]
    other = Head("TOLLS OF 1847", 12)
    report = _read(tmp_path, [[head, gap, ONE, THREE], [other, gap, TWO, FOUR]], copy)
    kinds = [fault.kind for fault in report.faults]
    assert Kind.LINES_TRANSPOSED in kinds
    assert ("47", "74") in {(fault.proof_text, fault.copy_text) for fault in report.faults}


@pytest.mark.parametrize("face", STYLES)
def test_what_is_joined_to_the_first_and_last_lines_is_told(tmp_path, face):
    last = Para("He won’t wait. . . . Tolls are paid at the stile")
    copy = [Head("BRINDLE FERRY", 12), ONE, last]
    last = Para("He won’ t wait. . . Tolls are paid at the stile 9")
    set_so = [Head("BRINDLE FERRY 1874", 12), ONE, last]
    report = _read(tmp_path, [set_so], copy, face)
    told = [(fault.proof_text.strip(), fault.copy_text.strip()) for fault in report.faults]
    assert ("1874", "") in told
    assert ("9", "") in told
    assert ("", ".") in told
    assert ("", "") in told


IMPRINT = "Printed at the Mill by the Weir"


@pytest.mark.parametrize(
    ("blocks", "named", "sound"),
    [
        ((ONE, TWO, Para(IMPRINT)), (IMPRINT,), True),
        ((ONE, TWO, Para(IMPRINT)), (), False),
        ((ONE, TWO, Para(IMPRINT.replace("Weir", "Wear"))), (IMPRINT,), False),
        ((ONE, Para(IMPRINT), TWO), (IMPRINT,), False),
    ],
    ids=["named", "not named", "with a slip", "within the matter"],
)
def test_a_line_the_shop_adds_is_named_once_in_its_settings(tmp_path, blocks, named, sound):
    """That an imprint stands at the foot, and is no matter of the copy, is common practice."""
    forme = compose(list(blocks), measure_picas=20, style=STYLES["schola"])
    scan = Image.fromarray(pull(print_proof(forme), "clean", seed=4))
    scan.save(tmp_path / "sheet.png", dpi=(300, 300))
    (tmp_path / "copy.txt").write_text(f"{TEXTS[0]}\n\n{TEXTS[1]}\n", "utf-8")
    asked = Options(type_too=False, recast=False, own_lines=named)
    report = check_proof(tmp_path / "sheet.png", tmp_path / "copy.txt", options=asked)
    assert (report.verdict is Verdict.CLEAN) is sound
    assert report.collation.waived.get("own-line", 0) == sound
