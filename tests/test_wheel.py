"""The wheel, built as an installer builds it: it holds the whole product, no more, and it reads."""

from __future__ import annotations

import base64
import csv
import hashlib
import io
import json
import os
import shutil
import subprocess
import sys
import zipfile
from configparser import ConfigParser
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]

pytestmark = pytest.mark.slow

# What an installer calls, by PEP 517; no network, nothing fetched.
BUILD = "import sys; from setuptools.build_meta import build_wheel; build_wheel(sys.argv[1])"

# The first command, as the wheel's entry point calls it. A checkout that is installed to be edited
# may not step in for what the wheel lacks, so that its finder goes first.
CALL = """
import sys
wheel, room, name = sys.argv[1:4]
sys.meta_path[:] = [f for f in sys.meta_path if "editable" not in getattr(f, "__module__", "")]
sys.path.insert(0, wheel)
sys.argv[:4] = ["proofcheck"]
from importlib import import_module
try:
    getattr(import_module(room), name)()
finally:
    from pathlib import Path
    loaded = [m for n, m in sys.modules.items() if n.split(".")[0] == "proofcheck"]
    files = [Path(m.__file__) for m in loaded if m.__file__]
    strays = [str(path) for path in files if not path.is_relative_to(wheel)]
    if strays or not loaded:
        print("not of the wheel:", strays, file=sys.stderr)
"""


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    """A wheel of a copy of the checkout, tests and samples and all, so that they could get in."""
    source = tmp_path_factory.mktemp("source") / "checkout"
    left = shutil.ignore_patterns(".*", "__pycache__", "*.egg-info", "build", "dist")
    shutil.copytree(ROOT, source, ignore=left)
    out = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-c", BUILD, str(out)]
    done = subprocess.run(command, cwd=source, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr[-3000:]
    (path,) = out.glob("*.whl")
    with zipfile.ZipFile(path) as held:
        yield held


def test_it_holds_every_file_of_the_program_and_no_other(wheel):
    program = ROOT / "proofcheck"
    wanted = {
        path.relative_to(ROOT).as_posix()
        for path in program.rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }
    inside = {name for name in wheel.namelist() if ".dist-info/" not in name}
    assert inside == wanted
    assert {Path(name).suffix for name in inside} >= {".py", ".onnx", ".json", ".csv", ".html"}


def test_its_list_of_files_is_true(wheel):
    """PEP 427: RECORD names every file with its hash, itself without one."""
    (record,) = [name for name in wheel.namelist() if name.endswith(".dist-info/RECORD")]
    rows = list(csv.reader(io.StringIO(wheel.read(record).decode())))
    assert sorted(name for name, _, _ in rows) == sorted(wheel.namelist())
    for name, digest, size in rows:
        if name == record:
            continue
        data = wheel.read(name)
        plain = base64.urlsafe_b64encode(hashlib.sha256(data).digest()).rstrip(b"=").decode()
        assert (digest, size) == (f"sha256={plain}", str(len(data)))


@pytest.mark.parametrize(
    ("sample", "status", "verdict"), [("notice", 0, "clean"), ("concert", 1, "faults")]
)
def test_its_first_command_reads_a_sample(wheel, tmp_path, sample, status, verdict):
    """The README's first command, where there is nothing of the checkout but the sample."""
    place = tmp_path / "wheel"
    wheel.extractall(place)
    (points,) = place.glob("*.dist-info/entry_points.txt")
    named = ConfigParser()
    named.read(points)
    room, name = named["console_scripts"]["proofcheck"].split(":")
    for part in ("proof.png", "copy.txt"):
        shutil.copy(ROOT / "samples" / f"{sample}-{part}", tmp_path)
    asked = ["read", f"{sample}-proof.png", "--copy", f"{sample}-copy.txt", "--json", "told.json"]
    env = {key: value for key, value in os.environ.items() if key != "PYTHONPATH"}
    done = subprocess.run(
        [sys.executable, "-c", CALL, str(place), room, name, *asked],
        cwd=tmp_path, env=env, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (status, "")
    told = json.loads((tmp_path / "told.json").read_text(encoding="utf-8"))
    truth = json.loads((ROOT / "samples" / f"{sample}-proof.faults.json").read_text())
    assert told["verdict"] == verdict
    assert len(told["lines"]) == len(truth["lines"])
    assert {f["line"] for f in truth["faults"]} <= {f["line"] for f in told["faults"]}
    marked = tmp_path / f"{sample}-proof-marked.pdf"
    assert marked.read_bytes().startswith(b"%PDF-")
