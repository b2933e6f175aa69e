"""How quick the desk is: to open, to record a decision, and to show it on a second desk.

    PYTHONPATH=tests:. python -m benchmark.deskpace [--faults 1000] [--decisions 200]

Sets up a docket with one proof of so many faults, opens the desk on it in a process of its own,
and decides fault after fault over its own port. A decision is timed till its answer is there: by
then it is on disk. Another connection listens to the news, timed from the sending of the decision.
"""

from __future__ import annotations

import argparse
import http.client
import json
import socket
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from pathlib import Path

from desk_cases import JOB, many_faults


def opened(place: Path) -> tuple[subprocess.Popen[bytes], str, float]:
    """The desk in a process, its host, and the seconds till its first page was there."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    words = ["-m", "proofcheck.cli", "desk", "--no-browser", "--port", str(port)]
    begun = time.perf_counter()
    desk = subprocess.Popen([sys.executable, *words, "--docket", str(place), "--by", "B.A."])
    host = f"127.0.0.1:{port}"
    while True:
        try:
            line = http.client.HTTPConnection(host, timeout=5)
            line.request("GET", "/")
            line.getresponse().read()
        except OSError:
            time.sleep(0.005)
        else:
            return desk, host, time.perf_counter() - begun


def heard(host: str, times: dict[str, float], ready: threading.Event) -> None:
    """Note when news of each fault comes, as a second desk hears it."""
    line = http.client.HTTPConnection(host, timeout=60)
    line.request("GET", "/news")
    answer = line.getresponse()
    ready.set()
    while words := answer.readline():
        if words.startswith(b"data: ") and b"fault" in words:
            times[json.loads(words[6:])["fault"]] = time.perf_counter()


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--faults", type=int, default=1000)
    parser.add_argument("--decisions", type=int, default=200)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        many_faults(Path(folder), given.faults)
        desk, host, opening_s = opened(Path(folder) / "docket.db")
        try:
            line = http.client.HTTPConnection(host, timeout=60)
            line.request("GET", f"/state?job={JOB}&proof=1")
            line.getresponse().read()
            times: dict[str, float] = {}
            ready = threading.Event()
            threading.Thread(target=heard, args=(host, times, ready), daemon=True).start()
            ready.wait(10)
            said, answered = {}, []
            for number in range(1, given.decisions + 1):
                body = {"job": JOB, "proof": 1, "fault": f"F{number}", "what": "correct",
                        "note": "", "charge": "", "by": "B.A.", "said": str(number)}  # fmt: skip
                said[f"1/F{number}"] = begun = time.perf_counter()
                line.request(
                    "POST", "/decide", json.dumps(body),
                    {"Origin": f"http://{host}", "Content-Type": "application/json"},
                )  # fmt: skip
                assert line.getresponse().read().startswith(b'{"row"')
                answered.append(time.perf_counter() - begun)
            time.sleep(1)
        finally:
            desk.terminate()
            desk.wait(10)
    shown = [times[name] - begun for name, begun in said.items() if name in times]
    print(f"first page after {opening_s:.2f} s")
    for what, found in (("recorded and answered", answered), ("heard on a second desk", shown)):
        print(f"{what}: {len(found)}, median {1000 * statistics.median(found):.0f} ms, "
              f"worst {1000 * max(found):.0f} ms")  # fmt: skip


if __name__ == "__main__":
    main()
