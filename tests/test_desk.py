"""The desk asked by those who should not, and asked for what is not there.

What a browser sends in `Host` and `Origin`: RFC 9110 and RFC 6454; that a page elsewhere can send
forms but not read answers, and names can be pointed at this machine: common knowledge of the web.
"""

from __future__ import annotations

import asyncio
import http.client
import json
import socket
from urllib.parse import quote, urlsplit

import pytest
from desk_cases import JOB, served, with_proof

from proofcheck.desk.serve import listening_at
from proofcheck.desk.site import _ROUTES
from proofcheck.docket import decide, open_job


@pytest.fixture(scope="module")
def desk(tmp_path_factory):
    docket = with_proof(tmp_path_factory.mktemp("desk"))
    with served(docket) as address:
        yield docket, urlsplit(address).netloc


def asked(host, method, path, body=None, headers=None, *, named=None):
    """Status, headers and body of an answer."""
    line = http.client.HTTPConnection(host, timeout=20)
    line.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
    sent = {"Host": named if named is not None else host, **(headers or {})}
    if body is not None and "Content-Length" not in sent:
        sent["Content-Length"] = str(len(body))
    for name, value in sent.items():
        if value is not None:
            line.putheader(name, value)
    line.endheaders(body)
    answer = line.getresponse()
    found = answer.status, dict(answer.getheaders()), answer.read().decode("utf-8", "replace")
    line.close()
    return found


def told(held):
    return json.dumps(held).encode()


def right(host):
    return {"Origin": f"http://{host}", "Content-Type": "application/json"}


DECISION = {
    "job": JOB, "proof": 1, "fault": "F1", "what": "stand", "note": "", "charge": "", "by": "X.",
    "said": "",
}  # fmt: skip
GETS = ["/", f"/job?job={JOB}", f"/proof?job={JOB}&proof=1", f"/state?job={JOB}&proof=1",
        f"/rows?job={JOB}&proof=1&fault=1/F1",
        f"/picture?job={JOB}&proof=1&sheet=0", f"/papers?job={JOB}&proof=1&paper=list",
        "/readings", "/files/desk.js", "/figures", "/figures.csv",
        f"/hands?job={JOB}&proof=1&list=stone", f"/ticks?job={JOB}&proof=1&list=machine",
        "/files/hands.js", f"/customer?job={JOB}&proof=1", f"/letters?job={JOB}&proof=1",
        f"/card?job={JOB}&proof=1&fault=F1"]  # fmt: skip
POSTS = ["/decide", "/answer", "/mark", "/new", "/drop", "/sign", "/take", "/tick", "/reply"]
STRANGERS = ["evil.example", "127.0.0.1", "127.0.0.1:1", "localhost.evil.example", "", "[::1]:80",
             "127.0.0.1.nip.example:8765", "desk", "169.254.169.254"]  # fmt: skip
ORIGINS = [
    None, "null", "http://evil.example", "https://{host}", "http://127.0.0.1", "file://",
    "http://{host}.evil.example", "http://localhost", "http://{host}@evil.example",
]  # fmt: skip


def test_every_door_of_the_desk_is_tried() -> None:
    """What is added to the desk is tried by strangers too; the news go on for ever once let in."""
    tried = {urlsplit(path).path for path in [*GETS, *POSTS]}
    doors = {route.path for route in _ROUTES if not route.path.startswith("/service/")}
    assert {"/files/{name}" if path.startswith("/files/") else path for path in tried} == {
        *doors
    } - {"/news"}


@pytest.mark.parametrize("path", [*GETS, "/news"])
@pytest.mark.parametrize("named", STRANGERS)
def test_a_desk_called_by_another_name_says_nothing(desk, path, named) -> None:
    status, _, body = asked(desk[1], "GET", path, named=named)
    assert status in {400, 403}
    assert "THE VILLAGE" not in body
    assert JOB not in body


@pytest.mark.parametrize("path", POSTS)
@pytest.mark.parametrize("origin", ORIGINS)
def test_a_page_elsewhere_can_change_nothing(desk, path, origin) -> None:
    docket, host = desk
    before = docket.last_number()
    said = origin.format(host=host) if origin else None
    headers = {"Origin": said, "Content-Type": "application/json"}
    status, _, _ = asked(host, "POST", path, told(DECISION), headers)
    assert status == 403
    assert docket.last_number() == before


def test_two_hosts_or_two_origins_are_refused(desk) -> None:
    docket, host = desk
    line = http.client.HTTPConnection(host, timeout=20)
    line.putrequest("POST", "/decide", skip_host=True)
    for name, value in [("Host", host), ("Origin", f"http://{host}"), ("Origin", "http://x")]:
        line.putheader(name, value)
    line.putheader("Content-Length", "2")
    line.endheaders(b"{}")
    assert line.getresponse().status == 403
    line.close()
    assert all(f.decision is None for f in docket.job(JOB).proof.found)


@pytest.mark.parametrize("path", [
    "/files/../site.py", "/files/..%2f..%2fcli%2fprogram.py", "/files/desk.js%00", "/files/",
    "/files/frame.html", "/files//etc/passwd", "/..%2f..%2fetc/passwd", "/docket.db",
    f"/papers?job={JOB}&proof=1&paper=../../etc/passwd", f"/papers?job={JOB}&proof=9&paper=list",
    f"/picture?job={JOB}&proof=1&sheet=../0", f"/picture?job={JOB}&proof=1&sheet=99999999999999",
    f"/picture?job={JOB}&proof=-1&sheet=0", f"/proof?job={JOB}&proof=999999999999999999999",
    f"/proof?job={JOB}&proof=%31%00", "/proof?job=none&proof=1", "/proof", "/job?job=%00", "/job",
    f"/card?job={JOB}&proof=1&fault=<script>", f"/card?job={JOB}&proof=1", "/state?job=1042",
    f"/letters?job={JOB}&proof=one", f"/job?job={quote('../' * 20)}",
])  # fmt: skip
def test_what_is_not_there_is_said_in_a_line(desk, path) -> None:
    status, headers, body = asked(desk[1], "GET", path)
    assert status in {400, 403, 404}, body
    assert "Traceback" not in body
    assert headers["content-type"].startswith("text/plain")
    assert len(body) < 300


def test_a_person_is_told_of_trouble_on_a_page_with_a_way_back(desk) -> None:
    docket, host = desk
    before = docket.last_number()
    shown = {"Accept": "text/html,*/*", "Origin": f"http://{host}"}
    status, headers, body = asked(host, "GET", "/job?job=<script>alert(1)</script>", headers=shown)
    assert (status, headers["content-type"]) == (404, "text/html; charset=utf-8")
    assert "<script>alert" not in body
    assert '<a href="/">All jobs</a>' in body
    form = {**shown, "Content-Type": "application/x-www-form-urlencoded"}
    status, _, body = asked(host, "POST", "/sign", b"job=none&words=ok&by=B.A.", form)
    assert status == 400
    assert "Nothing was recorded" in body
    assert docket.last_number() == before


@pytest.mark.parametrize("held", [
    b"", b"{", b"[]", b"null", b'"x"', b'{"job": [1]}', b"\xff\xfe", b"{" * 5000, b"1" * 30_000,
    told({**DECISION, "proof": "1"}), told({**DECISION, "proof": -1}),
    told({**DECISION, "proof": 2}), told({**DECISION, "proof": True}),
    told({**DECISION, "fault": "F9"}), told({**DECISION, "fault": "../F1"}),
    told({**DECISION, "what": "accept"}), told({**DECISION, "by": ""}),
    told({**DECISION, "by": "x" * 500}), told({**DECISION, "by": "a\u202eb"}),
    told({**DECISION, "charge": "XX"}), told({**DECISION, "job": "none"}),
    told({k: v for k, v in DECISION.items() if k != "proof"}),
], ids=lambda held: repr(held[:24]))  # fmt: skip
def test_what_makes_no_sense_is_refused_and_nothing_recorded(desk, held) -> None:
    docket, host = desk
    before = docket.last_number()
    status, headers, body = asked(host, "POST", "/decide", held, right(host))
    assert status == 400
    assert docket.last_number() == before
    assert headers["content-type"] == "application/json"
    assert json.loads(body)["trouble"]


def test_what_is_too_large_is_not_taken(desk) -> None:
    _, host = desk
    huge = {**right(host), "Content-Length": str(1 << 40)}
    assert asked(host, "POST", "/drop", b"", huge)[0] == 403
    assert asked(host, "POST", "/drop", b"", {**huge, "Content-Length": "-1"})[0] in {400, 403}


def test_every_answer_says_how_it_may_be_used(desk) -> None:
    _, host = desk
    for path in [*GETS, "/none", "/proof?job=none"]:
        _, headers, _ = asked(host, "GET", path)
        policy = headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "unsafe" not in policy
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["cache-control"] == "no-store"


NAMES = [
    "<script>alert(1)</script>", '"><img src=x onerror=alert(1)>', "{{ 7 * 7 }}", "';--",
    "</script><script>alert(2)</script>", "javascript:alert(1)", "a&b=c#d", "%2e%2e%2f",
]  # fmt: skip


@pytest.mark.parametrize("name", NAMES)
def test_script_in_names_stays_text(desk, name) -> None:
    docket, host = desk
    open_job(docket, name, {"customer": name}, by="B.A.")
    for path in ["/", f"/job?job={quote(name, safe='')}"]:
        status, _, body = asked(host, "GET", path)
        assert status == 200
        assert "<script>alert" not in body
        assert "<img src=x" not in body
        assert name != "{{ 7 * 7 }}" or ">49<" not in body


def test_a_note_with_script_is_shown_as_it_was_written(desk) -> None:
    docket, host = desk
    note = "</script><script>alert(1)</script>"
    status, _, _ = asked(
        host, "POST", "/decide", told({**DECISION, "fault": "F2", "note": note}), right(host)
    )
    assert status == 200
    assert docket.job(JOB).at("1/F2").decision.note == note
    body = asked(host, "GET", f"/proof?job={JOB}&proof=1")[2]
    assert "<script>alert" not in body


def test_a_thing_said_again_is_recorded_once(desk) -> None:
    docket, host = desk
    before = docket.last_number()
    for _ in range(3):
        body = told({**DECISION, "fault": "F3", "said": "one and the same"})
        assert asked(host, "POST", "/decide", body, right(host))[0] == 200
    assert docket.last_number() == before + 1


def test_news_of_one_fault_is_asked_for_by_itself(desk) -> None:
    docket, host = desk
    decide(docket, JOB, "1/F4", "correct", by="C.D.")
    for ref, names in (("1/F4", ["F4"]), ("1/F99", []), ("2/F4", []), ("", [])):
        status, _, body = asked(host, "GET", f"/rows?job={JOB}&proof=1&fault={ref}")
        held = json.loads(body)
        assert (status, [row["id"] for row in held["rows"]]) == (200, names)
        assert held["entry"] == docket.entries(JOB)[-1].number
    whole = json.loads(asked(host, "GET", f"/state?job={JOB}&proof=1")[2])
    seen = asked(host, "GET", f"/state?job={JOB}&proof=1&seen={whole['entry']}")[2]
    assert json.loads(seen) == {"entry": whole["entry"]}


def test_each_part_of_an_answer_is_sent_at_once() -> None:
    """No waiting for acknowledgments: Nagle's way (RFC 896) with delayed ones (RFC 1122)."""

    class Noting(asyncio.Protocol):
        def connection_made(self, transport) -> None:
            held = transport.get_extra_info("socket")
            found.set_result(held.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY))
            transport.close()

    async def met() -> int:
        nonlocal found
        found = asyncio.get_running_loop().create_future()
        server = await asyncio.get_running_loop().create_server(Noting, sock=listening)
        _, writer = await asyncio.open_connection(*listening.getsockname())
        sent_at_once = await asyncio.wait_for(found, 10)
        writer.close()
        server.close()
        return sent_at_once

    found = None
    listening = listening_at("127.0.0.1")
    assert asyncio.run(met()) != 0
