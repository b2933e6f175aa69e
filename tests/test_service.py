"""The service for other programs: what it is sent, what it answers, and where one stands.

Its description is held to OpenAPI 3.1 by `openapi-spec-validator`, records to their own schema.
"""

from __future__ import annotations

import json
import threading
import time
from urllib.parse import urlsplit

import jsonschema
import pytest
from desk_cases import served, with_proof
from openapi_spec_validator import OpenAPIV31SpecValidator
from starlette.routing import Match
from test_cli import NOTICE, NOTICE_COPY
from test_desk import asked

from proofcheck.base.options import Options
from proofcheck.desk import proof_queue
from proofcheck.desk.proof_queue import FullError, ProofQueue, State, Unread
from proofcheck.desk.service import _CHOICES, SERVICE_ROUTES
from proofcheck.results.proof_record import report_from_text

PROOFS = "/service/proofs"
EDGE = "----a line that is in none of them"
SCAN, COPY = ("scan", "notice.png", NOTICE), ("copy", "notice.txt", NOTICE_COPY)


@pytest.fixture(scope="module")
def host(tmp_path_factory):
    with served(with_proof(tmp_path_factory.mktemp("desk"))) as address:
        yield urlsplit(address).netloc


def form(*parts):
    """Parts (name, file name or None, path or bytes) as multipart/form-data (RFC 7578)."""
    out = b""
    for name, file, held in parts:
        data = held if isinstance(held, bytes) else held.read_bytes()
        head = f'Content-Disposition: form-data; name="{name}"'
        head += f'; filename="{file}"\r\nContent-Type: application/octet-stream' if file else ""
        out += f"--{EDGE}\r\n{head}\r\n\r\n".encode() + data + b"\r\n"
    return out + f"--{EDGE}--\r\n".encode()


def sent(host, *parts, query="", headers=None, body=None):
    held = {"Origin": f"http://{host}", "Content-Type": f"multipart/form-data; boundary={EDGE}"}
    body = form(*parts) if body is None else body
    status, heads, text = asked(host, "POST", PROOFS + query, body, {**held, **(headers or {})})
    return status, {name.lower(): value for name, value in heads.items()}, text


def got(host, path):
    status, heads, text = asked(host, "GET", path)
    return status, {name.lower(): value for name, value in heads.items()}, text


# ------------------------------------------------------------------ as it is described


@pytest.fixture(scope="module")
def described(host):
    status, heads, text = got(host, "/service/openapi.json")
    assert status == 200
    assert heads["content-type"] == "application/json"
    return json.loads(text)


def test_the_description_is_sound(described):
    assert described["openapi"].startswith("3.1.")
    OpenAPIV31SpecValidator(described).validate()


def test_every_way_in_is_described_and_none_besides(described):
    told = {
        (path, way.upper())
        for path, item in described["paths"].items()
        for way in item
        if way in {"get", "post", "delete"}
    }
    there = {(r.path, way) for r in SERVICE_ROUTES for way in r.methods - {"HEAD"}}
    assert told == there
    for path, way in told:
        scope = {"type": "http", "path": path, "method": way}
        assert any(r.matches(scope)[0] is Match.FULL for r in SERVICE_ROUTES)
    fields = set(described["components"]["schemas"]["Proof"]["properties"])
    assert fields == {*_CHOICES, "scan", "copy", "lines"}


def shaped(described, path, way, status, text):
    """The answer has the shape the description gives it there."""
    answer = described["paths"][path][way]["responses"][str(status)]
    schema = answer["content"]["application/json"]["schema"]
    held = {**schema, "components": described["components"]}
    jsonschema.Draft202012Validator(held).validate(json.loads(text))


# ------------------------------------------------------------------ a proof read


def test_a_scan_and_its_copy_give_the_record(host, described):
    parts = (SCAN, COPY, ("type_too", None, b"false"), ("recast", None, b"false"))
    status, heads, text = sent(host, *parts, query="?wait=300")
    assert status == 200, text
    assert heads["content-type"] == "application/json"
    shaped(described, PROOFS, "post", 200, text)
    schema = json.loads(got(host, "/service/record-schema.json")[2])
    jsonschema.Draft202012Validator(schema).validate(json.loads(text))
    report = report_from_text(text)
    assert report.verdict == "clean"
    assert report.sheets[0].scan.name == "scan-1/notice.png"
    assert report.copy.name == "copy/notice.txt"
    assert report.provenance.settings["type_too"] is False


def test_one_is_told_where_one_stands_till_it_is_read(host, described):
    status, heads, text = sent(host, SCAN, COPY, ("type_too", None, b"false"))
    assert status == 202
    shaped(described, PROOFS, "post", 202, text)
    assert heads["location"] == json.loads(text)["proof"]
    place = heads["location"]
    early, _, words = got(host, place + "/record")
    assert (early, "not read yet" in words) == (409, True)
    until = time.monotonic() + 300
    while (now := json.loads(got(host, place)[2]))["state"] not in {"done", "refused"}:
        assert time.monotonic() < until
        time.sleep(0.2)
    shaped(described, PROOFS + "/{name}", "get", 200, json.dumps(now))
    assert now["state"] == "done"
    assert "No fault in" in now["words"]
    assert got(host, now["record"])[0] == 200
    assert asked(host, "DELETE", place, headers={"Origin": f"http://{host}"})[0] == 204
    assert got(host, place)[0] == 404


def test_what_can_t_be_read_is_told(host, described):
    parts = (("scan", "proof.png", b"no picture"), COPY)
    status, _, text = sent(host, *parts, query="?wait=300")
    assert status == 422
    shaped(described, PROOFS, "post", 422, text)
    assert "proof.png" in json.loads(text)["trouble"]


# ------------------------------------------------------------------ what is refused at once


@pytest.mark.parametrize(
    ("parts", "query", "status", "said"),
    [
        ((COPY,), "", 400, "give the scan"),
        ((SCAN,), "", 400, "give the approved copy"),
        ((SCAN, COPY, COPY), "", 400, "as one file"),
        ((("scan", None, b"x"), COPY), "", 400, "sent as a file"),
        ((SCAN, COPY, ("weights", None, b"/etc/x")), "", 400, "no choice 'weights'"),
        ((SCAN, COPY, ("part", None, b"yes")), "", 400, "part can't be 'yes'"),
        ((SCAN, COPY, ("dpi", None, b"-3")), "", 400, "dpi is -3"),
        ((SCAN, COPY, ("dpi", None, b"nan")), "", 400, "dpi is nan"),
        ((SCAN, COPY, ("up", None, b"9" * 5000)), "", 400, "up can't be"),
        ((SCAN, COPY, ("language", None, b"../eng")), "", 400, "language can't be"),
        ((SCAN, COPY), "?wait=-1", 400, "wait is"),
        ((SCAN, COPY), "?wait=301", 400, "wait is"),
    ],
)
def test_what_is_missing_or_wrong_is_told(host, described, parts, query, status, said):
    found, _, text = sent(host, *parts, query=query)
    assert found == status, text
    shaped(described, PROOFS, "post", status, text)
    assert said in json.loads(text)["trouble"]


def test_too_much_is_refused_before_it_is_taken_in(host, described):
    status, _, text = sent(host, body=b"x", headers={"Content-Length": str(300 << 20)})
    assert status == 413
    shaped(described, PROOFS, "post", 413, text)
    large = ("copy", "long.txt", b"a" * ((16 << 20) + 1))
    status, _, text = sent(host, SCAN, large)
    assert (status, "no larger than 16 MiB" in text) == (413, True)


def test_it_wants_a_form(host):
    assert sent(host, body=b"{}", headers={"Content-Type": "application/json"})[0] == 415
    broken = sent(host, body=b"no edge", headers={"Content-Type": "multipart/form-data"})
    assert broken[0] == 400


@pytest.mark.parametrize("headers", [{"Origin": None}, {"Origin": "http://evil.example"}])
def test_pages_elsewhere_have_nothing_read(host, headers):
    assert sent(host, SCAN, COPY, headers=headers)[0] == 403
    assert asked(host, "DELETE", PROOFS + "/x", headers=headers)[0] == 403


def test_it_is_called_by_its_own_name_alone(host):
    for path in (PROOFS + "/x", "/service/openapi.json"):
        assert asked(host, "GET", path, named="evil.example")[0] == 403


def test_what_is_not_known_is_told(host):
    for path in (PROOFS + "/none", PROOFS + "/none/record", PROOFS + "/..%2f..%2fetc/record"):
        assert got(host, path)[0] == 404
    assert asked(host, "DELETE", PROOFS + "/none", headers={"Origin": f"http://{host}"})[0] == 404


# ------------------------------------------------------------------ the queue


class Held(ProofQueue):
    """Reads nothing, and waits till it is told to go on."""

    def __init__(self, **more):
        super().__init__(**more)
        self.go, self.begun = threading.Event(), threading.Event()

    def _apart(self, name, asked):
        self.begun.set()
        self.go.wait(20)
        self._say(name, State.DONE, "done")


NONE = Unread((("a.png", b"x"),), ("a.txt", b"x"), (), Options())


@pytest.fixture
def held():
    queue = Held(most=3)
    yield queue
    queue.go.set()
    queue.close()


def test_each_knows_how_many_are_before_it(held):
    names = [held.take(NONE).name for _ in range(3)]
    held.begun.wait(20)
    assert [held.of(name).ahead for name in names] == [0, 1, 2]
    assert held.of(names[0]).state is State.READING
    with pytest.raises(FullError, match="3 proofs wait already"):
        held.take(NONE)
    assert held.withdraw(names[1])
    assert held.of(names[1]) is None
    assert held.of(names[2]).ahead == 1
    held.go.set()
    until = time.monotonic() + 20
    while not held.of(names[2]).over and time.monotonic() < until:
        time.sleep(0.01)
    assert [held.of(names[at]).state for at in (0, 2)] == [State.DONE, State.DONE]
    assert len(set(names)) == 3
    assert min(map(len, names)) >= 24


def test_what_is_not_fetched_is_let_go(held, monkeypatch):
    held.go.set()
    name = held.take(NONE).name
    until = time.monotonic() + 20
    while not held.of(name).over and time.monotonic() < until:
        time.sleep(0.01)
    folder = held._folder / name
    assert folder.exists()
    monkeypatch.setattr(proof_queue, "KEPT_S", -1.0)
    assert held.of(name) is None
    assert not folder.exists()


def test_a_reading_that_takes_too_long_is_stopped():
    queue = ProofQueue(longest_s=0.05)
    name = queue.take(the_notice()).name
    until = time.monotonic() + 60
    while not queue.of(name).over and time.monotonic() < until:
        time.sleep(0.05)
    found, folder = queue.of(name), queue._folder
    queue.close()
    assert (found.state, "took longer than 0.05 s" in found.words) == (State.REFUSED, True)
    assert not folder.exists()
    with pytest.raises(FullError):
        queue.take(NONE)


def the_notice():
    scan, copy = NOTICE.read_bytes(), NOTICE_COPY.read_bytes()
    return Unread((("notice.png", scan),), ("notice.txt", copy), (), Options())
