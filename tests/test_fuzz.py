"""Some hundreds of spoilt inputs of every kind, always the same ones; more with `tests.fuzz`.

Each runs in a process of its own with bounds of time and memory; what may come out is a status of
0, 1 or 2 and one line at most on standard error. Bytes that never were a file of ours come from
hypothesis.
"""

from __future__ import annotations

import io
import os
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

pytest.importorskip("resource", reason="no forks and no bounds on this system")

from proofcheck.base.errors import ProofcheckError
from proofcheck.base.options import load_settings
from proofcheck.base.visible import in_ascii, visible
from proofcheck.copytext import load_copy

CASES = int(os.environ.get("PROOFCHECK_FUZZ_CASES", "150"))
"""Set it for a longer run; 2,000 take some four minutes of one processor."""


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore:.*fork:DeprecationWarning")
def test_no_spoilt_input_ends_in_a_trace(monkeypatch: pytest.MonkeyPatch) -> None:
    from proofcheck import stages
    from proofcheck.cli import program
    from tests.fuzz.__main__ import begin, run_case

    # `begin` makes commands and reader ready once for its forks; later tests get them as they were.
    monkeypatch.setattr(program, "app", program.app)
    monkeypatch.setattr(stages, "open_reader", stages.open_reader)
    begin()
    ends = {number: run_case(2026, number) for number in range(CASES)}
    bad = {
        f"python -m tests.fuzz --seed 2026 --only {number}": (kind, troubles, ended.err)
        for number, (kind, ended, troubles) in ends.items()
        if troubles
    }
    assert not bad
    # The cases must reach what they are meant for: some are read to the end, most refused.
    statuses = [ended.status for _, ended, _ in ends.values()]
    assert 0.02 * CASES < sum(status < 2 for status in statuses) < 0.9 * CASES


def _one_line(error: ProofcheckError) -> None:
    assert str(error).strip()
    assert "\n" not in str(error).strip()


FORMS = (b"", b"PK\x03\x04word/", b"PK\x03\x04content.xml", b"\xff\xfe", b"\xef\xbb\xbf", b"{\\rtf")
bounded = settings(
    max_examples=200, derandomize=True,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)  # fmt: skip


@bounded
@given(st.sampled_from(FORMS), st.binary(max_size=400), st.sampled_from(["", "utf-8", "utf-7"]))
def test_any_bytes_as_copy_are_text_or_one_line(head: bytes, data: bytes, encoding: str) -> None:
    try:
        copy = load_copy("-", encoding=encoding or None, stdin=io.BytesIO(head + data))
    except ProofcheckError as error:
        _one_line(error)
    else:
        assert copy.text.strip()
        assert all(0 <= p.start < p.end <= len(copy.text) for p in copy.paragraphs)


KEYS = st.sampled_from(["dpi", "measure_picas", "enforced", "reader", "face", "part", "bands", "x"])
VALUES = st.one_of(
    st.integers(), st.floats(), st.booleans(), st.text(max_size=20).map(repr),
    st.lists(st.integers(), max_size=3), st.sampled_from(["nan", "-inf", "{}", "[[]]", "1e400"]),
).map(str)  # fmt: skip


@bounded
@given(st.lists(st.tuples(KEYS, VALUES), max_size=4))
def test_any_settings_are_taken_or_one_line(tmp_path: Path, pairs: list[tuple[str, str]]) -> None:
    path = tmp_path / "shop.toml"
    lines = [f"{key} = {value}" for key, value in pairs]
    path.write_bytes("\n".join(lines).encode("utf-8", "surrogatepass"))
    try:
        load_settings(path)
    except ProofcheckError as error:
        _one_line(error)


@bounded
@given(st.text(max_size=50))
def test_what_is_shown_never_drives_a_terminal(text: str) -> None:
    shown = visible(text)
    assert not [char for char in shown if not char.isprintable()]
    assert in_ascii(shown).isascii()
