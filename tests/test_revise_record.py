"""A revise that takes the earlier proof from its record: as when it is read, and not read again."""

from pathlib import Path

import numpy as np
import pytest
from docket_cases import decide_all, quick_folder
from PIL import Image
from typesetter import Para, Style, compose, print_proof, pull

import proofcheck.revise.earlier
from proofcheck import Options, check_proof
from proofcheck.base.errors import RecordError
from proofcheck.copytext import load_copy
from proofcheck.docket import People, ProofTaken, open_docket, open_job, pull_proof, take_copy
from proofcheck.docket.originals import Original
from proofcheck.results.report_json import report_text, report_to_json
from proofcheck.revise.revise_errors import ReviseError
from proofcheck.revise.revise_job import revise_files, revise_of_job
from proofcheck.revise.revise_report import revise_json

QUICK = Options(type_too=False, recast=False, second_look=False)
TEXT = (
    "The ferry at Orrenmouth will cross every half hour from seven in the morning until dusk, and "
    "after the lamps are lit as often as four persons are waiting on the slip. Carts pay double."
)


def print_to(path, text, seed):
    style = Style("schola", body_pt=11)
    proof = print_proof(compose([Para(text)], measure_picas=20, style=style))
    Image.fromarray(np.asarray(pull(proof, "good", seed=seed))).save(path, dpi=(300, 300))
    return path


@pytest.fixture(scope="module")
def ferry(tmp_path_factory):
    """The copy, a proof with a fault, its record, and a revise that has it put right."""
    folder = tmp_path_factory.mktemp("ferry")
    (folder / "copy.txt").write_text(TEXT + "\n")
    print_to(folder / "proof.png", TEXT.replace("lamps", "lumps"), 1)
    print_to(folder / "revise.png", TEXT, 2)
    report = check_proof(folder / "proof.png", folder / "copy.txt", options=QUICK)
    (folder / "proof.json").write_text(report_text(report))
    return folder, report


@pytest.fixture
def read_again(monkeypatch):
    """Counts how often an earlier proof is read again."""
    count = []

    def counted(*arguments, **named):
        count.append(arguments)
        return check_proof(*arguments, **named)

    monkeypatch.setattr(proofcheck.revise.earlier, "check_proof", counted)
    return count


def revised(folder, *earlier, **more):
    files = [folder / name for name in earlier]
    copy = str(folder / "copy.txt")
    return revise_files([folder / "revise.png"], files, copy, options=QUICK, **more)


def test_the_record_stands_for_the_reading(ferry, read_again):
    folder, report = ferry
    anew = revised(folder, "proof.png")
    assert len(read_again) == 1
    taken = revised(folder, "proof.json", "proof.png")
    assert len(read_again) == 1
    assert revise_json(taken.told, taken.earlier, taken.later) == revise_json(
        anew.told, anew.earlier, anew.later
    )
    assert [c.made.value for c in taken.told.corrections] == ["made"] * len(report.faults)
    assert report.faults


def test_a_record_that_will_not_do_is_refused(ferry, tmp_path):
    folder, _ = ferry
    with pytest.raises(ReviseError, match="with it the scans"):
        revised(folder, "proof.json")
    with pytest.raises(ReviseError, match="one record"):
        revised(folder, "proof.json", "proof.json", "proof.png")
    with pytest.raises(RecordError, match="none of these scans is sheet 1"):
        revised(folder, "proof.json", "revise.png")
    old = tmp_path / "old.txt"
    old.write_text(TEXT.replace("seven", "eight"))
    with pytest.raises(ReviseError, match="other copy"):
        revised(folder, "proof.json", "proof.png", old_copy=str(old))


@pytest.mark.parametrize(
    ("how", "readings"),
    [("read here", 0), ("taken in", 1), ("under other choices", 1), ("version 1", 1)],
)
def test_the_docket_has_the_earlier_proof_on_record(ferry, read_again, how, readings):
    folder, report = ferry
    with quick_folder() as place:
        docket = open_docket(str(Path(place) / "docket.db"), create=True)
        open_job(docket, "214", {}, by="ab")
        copy = load_copy(str(folder / "copy.txt"))
        take_copy(docket, "214", copy, Original.of(folder / "copy.txt"), by="ab")
        told = report_to_json(report)
        if how == "version 1":
            told = {n: v for n, v in told.items() if n not in {"record", "digest"}} | {"report": 1}
        scans = (Original.of(folder / "proof.png"),)
        here = how != "taken in"
        pull_proof(docket, "214", ProofTaken(told, scans, People(), here=here), by="ab")
        decide_all(docket, "correct", "214")
        options = Options(
            type_too=False,
            recast=False,
            second_look=False,
            query_certainty=0.03 if how == "under other choices" else QUICK.query_certainty,
        )
        read = revise_of_job(docket, "214", [folder / "revise.png"], by="ab", options=options)
        assert len(read_again) == readings
        assert [c.made.value for c in read.told.corrections] == ["made"] * len(report.faults)
        assert len(docket.job("214").proofs) == 2
