"""A whole job as one archive: it goes elsewhere whole, says what was done to it, is on record."""

from __future__ import annotations

import hashlib
import io
import sqlite3
import zipfile

import pytest
from docket_cases import JOB, begun, decide_all, pull, quick_folder

from proofcheck.docket import (
    Word,
    decide,
    export_job,
    import_job,
    open_docket,
    read_archive,
    sign_off,
    verify,
)
from proofcheck.docket.chain import HOUSE
from proofcheck.docket.docket_errors import ArchiveError, DocketError
from proofcheck.docket.originals import Original
from proofcheck.docket.show import imported_text


@pytest.fixture
def tmp_path():
    with quick_folder() as folder:
        yield folder


def full(tmp_path):
    docket = begun(tmp_path)
    pull(docket)
    decide_all(docket)
    sheet = Original("signed.pdf", b"%PDF signed")
    sign_off(docket, JOB, Word("ok-with-corrections", "the secretary", "signed sheet", "", sheet))
    return docket, export_job(docket, JOB, tmp_path / "job.zip")


def elsewhere(tmp_path):
    (tmp_path / "there").mkdir()
    return open_docket(tmp_path / "there" / "docket.db", create=True)


def test_a_job_goes_elsewhere_whole(tmp_path):
    docket, archive = full(tmp_path)
    there = elsewhere(tmp_path)
    taken = import_job(there, archive, by="X.Y.")
    assert (taken.job, taken.entries, taken.new) == (JOB, 8, len(docket.entries()))
    assert [e.body for e in there.entries(JOB)] == [e.body for e in docket.entries()]
    assert verify(there).troubles == ()
    decide(docket, JOB, "F1", "stand", by="B.A.", note="seen again")
    later = import_job(there, export_job(docket, JOB, tmp_path / "later.zip"), by="X.Y.")
    assert (later.new, later.before) == (1, (taken.entry,))
    assert verify(there).troubles == ()
    with zipfile.ZipFile(archive) as held:
        assert held.testzip() is None
        assert "job.json" in held.namelist()


def test_what_was_taken_in_is_on_record_and_the_job_goes_on(tmp_path):
    docket, archive = full(tmp_path)
    there = elsewhere(tmp_path)
    entry = import_job(there, archive, by="X.Y.").entry
    held = there.entries()[-1]
    assert (held, held.job, held.kind, held.by) == (entry, HOUSE, "imported", "X.Y.")
    assert held.data == {
        "job": JOB,
        "archive": "job.zip",
        "sha256": hashlib.sha256(archive.read_bytes()).hexdigest(),
        "entries": [1, 8],
        "last": docket.entries()[-1].sha256,
    }
    assert (there.numbers(), [job.number for job in there.jobs()]) == ((JOB,), [JOB])
    with pytest.raises(DocketError, match="no job"):
        there.job(HOUSE)
    # What is recorded on follows on the job's own last entry, and goes back whole.
    after = decide(there, JOB, "F1", "stand", by="X.Y.", note="seen again")
    assert (after.place, after.before) == (9, docket.entries()[-1].sha256)
    back = export_job(there, JOB, tmp_path / "back.zip")
    assert import_job(docket, back, by="B.A.").new == 1
    assert verify(docket).troubles == verify(there).troubles == ()
    with sqlite3.connect(tmp_path / "there" / "docket.db") as meddled:
        meddled.execute("UPDATE docket_entries SET body = replace(body, 'X.Y.', 'Q.Q.')")
    meddled.close()
    assert any("of the docket's own" in words for words in verify(there).troubles)


def test_what_is_taken_in_again_is_said_to_be_here_and_not_recorded(tmp_path):
    docket, archive = full(tmp_path)
    there = elsewhere(tmp_path)
    import_job(there, archive, by="X.Y.")
    held = there.entries()
    again = import_job(there, archive, by="B.A.")
    assert (again.new, again.entry, there.entries()) == (0, None, held)
    told = imported_text(again, there.shop)
    assert "nothing new: all 8 entries of job 1042" in told
    assert "last taken in from job.zip by X.Y." in told
    assert "made here" in imported_text(import_job(docket, archive, by="B.A."), docket.shop)
    with pytest.raises(DocketError, match="initials"):
        import_job(there, archive, by=" ")


def test_two_records_that_parted_are_not_mixed(tmp_path):
    docket, archive = full(tmp_path)
    there = elsewhere(tmp_path)
    import_job(there, archive, by="X.Y.")
    decide(there, JOB, "F1", "stand", by="X.Y.", note="seen again")
    decide(docket, JOB, "F1", "query", by="B.A.", note="seen again")
    later = export_job(docket, JOB, tmp_path / "later.zip")
    with pytest.raises(ArchiveError, match="entry 9"):
        import_job(there, later, by="X.Y.")
    assert verify(there).troubles == ()


def test_every_byte_of_an_archive_counts(tmp_path):
    _, archive = full(tmp_path)
    data = archive.read_bytes()
    changed = tmp_path / "changed.zip"
    for at in range(0, len(data), 97):
        changed.write_bytes(data[:at] + bytes([data[at] ^ 0x20]) + data[at + 1 :])
        with pytest.raises(ArchiveError):
            read_archive(changed)


def test_an_archive_packed_anew_says_what_was_changed(tmp_path):
    _, archive = full(tmp_path)
    out = io.BytesIO()
    with zipfile.ZipFile(archive) as held, zipfile.ZipFile(out, "w") as anew:
        for name in held.namelist():
            if name != "entries/000004.json":
                anew.writestr(name, held.read(name).replace(b"%PDF signed", b"%PDF forged"))
    path = tmp_path / "anew.zip"
    path.write_bytes(out.getvalue())
    with pytest.raises(
        ArchiveError, match=r"entry 4 is missing.*signed.pdf has been changed.*seal"
    ):
        read_archive(path)


@pytest.mark.parametrize("data", [b"", b"PK\x03\x04", b"Programme of the concert\n" * 100])
def test_what_is_no_archive_is_refused(tmp_path, data):
    path = tmp_path / "no.zip"
    path.write_bytes(data)
    with pytest.raises(ArchiveError) as caught:
        read_archive(path)
    assert "\n" not in str(caught.value)
