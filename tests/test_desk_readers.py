"""Readers of the house's network: off by default, a name and token each, and no token in a log.

Cookies: RFC 6265 and its `SameSite` (from memory); comparing in constant time is common practice.
"""

from __future__ import annotations

import json
import logging
from urllib.parse import urlencode

import pytest
from desk_cases import JOB, served, with_proof
from docket_cases import quick_folder
from test_desk import DECISION, GETS, POSTS, asked, right, told
from typer.testing import CliRunner

from proofcheck.base.errors import ProofcheckError, SettingError
from proofcheck.base.options import Options
from proofcheck.cli.program import app
from proofcheck.desk import door
from proofcheck.desk.admitted import add_reader, load_readers, readers_path, remove_reader
from proofcheck.desk.serve import serve
from proofcheck.docket import open_docket


@pytest.fixture(scope="module")
def desk():
    """A desk with readers A.A. and B.B.: its docket, its host, their tokens, their list."""
    with quick_folder() as folder:
        docket = with_proof(folder)
        path = readers_path(folder / "docket.db")
        tokens = {name: add_reader(path, name) for name in ("A.A.", "B.B.")}
        with pytest.MonkeyPatch.context() as patch:
            patch.setattr(door, "_AFTER_A_WRONG_ONE_S", 0.01)
            with served(docket, readers=lambda: load_readers(path)) as address:
                yield docket, address.removeprefix("http://"), tokens, path


def entered(host, name, token, **more):
    """Status, cookie and headers of one who enters."""
    form = urlencode({"name": name, "token": token}).encode()
    head = {**right(host), "Content-Type": "application/x-www-form-urlencoded", **more}
    status, headers, _ = asked(host, "POST", "/enter", form, head)
    cookie = headers.get("set-cookie", "")
    return status, cookie.partition(";")[0], cookie


def test_without_a_token_nothing_is_said_and_nothing_changed(desk) -> None:
    docket, host, _, _ = desk
    before = docket.last_number()
    for path in (*GETS, "/news", "/service/openapi.json", "/service/proofs/x"):
        if path.startswith("/files/"):
            continue
        status, headers, body = asked(host, "GET", path)
        assert status == 403, path
        assert JOB not in body
        status, headers, _ = asked(host, "GET", path, headers={"Accept": "text/html"})
        assert (status, headers["location"]) == (303, "/enter")
    for path in (*POSTS, "/service/proofs"):
        assert asked(host, "POST", path, told(DECISION), right(host))[0] == 403
        odd = {**right(host), "Cookie": "proofcheck-reader=x"}
        assert asked(host, "POST", path, told(DECISION), odd)[0] == 403
    assert docket.last_number() == before


@pytest.mark.parametrize(("name", "token"), [
    ("A.A.", ""), ("A.A.", "x"), ("", ""), ("C.C.", "x"), ("a.a.", None), ("B.B.", None),
    ("A.A.\x00", None), ("A.A.", "0" * 64),
])  # fmt: skip
def test_a_wrong_name_or_token_stays_out(desk, name, token) -> None:
    _, host, tokens, _ = desk
    status, cookie, _ = entered(host, name, tokens["A.A."] if token is None else token)
    assert (status, cookie) == (403, "")


def test_a_page_elsewhere_can_not_enter_for_one(desk) -> None:
    _, host, tokens, _ = desk
    status, cookie, _ = entered(host, "A.A.", tokens["A.A."], Origin="http://evil.example")
    assert (status, cookie) == (403, "")


def test_who_came_in_decides_in_his_own_name_alone(desk) -> None:
    docket, host, tokens, _ = desk
    status, cookie, whole = entered(host, "A.A.", tokens["A.A."])
    assert status == 303
    assert "httponly" in whole.lower()
    assert "samesite=strict" in whole.lower()
    assert tokens["A.A."] not in whole
    head = {**right(host), "Cookie": cookie}
    said = told({**DECISION, "by": "B.B.", "said": "one"})
    status, _, body = asked(host, "POST", "/decide", said, head)
    assert status == 200, body
    assert docket.job(JOB).at("1/F1").decision.by == "A.A."
    _, _, page = asked(host, "GET", f"/proof?job={JOB}&proof=1", headers={"Cookie": cookie})
    assert "A.A. is at this desk" in page
    assert "readonly" in page


def test_two_readers_who_part_are_named_by_their_own_names(desk) -> None:
    _, host, tokens, _ = desk
    for name, what in (("A.A.", "correct"), ("B.B.", "sound")):
        head = {**right(host), "Cookie": entered(host, name, tokens[name])[1]}
        said = {**DECISION, "fault": "F2", "what": what, "said": name, "by": "X."}
        status, _, body = asked(host, "POST", "/decide", told(said), head)
        assert status == 200, body
    assert json.loads(body)["row"]["sides"] == [
        {"by": "A.A.", "what": "correct"}, {"by": "B.B.", "what": "sound"},
    ]  # fmt: skip


def test_who_leaves_or_is_taken_off_the_list_is_out(desk) -> None:
    _, host, tokens, path = desk
    cookies = [entered(host, "B.B.", tokens["B.B."])[1] for _ in range(2)]
    for cookie in cookies:
        assert asked(host, "GET", "/", headers={"Cookie": cookie})[0] == 200
    head = {**right(host), "Cookie": cookies[0]}
    assert asked(host, "POST", "/leave", b"", head)[0] == 303
    assert asked(host, "GET", "/", headers={"Cookie": cookies[0]})[0] == 403
    assert asked(host, "GET", "/", headers={"Cookie": cookies[1]})[0] == 200
    remove_reader(path, "B.B.")
    assert asked(host, "GET", "/", headers={"Cookie": cookies[1]})[0] == 403
    path.write_text("spoilt = 1")
    assert asked(host, "GET", "/", headers={"Cookie": cookies[1]})[0] == 403
    path.unlink()


def test_no_token_stands_in_any_log_or_file(tmp_path, caplog, capsys) -> None:
    caplog.set_level(logging.DEBUG)
    docket = with_proof(tmp_path)
    path = readers_path(tmp_path / "docket.db")
    token = add_reader(path, "A.A.")
    with served(docket, readers=lambda: load_readers(path)) as address:
        host = address.removeprefix("http://")
        cookie = entered(host, "A.A.", token)[1]
        asked(host, "POST", "/decide", b"{", {**right(host), "Cookie": cookie})
        asked(host, "GET", "/none", headers={"Cookie": cookie})
    word = cookie.partition("=")[2]
    told_all = caplog.text + "".join(capsys.readouterr())
    for secret in (token, word):
        assert secret not in told_all
        assert not [p for p in tmp_path.rglob("*") if p.is_file()
                    and secret.encode() in p.read_bytes()]  # fmt: skip


def test_the_command_shows_a_token_once_and_keeps_its_hash(tmp_path) -> None:
    place = str(tmp_path / "docket.db")
    open_docket(place, create=True)
    done = CliRunner().invoke(app, ["docket", "reader", "A.A.", "--docket", place])
    token = done.stdout.strip()
    assert done.exit_code == 0
    assert len(token) >= 22  # 128 bits in base64
    readers = load_readers(readers_path(tmp_path / "docket.db"))
    assert readers.admits("A.A.", token)
    again = CliRunner().invoke(app, ["docket", "reader", "A.A.", "--docket", place]).stdout.strip()
    readers = load_readers(readers_path(tmp_path / "docket.db"))
    assert (readers.admits("A.A.", token), readers.admits("A.A.", again)) == (False, True)
    gone = CliRunner().invoke(app, ["docket", "reader", "A.A.", "--remove", "--docket", place])
    assert gone.exit_code == 0
    assert not load_readers(readers_path(tmp_path / "docket.db")).hashes


@pytest.mark.parametrize("name", ["", " ", "\u202e", "x" * 30])
def test_a_name_that_can_not_be_is_refused(tmp_path, name) -> None:
    with pytest.raises(ProofcheckError):
        add_reader(tmp_path / "r.toml", name)


@pytest.mark.parametrize("lan", [
    "example", ".".join("0000"), "8.8.8.8", "192.168.1.20", "fe80::1", "10.0.0.1:80", "\u202e",
])  # fmt: skip
def test_a_desk_for_the_network_opens_only_where_it_may(tmp_path, lan) -> None:
    """Another's address, one of the wide world, any at all, or nobody to come in."""
    docket = open_docket(tmp_path / "docket.db", create=True)
    for _ in range(2):
        with pytest.raises(SettingError) as caught:
            serve(docket, Options(), lan=lan, browser=False, say=lambda _: None)
        assert "\n" not in str(caught.value)
        add_reader(readers_path(tmp_path / "docket.db"), "A.A.")
