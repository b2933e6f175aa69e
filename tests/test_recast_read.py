"""Recasting in a whole reading: the report, the terminal and the lists as a file."""

from __future__ import annotations

import io
import json
from pathlib import Path

from proofcheck.base.options import Options
from proofcheck.read_job import Progress, ReadJob, run_read

SAMPLES = Path(__file__).parent.parent / "samples"


def read(folder: Path, copy: Path, **options) -> tuple[str, dict]:
    job = ReadJob(
        scans=(SAMPLES / "notice-proof.png",),
        copy=str(copy),
        options=Options(second_look=False, bands="wide-range", **options),
        folder=folder,
        json=str(folder / "report.json"),
    )
    out = io.StringIO()
    run_read(job, out, Progress(None))
    return out.getvalue(), json.loads((folder / "report.json").read_text())


def test_a_fault_gives_the_lists(tmp_path):
    copy = tmp_path / "copy.txt"
    copy.write_text(
        (SAMPLES / "notice-copy.txt").read_text().replace("their own umbrellas", "own umbrellas")
    )
    shown, report = read(tmp_path, copy)
    (slug,) = report["recast"]
    assert len(slug["matter"]) == len(slug["lines"]) == 1
    assert "bring own umbrellas" in slug["matter"][0]
    assert slug["reason"] == ["F1"]
    assert slug["after"] == slug["lines"][0] - 1
    assert "To do: recast 1" in shown
    assert (tmp_path / "notice-proof-recast.pdf").read_bytes().startswith(b"%PDF")
    assert report["made"]["settings"]["bands"] == "wide-range"


def test_a_clean_proof_gives_none(tmp_path):
    shown, report = read(tmp_path, SAMPLES / "notice-copy.txt")
    assert report["recast"] == []
    assert "To do" not in shown
    assert not (tmp_path / "notice-proof-recast.pdf").exists()
