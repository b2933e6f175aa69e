"""The desk in a browser: a job from drop to O.K. by keys alone, two desks at once, a cut line.

Accessibility is held against axe-core's rules for WCAG 2.0 to 2.2, levels A and AA.
"""

from __future__ import annotations

import asyncio
import shutil
import statistics
import time
from dataclasses import replace
from pathlib import Path

import pypdfium2
import pytest
from desk_cases import JOB, many_faults, served, with_proof

from proofcheck.base.found import Unread
from proofcheck.base.values import Box
from proofcheck.desk.admitted import add_reader, load_readers, readers_path
from proofcheck.desk.news import News
from proofcheck.docket import Word, decide, open_docket, sign_off, verify

sync_api = pytest.importorskip("playwright.sync_api")
axe_module = pytest.importorskip("axe_playwright_python.sync_playwright")
CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser"))), None)
WCAG = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
AXE = {"runOnly": {"type": "tag", "values": WCAG}}
OPEN = "[...document.querySelectorAll('.rows .done')].filter(d => !d.textContent).length"
pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="needs a chromium browser")


@pytest.fixture(scope="module")
def chromium():
    with sync_api.sync_playwright() as driver:
        how = ["--no-sandbox", "--disable-gpu"]
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=how)
        yield browser
        browser.close()


@pytest.fixture
def browser(chromium):
    """Its windows are closed after each test: left open, they go on asking for desks long shut."""
    yield chromium
    for context in chromium.contexts:
        context.close()


@pytest.fixture
def desk(tmp_path):
    docket = with_proof(tmp_path)
    with served(docket) as address:
        yield docket, address


def until(page, expression, seconds=15.0):
    """Wait till it is so; asked from outside, as the page allows no script but its own."""
    end = time.monotonic() + seconds
    while not page.evaluate(expression):
        assert time.monotonic() < end, (expression, page.inner_text("#told"))
        page.wait_for_timeout(20)


def laid_open(browser, address, **options):
    page = browser.new_context(**options).new_page()
    troubles = []
    page.on("console", lambda m: troubles.append(m.text) if m.type == "error" else None)
    page.on("pageerror", lambda error: troubles.append(str(error)))
    page.on("request", lambda r: troubles.append(r.url[:80])
            if not r.url.startswith((address, "data:")) else None)  # fmt: skip
    page.goto(f"{address}/proof?job={JOB}&proof=1")
    page.wait_for_selector("#card .words")
    return page, troubles


def decisions(docket):
    return [f.decision.what if f.decision else "" for f in docket.job(JOB).proof.found]


def test_every_fault_is_decided_by_one_key_and_is_in_the_docket_by_then(browser, desk) -> None:
    docket, address = desk
    page, troubles = laid_open(browser, address)
    # Each is told as a sentence, in a place that is read out (ARIA's role of a status).
    assert page.get_by_role("status").inner_text() == "Number 1/1, line 2: change n to u."
    for left, key, wanted in ((3, "c", "correct"), (2, "s", "stand"), (1, "x", "sound")):
        page.keyboard.press(key)
        until(page, f"{OPEN} === {left}")
        assert wanted in decisions(docket)
    page.keyboard.press("q")
    page.locator("#note-words").fill("is a point wanted?")
    page.keyboard.press("Enter")
    until(page, f"{OPEN} === 0")
    assert decisions(docket) == ["correct", "stand", "sound", "query"]
    assert docket.job(JOB).proof.found[3].decision.note == "is a point wanted?"
    assert page.locator(".rows .done").all_inner_texts() == [
        "correct",
        "stands",
        "no fault",
        "asked",
    ]
    assert troubles == []


def test_what_was_decided_is_taken_back_by_u(browser, desk) -> None:
    docket, address = desk
    page, _ = laid_open(browser, address)
    page.keyboard.press("s")
    until(page, "document.querySelector('.rows .done').textContent === 'stands'")
    page.keyboard.press("u")
    until(page, "document.querySelector('.rows .done').textContent === ''")
    assert decisions(docket) == [""] * 4
    assert [e.data["what"] for e in docket.entries(JOB) if e.kind == "decided"] == [
        "stand", "undecided",
    ]  # fmt: skip


@pytest.mark.parametrize("look", [{}, {"viewport": {"width": 390, "height": 844}}],
                         ids=["keys", "phone"])  # fmt: skip
def test_a_note_goes_with_a_decision_and_both_are_taken_back(browser, desk, look) -> None:
    """By keys; on a phone, which has none, by buttons."""
    docket, address = desk
    page, troubles = laid_open(browser, address, **look)

    def do(key, act):
        page.locator(f"[data-act={act}]").click() if look else page.keyboard.press(key)

    assert not page.locator("[data-act=note]").is_visible(), "a note goes with a decision"
    assert not page.locator("[data-act=undo]").is_visible(), "nothing to take back"
    do("s", "stand")
    until(page, "document.querySelector('.rows .done').textContent === 'stands'")
    page.locator(".rows button").first.click()
    do("w", "note")
    page.locator("#note-words").fill("the author spells it so")
    page.locator("#note button[value=yes]").click()
    until(page, "document.getElementById('verdict').textContent.includes('spells it so')")
    assert docket.job(JOB).at("1/F1").decision.note == "the author spells it so"
    do("u", "undo")
    until(page, "!document.getElementById('verdict').textContent.includes('spells it so')")
    assert docket.job(JOB).at("1/F1").decision.what == "stand"
    do("u", "undo")
    until(page, "document.querySelector('.rows .done').textContent === ''")
    assert docket.job(JOB).at("1/F1").decision is None
    assert troubles == []


def test_twelve_faults_are_decided_by_twelve_keys_and_the_papers_drawn(browser, tmp_path) -> None:
    """In one window, and nothing but those keys between the proof laid open and its papers."""
    from test_marked_back import signed_right

    docket = many_faults(tmp_path, 12, change=signed_right)
    with served(docket) as address:
        page, troubles = laid_open(browser, address)
        for left, key in zip(range(11, -1, -1), "cscxcscxcscx", strict=True):
            page.keyboard.press(key)
            until(page, f"{OPEN} === {left}")
        assert docket.job(JOB).undecided == ()
        assert page.locator("#onward").is_visible()
        told = {}
        for name in ("marked", "list", "cast", "sheet", "customer"):
            answer = page.request.get(f"{address}/papers?job={JOB}&proof=1&paper={name}")
            assert answer.ok, answer.text()
            told[name] = answer.body()
        pages = pypdfium2.PdfDocument(told["marked"])
        assert len(pages) >= 1
        assert told["list"].decode("utf-8-sig").count("stet") == 3
        assert len(page.context.pages) == 1
        assert troubles == []


def test_two_desks_see_each_other(browser, desk) -> None:
    docket, address = desk
    here, _ = laid_open(browser, address)
    there, _ = laid_open(browser, address)
    here.keyboard.press("c")
    until(there, "document.querySelector('.rows .done').textContent === 'correct'", 3)
    assert decisions(docket)[0] == "correct"


def test_two_browsers_decide_at_once(browser, desk) -> None:
    """Each fault by both in the same moment: every decision is kept, each clash shown to both."""
    docket, address = desk
    here, _ = laid_open(browser, address)
    there, _ = laid_open(browser, address)
    there.locator("#who").fill("C.D.")
    there.locator("#hand").focus()
    for fault in range(1, 5):
        for page in (here, there):
            page.locator(f".rows li:nth-child({fault}) button").click()
        here.keyboard.press("c")
        there.keyboard.press("s" if fault < 4 else "c")
        for page in (here, there):
            shown = "in two ways" if fault < 4 else "correct"
            until(page, f"document.querySelectorAll('.rows .done')[{fault - 1}].textContent"
                        f" === '{shown}'")  # fmt: skip
    said = [(e.by, e.data["fault"]) for e in docket.entries(JOB) if e.kind == "decided"]
    assert sorted(said) == [(by, f"1/F{n}") for by in ("B.A.", "C.D.") for n in range(1, 5)]
    assert len(docket.job(JOB).at("1/F1").others) == 1
    assert not verify(docket).troubles


def test_what_another_decides_meanwhile_is_not_lost(browser, desk) -> None:
    """And no more is asked for than the faults that were decided, however many there are."""
    docket, address = desk
    page, troubles = laid_open(browser, address)
    page.wait_for_timeout(300)
    asked = []
    page.on("request", lambda request: asked.append(request.url.partition("?")[0]))

    def meanwhile(route):
        decide(docket, JOB, "2", "sound", by="C.D.")
        page.wait_for_timeout(300)  # Its news is heard while the answer is still waited for.
        held = route.fetch()
        decide(docket, JOB, "3", "sound", by="C.D.")
        route.fulfill(response=held)

    page.route("**/decide", meanwhile)
    page.keyboard.press("c")
    until(page, "[...document.querySelectorAll('.rows .done')].slice(0, 3)"
                ".map(d => d.textContent).join() === 'correct,no fault,no fault'")  # fmt: skip
    assert f"{address}/rows" in asked
    assert f"{address}/state" not in asked
    assert troubles == []


def fails_twice(page, pattern):
    """The desk gives no answer to the first two questions of that kind."""
    asked = []

    def answered(route):
        asked.append(route.request.url)
        route.fulfill(status=500, body="no") if len(asked) < 3 else route.continue_()

    page.route(pattern, answered)
    return asked


def test_what_the_desk_could_not_answer_is_asked_for_again(browser, desk) -> None:
    """News of another's decision, whose row the desk fails to give at first."""
    docket, address = desk
    page, _ = laid_open(browser, address)
    asked = fails_twice(page, "**/rows?*")
    page.wait_for_timeout(300)
    decide(docket, JOB, "2", "sound", by="C.D.")
    until(page, "document.querySelectorAll('.rows .done')[1].textContent === 'no fault'")
    assert len(asked) == 3


def test_a_page_asks_how_all_stands_once_it_is_told_all_news(browser, desk, monkeypatch) -> None:
    """Its line is open a moment before: what is decided between the two is not lost."""
    docket, address = desk
    listen = News.listen

    async def late(news):
        yield ": the line is open\n\n"
        await asyncio.sleep(0.5)
        await asyncio.to_thread(decide, docket, JOB, "2", "sound", by="C.D.")
        async for words in listen(news):
            yield words

    monkeypatch.setattr(News, "listen", late)
    page = browser.new_context().new_page()
    asked = fails_twice(page, "**/state?*")
    page.goto(f"{address}/proof?job={JOB}&proof=1")
    until(page, "document.querySelectorAll('.rows .done')[1].textContent === 'no fault'")
    assert len(asked) >= 3


def test_what_two_decide_differently_is_shown_and_settled_with_a_reason(browser, desk) -> None:
    docket, address = desk
    decide(docket, JOB, "1", "correct", by="C.D.")
    page, troubles = laid_open(browser, address)
    page.locator(".rows button").first.click()
    page.keyboard.press("s")
    until(page, "document.querySelector('.rows .done').textContent === 'in two ways'")
    assert page.locator(".rows .num").all_inner_texts() == ["1/1", "1/2", "1/3", "1/4"]
    until(page, "document.getElementById('verdict').textContent.startsWith('in two ways')")
    page.keyboard.press("u")
    until(page, "document.querySelector('.rows .done').textContent === 'correct'")
    page.keyboard.press("s")
    until(page, "document.querySelector('.rows .done').textContent === 'in two ways'")
    page.keyboard.press("x")
    page.wait_for_selector("#note[open]")
    assert "C.D., correct; B.A., let it stand" in page.inner_text("#note-why")
    page.keyboard.press("Enter")
    assert page.locator("#note[open]").count() == 1, "no reason, no decision"
    page.locator("#note-words").fill("looked at under the glass")
    page.keyboard.press("Enter")
    until(page, "document.querySelector('.rows .done').textContent === 'no fault'")
    found = docket.job(JOB).at("1/F1")
    assert (found.others, found.decision.note) == ((), "looked at under the glass")
    assert troubles == []


def test_after_the_o_k_the_desk_asks_why(browser, desk) -> None:
    docket, address = desk
    for fault in "1234":
        decide(docket, JOB, fault, "stand", by="B.A.")
    sign_off(docket, JOB, Word("ok", "the secretary", "in person"))
    page, troubles = laid_open(browser, address)
    page.keyboard.press("c")
    page.wait_for_selector("#note[open]")
    assert "has given an O.K." in page.inner_text("#note-why")
    page.locator("#note button[value=no]").click()
    assert docket.entries(JOB)[-1].kind == "signed"
    closed(page)
    opened(page, "note", "c")
    page.locator("#note-words").fill("a letter was missed")
    page.keyboard.press("Enter")
    until(page, "document.querySelector('.rows .done').textContent === 'correct'")
    assert docket.job(JOB).at("1/F1").decision.note == "a letter was missed"
    assert troubles == []


def test_a_cut_line_loses_nothing_and_says_nothing_twice(browser, desk) -> None:
    """The desk records and its answer is lost: the page says it again, and it stands once."""
    docket, address = desk
    page, _ = laid_open(browser, address)
    lost = []

    def cut(route):
        if len(lost) < 2:
            lost.append(route.request.post_data)
            if len(lost) == 2:
                route.fetch()  # It arrives, but the answer doesn't.
            route.abort()
        else:
            route.continue_()

    page.route("**/decide", cut)
    page.keyboard.press("c")
    until(page, "document.querySelector('.rows .done').textContent === 'correct'", 8)
    # The page shows what was said at once: what is said again may still be under way.
    for _ in range(100):
        if len(lost) == 2 and any(e.kind == "decided" for e in docket.entries(JOB)):
            break
        page.wait_for_timeout(100)
    page.wait_for_timeout(500)
    assert len(lost) == 2
    assert sum(e.kind == "decided" for e in docket.entries(JOB)) == 1


def test_a_reader_marks_a_place_by_keys_alone(browser, desk) -> None:
    docket, address = desk
    page, troubles = laid_open(browser, address)
    page.keyboard.press("m")
    page.wait_for_selector("#marking[open]")
    page.locator("#marking-line").fill("1")
    page.keyboard.press("Tab")
    until(page, "document.getElementById('marking-text').value.startsWith('THE')")
    page.evaluate("document.getElementById('marking-text').setSelectionRange(4, 5)")
    page.locator("#marking-kind").select_option("broken-letter")
    page.locator("#marking-note").press("Enter")
    until(page, "document.querySelectorAll('.rows li').length === 5")
    found = docket.job(JOB).at("1/F5")
    assert (found.kind, found.printed, found.decision.what) == ("broken-letter", "V", "correct")
    assert troubles == []


def test_a_place_dragged_over_on_the_sheet_is_marked(browser, desk) -> None:
    _, address = desk
    page, _ = laid_open(browser, address, viewport={"width": 1400, "height": 1000})
    letters = page.evaluate(f"fetch('/letters?job={JOB}&proof=1').then(answer => answer.json())")
    line = letters["lines"][0]
    box = page.locator("svg[data-sheet] image").bounding_box()
    scale = box["width"] / letters["sheets"][0]["width"]
    y = box["y"] + (line["box"][1] + line["box"][3] / 2) * scale
    at = [box["x"] + (line["x"][k] + 1) * scale for k in (4, 7)]
    page.mouse.move(at[0], y)
    page.mouse.down()
    page.wait_for_timeout(300)
    page.mouse.move(at[1], y)
    page.mouse.up()
    page.wait_for_selector("#marking[open]")
    chosen = page.evaluate(
        "(() => { const t = document.getElementById('marking-text');"
        " return t.value.slice(t.selectionStart, t.selectionEnd); })()"
    )
    assert chosen == line["text"][4:7]
    page.keyboard.press("Escape")
    until(page, "!document.querySelector('dialog[open]')")
    page.mouse.click(box["x"] + 5, box["y"] + box["height"] - 5)
    until(page, "document.getElementById('told').textContent.startsWith('No line was read there')")


def test_a_box_is_drawn_over_what_stands_on_no_line(browser, tmp_path) -> None:
    """A rule or a border that only the reader saw: marked, listed, and drawn like any other."""
    from test_marked_back import signed_right

    docket = with_proof(tmp_path, change=signed_right)
    with served(docket) as address:
        page, troubles = laid_open(browser, address, viewport={"width": 1400, "height": 1000})
        box = page.locator("svg[data-sheet] image").bounding_box()
        scale = box["width"] / 863  # the sheet's width in pixels
        page.mouse.move(box["x"] + 100 * scale, box["y"] + 520 * scale)
        page.mouse.down()
        page.wait_for_timeout(300)
        page.mouse.move(box["x"] + 300 * scale, box["y"] + 540 * scale)
        assert page.locator(".marks .stretch").count() == 1
        page.mouse.up()
        page.wait_for_selector("#marking[open]")
        assert page.locator(".marks .stretch").count() == 0
        assert not page.locator("#marking-text").is_visible()
        page.locator("#marking-kind").select_option("border-piece")
        page.locator("#marking-note").press("Enter")
        until(page, "document.querySelectorAll('.rows li').length === 5")
        found = docket.job(JOB).at("1/F5")
        assert (found.kind, found.line, found.decision.what) == ("border-piece", 5, "correct")
        assert [abs(a - b) <= 3 for a, b in zip(found.place["box"], (100, 520, 200, 20),
                                                strict=True)] == [True] * 4  # fmt: skip
        answer = page.request.get(f"{address}/papers?job={JOB}&proof=1&paper=list")
        assert "a piece of the border is wrong" in answer.text()
        assert page.request.get(f"{address}/papers?job={JOB}&proof=1&paper=marked").ok
        assert troubles == []


def finger(page):
    """Drags a finger as a touch screen tells it, by points on the screen."""
    screen = page.context.new_cdp_session(page)

    def touch(kind, *points):
        told = [{"x": x, "y": y} for x, y in points]
        screen.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": told})
        page.wait_for_timeout(30)

    def drag(start, end):
        touch("touchStart", start)
        for k in range(1, 11):
            touch("touchMove", tuple(a + (b - a) * k / 10 for a, b in zip(start, end, strict=True)))
        touch("touchEnd")
        page.wait_for_timeout(400)

    return drag


@pytest.mark.parametrize(
    ("width", "height"), [(390, 844), (820, 1180), (1180, 820)], ids=["phone", "tablet", "across"]
)
def test_a_finger_moves_the_page_and_marks_when_told_to(browser, tmp_path, width, height) -> None:
    from test_marked_back import signed_right

    docket = with_proof(tmp_path, change=signed_right)
    with served(docket) as address:
        page, troubles = laid_open(browser, address, has_touch=True, is_mobile=True,
                                   viewport={"width": width, "height": height})  # fmt: skip
        drag = finger(page)

        def place(x, y):
            box = page.locator("svg[data-sheet] image").bounding_box()
            scale = box["width"] / 863  # the sheet's width in pixels
            return box["x"] + x * scale, box["y"] + y * scale

        page.locator("svg[data-sheet]").scroll_into_view_if_needed()
        page.evaluate("scrollTo(0, document.body.scrollHeight)")
        page.wait_for_timeout(200)
        # Of itself a finger drags the page along, and nothing is marked by it.
        stood = page.evaluate("scrollY")
        x, y = place(430, 330)
        drag((x, y), (x, y + 150))
        assert page.evaluate("scrollY") < stood or stood == 0
        assert page.locator("#marking[open]").count() == 0
        page.locator("#finger").tap()
        until(page, "document.getElementById('told').textContent.startsWith('Drag over')")
        assert page.locator("#finger").get_attribute("aria-pressed") == "true"
        page.locator("svg[data-sheet] image").scroll_into_view_if_needed()
        page.evaluate("scrollTo(0, document.body.scrollHeight)")
        page.wait_for_timeout(200)
        stood = page.evaluate("scrollY")
        drag(place(100, 515), place(300, 545))
        page.wait_for_selector("#marking[open]")
        assert page.evaluate("scrollY") == stood
        page.locator("#marking-kind").select_option("border-piece")
        page.locator("#marking button[value=yes]").tap()
        until(page, "document.querySelectorAll('.rows li').length === 5")
        found = docket.job(JOB).at("1/F5")
        assert found.kind == "border-piece"
        assert [abs(a - b) <= 6 for a, b in zip(found.place["box"], (100, 515, 200, 30),
                                                strict=True)] == [True] * 4  # fmt: skip
        # One mark, and the finger moves the page again.
        assert page.locator("#finger").get_attribute("aria-pressed") == "false"
        assert axe_module.Axe().run(page, options=AXE).violations_count == 0
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
        assert troubles == []


def test_where_there_is_no_touch_screen_there_is_no_button_for_a_finger(browser, desk) -> None:
    page, _ = laid_open(browser, desk[1])
    assert not page.locator("#finger").is_visible()


def test_marks_of_one_line_stand_side_by_side_and_what_was_not_read_is_hatched(browser, tmp_path):
    unread = Unread(0, Box(300, 400, 500, 60), "line 3, whose letters can't be told apart")
    docket = many_faults(tmp_path, 6, change=lambda report: replace(report, unread=(unread,)))
    with served(docket) as address:
        page, troubles = laid_open(browser, address)
        until(page, "document.querySelectorAll('.marks g').length === 6")
        boxes = page.evaluate("""() => [...document.querySelectorAll('.marks text')].map((one) => {
            const box = one.getBBox();
            return [box.x, box.y, box.x + box.width, box.y + box.height];
        })""")
        assert len(boxes) == 6
        for at, one in enumerate(boxes):
            for other in boxes[at + 1 :]:
                aside = one[2] <= other[0] or other[2] <= one[0]
                assert aside or one[3] <= other[1] or other[3] <= one[1], (one, other)
        hatched = page.locator("svg[data-sheet='0'] rect.left-out")
        assert [hatched.get_attribute(name) for name in ("x", "y", "width", "height")] == [
            "300", "400", "500", "60",
        ]  # fmt: skip
        assert troubles == []


def test_single_keys_can_be_switched_off(browser, desk) -> None:
    """WCAG 2.1.4."""
    docket, address = desk
    page, _ = laid_open(browser, address)
    page.keyboard.press("?")
    page.locator("#keys").uncheck()
    page.keyboard.press("Escape")
    until(page, "!document.querySelector('dialog[open]')")
    for _ in range(2):
        page.keyboard.press("c")
        page.wait_for_timeout(300)
        assert decisions(docket) == [""] * 4
        page.reload()  # They stay off.
        page.wait_for_selector("#card .words")
    page.locator("button[data-act=correct]").click()
    until(page, "document.querySelector('.rows .done').textContent === 'correct'")


def test_a_reason_is_kept_where_the_next_question_opens_at_once(browser, desk) -> None:
    """A closed dialog says so only a moment later; a quick hand is at the next key before that."""
    docket, address = desk
    page, troubles = laid_open(browser, address)
    page.keyboard.press("q")
    page.wait_for_selector("#note[open]")
    page.evaluate("""() => {
        document.getElementById("note-words").value = "is one enough?";
        document.getElementById("note").close("yes");
        document.body.dispatchEvent(new KeyboardEvent("keydown", {key: "q", bubbles: true}));
    }""")
    until(page, "document.querySelector('.rows .done').textContent !== ''")
    page.locator("#note-words").fill("or are there two?")
    assert docket.job(JOB).at("1/F1").decision.note == "is one enough?"
    page.keyboard.press("Enter")
    until(page, "!document.querySelector('dialog[open]')")
    page.wait_for_timeout(500)
    notes = [found.decision.note for found in docket.job(JOB).proof.found if found.decision]
    assert "or are there two?" in notes, "the first dialog's close answered the second question"
    assert troubles == []


@pytest.mark.parametrize("look", [
    {}, {"color_scheme": "dark"}, {"viewport": {"width": 390, "height": 844}},
], ids=["light", "dark", "phone"])  # fmt: skip
def test_no_screen_breaks_a_rule_of_accessibility(browser, desk, look) -> None:
    docket, address = desk
    decide(docket, JOB, "1", "correct", by="B.A.")
    decide(docket, JOB, "2", "query", by="B.A.", note="is one enough?")
    for by, what in (("B.A.", "stand"), ("C.D.", "correct")):
        decide(docket, JOB, "3", what, by=by)
    page, troubles = laid_open(browser, address, **look)

    def sound(place) -> None:
        found = axe_module.Axe().run(page, options=AXE)
        assert found.violations_count == 0, found.generate_report()
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), place

    page.keyboard.press("s")
    until(page, "document.querySelectorAll('.rows .done')[3].textContent === 'stands'")
    sound("proof")
    for row, key, dialog in ((1, "?", "help"), (1, "m", "marking"), (1, "q", "note"),
                             (2, "r", "answering"), (3, "x", "note")):  # fmt: skip
        page.locator(f".rows li:nth-child({row}) button").click()
        opened(page, dialog, key)
        sound(dialog)
        page.keyboard.press("Escape")
        until(page, "!document.querySelector('dialog[open]')")
    of = f"?job={JOB}&proof=1"
    for place in ("/", f"/job{of}", "/figures", f"/customer{of}", f"/hands{of}&list=machine",
                  f"/hands{of}&list=stone"):  # fmt: skip
        page.goto(address + place)
        sound(place)
    assert troubles == []


def closed(page) -> None:
    """Wait till a dialog is closed and the page has been told: that comes with the next frame."""
    until(page, "!document.querySelector('dialog[open]')")
    frame = "new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))"
    page.evaluate(frame)


def opened(page, dialog: str, key: str) -> None:
    """Open a dialog by its key; once more, should the browser lose it.

    A key sent within the milliseconds in which another dialog closes now and then reaches no
    handler at all where two browsers share a busy machine; the next one does.
    """
    page.keyboard.press(key)
    try:
        page.wait_for_selector(f"#{dialog}[open]", timeout=5_000)
    except sync_api.TimeoutError:
        page.keyboard.press(key)
        page.wait_for_selector(f"#{dialog}[open]")


def tabbed_to(page, selector) -> None:
    """Go with the Tab key to what is meant."""
    for _ in range(80):
        page.keyboard.press("Tab")
        if page.evaluate("s => document.activeElement.matches(s)", selector):
            return
    raise AssertionError(selector)


def chosen(page, selector, path) -> None:
    """A file, by the key that opens the browser's own choice; once more, should it be lost.

    As keys for dialogs are now and then on a busy machine (`opened`).
    """
    tabbed_to(page, selector)
    for timeout_ms in (5_000, 30_000):
        try:
            with page.expect_file_chooser(timeout=timeout_ms) as choice:
                page.keyboard.press("Space")
        except sync_api.TimeoutError:
            continue
        choice.value.set_files(path)
        return
    raise AssertionError(selector)


def test_a_job_goes_from_drop_to_ok_by_keys_alone(browser, tmp_path) -> None:
    """A real sample, read in the background, decided, signed: one window, and never the mouse."""
    samples = Path(__file__).parent.parent / "samples"
    docket = open_docket(tmp_path / "docket.db", create=True)
    with served(docket) as address:
        page = browser.new_page()
        page.goto(address)
        tabbed_to(page, "#number")
        page.keyboard.type("307")
        chosen(page, "#copy", samples / "concert-copy.txt")
        chosen(page, "#scan", samples / "concert-proof.png")
        tabbed_to(page, "form.put button")
        page.keyboard.press("Enter")
        page.wait_for_selector("a:has-text('First proof')", timeout=240_000)
        tabbed_to(page, "a[href^='/proof']")
        page.keyboard.press("Enter")
        page.wait_for_selector("#card .words")
        count = len(docket.job("307").proof.found)
        assert count > 5
        for left in range(count - 1, -1, -1):
            page.keyboard.press("x")
            until(page, f"{OPEN} === {left}")
        assert docket.job("307").undecided == ()
        tabbed_to(page, "#onward a")
        page.keyboard.press("Enter")
        page.wait_for_selector("#named")
        tabbed_to(page, "#named")
        page.keyboard.type("the secretary")
        tabbed_to(page, "form[action='/sign'] button")
        page.keyboard.press("Enter")
        page.wait_for_selector("text=O.K. of proof 1, the secretary")
        assert docket.job("307").signoffs[0].words == "ok"
        page.close()


def test_copy_and_scan_dropped_together_are_told_apart(browser, tmp_path) -> None:
    docket = open_docket(tmp_path / "docket.db", create=True)
    with served(docket) as address:
        page = browser.new_page()
        page.goto(address)
        held = page.evaluate_handle("""() => {
          const held = new DataTransfer();
          for (const name of ["sheet 1.png", "programme.docx", "sheet 2.tif"])
            held.items.add(new File(["x"], name));
          return held;
        }""")
        page.dispatch_event("form.put", "drop", {"dataTransfer": held})
        names = "id => [...document.getElementById(id).files].map(one => one.name)"
        assert page.evaluate(names, "copy") == ["programme.docx"]
        assert page.evaluate(names, "scan") == ["sheet 1.png", "sheet 2.tif"]
        page.close()


def test_what_a_revise_shows_of_a_slug_is_shown_with_its_line(browser, tmp_path) -> None:
    """A slug out of its place has no letter at fault; its line is shown all the same."""
    docket = with_proof(tmp_path, findings=[
        {"id": "R1", "kind": "moved", "line": 3, "words": "slug 4 stands here"},
    ])  # fmt: skip
    with served(docket) as address:
        page, troubles = laid_open(browser, address)
        page.locator(".rows button", has_text="1/R1").click()
        page.locator("#card", has_text="1/R1").wait_for()
        page.wait_for_selector("#card .strip image")
        assert "Saturday the the fourth" in page.inner_text("#card")
        assert page.locator(".marks g[data-id=R1].now rect").count() == 1
        assert axe_module.Axe().run(page, options=AXE).violations_count == 0
        assert troubles == []


def test_a_marked_proof_comes_back_is_shown_and_recorded(browser, tmp_path) -> None:
    from test_marked_back import marked_proof, signed_right
    from viewer_cases import Viewer

    docket = with_proof(tmp_path, change=signed_right)
    viewer = Viewer(marked_proof(docket))
    viewer.reply("F1", state="Rejected")
    viewer.reply("F2", "who knows")
    back = tmp_path / "marked back.pdf"
    back.write_bytes(viewer.saved())
    axe = axe_module.Axe()
    with served(docket) as address:
        page = browser.new_page()
        page.goto(f"{address}/job?job={JOB}")
        page.locator("#marked").set_input_files(back)
        page.get_by_role("button", name="Show what is said on it").click()
        page.wait_for_selector("text=1 thing to record, 1 to be seen to")
        assert decisions(docket) == [""] * 4
        for look in ({}, {"color_scheme": "dark"}, {"width": 390, "height": 844}):
            if "width" in look:
                page.set_viewport_size(look)
            page.emulate_media(color_scheme=look.get("color_scheme", "light"))
            assert axe.run(page, options=AXE).violations_count == 0, look
        page.get_by_role("button", name="Record it").click()
        page.wait_for_selector("text=1 thing recorded")
        assert decisions(docket) == ["stand", "", "", ""]
        page.close()


@pytest.mark.parametrize("look", [
    {"viewport": {"width": 390, "height": 844}}, {"color_scheme": "dark"},
], ids=["phone", "dark"])  # fmt: skip
def test_slugs_are_ticked_off_and_another_desk_shows_it(browser, desk, look) -> None:
    docket, address = desk
    for fault in ("1", "2", "3"):
        decide(docket, JOB, fault, "correct", by="B.A.")
    pages = []
    for _ in range(2):
        page = browser.new_context(**look).new_page()
        page.goto(f"{address}/hands?job={JOB}&proof=1&list=stone")
        page.wait_for_selector(".ticks li")
        pages.append(page)
    here, there = pages
    assert here.locator("h2").all_inner_texts()[0] == "Change in place"
    left = here.locator(".ticks input").count()
    here.locator(".ticks input").first.check()
    until(there, "document.querySelectorAll('.ticks .done').length === 1")
    assert f"{left - 1} of {left} to do" in there.inner_text("#told")
    assert there.locator(".ticks .done .who").inner_text() == "B.A."
    entry = docket.entries(JOB)[-1]
    assert (entry.kind, entry.by, entry.data["done"]) == ("ticked", "B.A.", True)
    for page in (here, there):
        found = axe_module.Axe().run(page, options=AXE)
        assert found.violations_count == 0, found.generate_report()
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    there.locator(".ticks input").first.uncheck()
    until(here, "document.querySelectorAll('.ticks .done').length === 0")
    decide(docket, JOB, "1", "stand", by="B.A.")
    # The plan is another: the list is loaded again.
    sync_api.expect(here.locator(".ticks li")).not_to_have_count(left, timeout=15_000)


@pytest.mark.parametrize("look", [
    {}, {"color_scheme": "dark"}, {"viewport": {"width": 390, "height": 844}},
], ids=["light", "dark", "phone"])  # fmt: skip
def test_a_reader_comes_in_by_the_door(browser, tmp_path, look) -> None:
    docket = with_proof(tmp_path)
    path = readers_path(tmp_path / "docket.db")
    token = add_reader(path, "A.A.")
    with served(docket, readers=lambda: load_readers(path)) as address:
        page = browser.new_context(**look).new_page()
        troubles = []
        page.on("console", lambda m: troubles.append(m.text) if m.type == "error" else None)
        page.goto(f"{address}/proof?job={JOB}&proof=1")
        assert page.url.endswith("/enter")
        found = axe_module.Axe().run(page, options=AXE)
        assert found.violations_count == 0, found.generate_report()
        page.locator("#name").fill("A.A.")
        page.locator("#token").fill(token)
        page.get_by_role("button", name="To the desk").click()
        page.get_by_role("link", name="first proof").click()
        page.wait_for_selector("#card .words")
        page.keyboard.press("c")
        until(page, "document.querySelector('.rows .done').textContent === 'correct'")
        assert docket.job(JOB).at("1/F1").decision.by == "A.A."
        found = axe_module.Axe().run(page, options=AXE)
        assert found.violations_count == 0, found.generate_report()
        assert token not in page.content() + page.url
        page.get_by_role("button", name="Leave the desk").click()
        page.wait_for_selector("#token")
        assert troubles == []
        page.context.close()


@pytest.mark.slow
def test_a_thousand_faults_are_laid_open_and_decided(browser, tmp_path) -> None:
    """All of them are there, and keys are answered; how fast is measured in the benchmark."""
    docket = many_faults(tmp_path, 1000)
    with served(docket) as address:
        page, troubles = laid_open(browser, address)
        assert page.locator(".rows li").count() == 1000
        taken = []
        for left in range(999, 989, -1):
            begun = time.perf_counter()
            page.keyboard.press("c")
            until(page, f"{OPEN} === {left}")
            taken.append(time.perf_counter() - begun)
        assert sum(f.decision is not None for f in docket.job(JOB).proof.found) == 10
        assert troubles == []
        print(f"a key answered in {1000 * statistics.median(taken):.0f} ms (median)")
