"""How quick the desk is: to open, to record a decision, and to show it on a second desk.

    PYTHONPATH=tests:. python -m benchmark.deskpace [--faults 1000] [--decisions 100] [--runs 3]

Sets up a docket with one proof of so many faults and opens the desk on it in a process of its own.
Opening is timed from the command till the first page is there with its style and script. Then fault
after fault is decided over the desk's port: timed till its answer is there, by when it is on disk.
Last by key, in a browser (where playwright and chromium are): from the key till the list shows what
was decided, and till the list of a second window does; each by what the page's own clock says.

Another program that takes the processor makes all of it slower: the best of several runs is told
beside them all.
"""

from __future__ import annotations

import argparse
import http.client
import json
import os
import shutil
import socket
import statistics
import subprocess
import sys
import tempfile
import time
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

from desk_cases import JOB, many_faults

if TYPE_CHECKING:
    from collections.abc import Iterator

_NEEDED = ("/", "/files/page.css", "/files/desk.css", "/files/desk.js")
_NOTING = """() => {
  window.noted = [];
  const now = () => performance.timeOrigin + performance.now();
  document.addEventListener("keydown", () => window.noted.push(["key", now()]), true);
  new MutationObserver((all) => {
    if (all.some((one) => one.target.className === "done" && one.target.textContent))
      window.noted.push(["shown", now()]);
  }).observe(document.getElementById("rows"), { childList: true, subtree: true });
}"""
"""Notes when a key comes, and when the list shows one more decision."""


@contextmanager
def opened(place: Path) -> Iterator[tuple[str, float]]:
    """The desk in a process: its host, and the seconds till its first page was there."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    words = ["-m", "proofcheck.cli", "desk", "--no-browser", "--port", str(port)]
    begun = time.perf_counter()
    desk = subprocess.Popen(
        [sys.executable, *words, "--docket", str(place), "--by", "B.A."],
        stderr=subprocess.DEVNULL,
    )
    host = f"127.0.0.1:{port}"
    try:
        while True:
            try:
                line = http.client.HTTPConnection(host, timeout=20)
                for path in _NEEDED:
                    line.request("GET", path)
                    assert line.getresponse().read()
            except OSError:
                time.sleep(0.005)
            else:
                break
        yield host, time.perf_counter() - begun
    finally:
        desk.terminate()
        desk.wait(10)


def answered(host: str, faults: range) -> list[float]:
    """Seconds till the answer to each decision was there."""
    line = http.client.HTTPConnection(host, timeout=60)
    line.request("GET", f"/state?job={JOB}&proof=1")
    line.getresponse().read()
    taken = []
    for number in faults:
        body = {"job": JOB, "proof": 1, "fault": f"F{number}", "what": "correct", "note": "",
                "charge": "", "by": "B.A.", "said": str(number)}  # fmt: skip
        begun = time.perf_counter()
        line.request(
            "POST", "/decide", json.dumps(body),
            {"Origin": f"http://{host}", "Content-Type": "application/json"},
        )  # fmt: skip
        assert line.getresponse().read().startswith(b'{"row"')
        taken.append(time.perf_counter() - begun)
    return taken


def by_key(host: str, count: int) -> tuple[list[float], list[float]]:
    """Seconds from a key till the list shows the decision, and till a second window's does."""
    from playwright.sync_api import sync_playwright

    program = shutil.which("chromium") or shutil.which("chromium-browser")
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=program, args=["--no-sandbox"])
        here, there = (_window(browser, host) for _ in range(2))
        for _ in range(count):
            before = _shown(here)
            here.keyboard.press("c")
            while _shown(here) == before:
                here.wait_for_timeout(5)
        there.wait_for_timeout(2000)
        noted, far = here.evaluate("noted"), there.evaluate("noted")
        browser.close()
    keys = [at for what, at in noted if what == "key"]
    shown = [at for what, at in noted if what == "shown"]
    own = [(b - a) / 1000 for a, b in zip(keys, shown, strict=True)]
    # Two decisions may come to the second window in one look: each is shown by the next noting.
    seen = [at for _, at in far]
    second = [min(at - a for at in seen if at > a) / 1000 for a in keys]
    return own, second


def _window(browser: Any, host: str) -> Any:
    page = browser.new_context().new_page()
    page.goto(f"http://{host}/proof?job={JOB}&proof=1")
    page.wait_for_selector("#card .words")
    page.wait_for_timeout(1000)
    page.evaluate(_NOTING)
    return page


def _shown(page: Any) -> int:
    return int(page.evaluate("noted.filter(one => one[0] === 'shown').length"))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--faults", type=int, default=1000)
    parser.add_argument("--decisions", type=int, default=100)
    parser.add_argument("--runs", type=int, default=3)
    given = parser.parse_args()
    count = min(given.decisions, given.faults // 2)
    told: dict[str, list[tuple[float, float]]] = {}
    for _ in range(given.runs):
        with tempfile.TemporaryDirectory() as folder:
            many_faults(Path(folder), given.faults)
            with opened(Path(folder) / "docket.db") as (host, opening_s):
                found = {"first page": [opening_s]}
                found["on disk and answered"] = answered(host, range(1, count + 1))
                with suppress(ImportError):
                    own, second = by_key(host, count)
                    found |= {"a key, till it is shown": own, "till a second desk shows it": second}
        for what, seconds in found.items():
            told.setdefault(what, []).append((statistics.median(seconds), max(seconds)))
    load = os.getloadavg()[0]
    print(f"{given.faults} faults, {count} decisions, {given.runs} runs, load {load:.1f}")
    for what, runs in told.items():
        best, every = min(runs), ", ".join(f"{1000 * median:.0f}" for median, _ in runs)
        print(f"{what}: median {1000 * best[0]:.0f} ms, worst {1000 * best[1]:.0f} ms "
              f"(medians of all runs: {every})")  # fmt: skip


if __name__ == "__main__":
    main()
