"""The desk opened: a server on this machine, and the browser on its first page."""

from __future__ import annotations

import socket
import threading
import webbrowser
from typing import TYPE_CHECKING

import uvicorn

from proofcheck.base.errors import SettingError
from proofcheck.desk.shared import make_desk
from proofcheck.desk.site import make_site

if TYPE_CHECKING:
    from collections.abc import Callable

    from proofcheck.base.options import Options
    from proofcheck.docket.book import Docket

__all__ = ["serve"]

_HOST = "127.0.0.1"


def serve(
    docket: Docket,
    options: Options,
    *,
    port: int = 0,
    by: str = "",
    browser: bool = True,
    say: Callable[[str], None] = print,
) -> None:
    """Open the desk and serve it until Ctrl-C.

    Args:
        docket: the shop's.
        options: how dropped proofs are read.
        port: of this machine; 0 for any that is free.
        by: initials put in where none are given.
        browser: open the browser on it.
        say: told the address.

    Raises:
        SettingError: the port is taken.
    """
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((_HOST, port))
    except (OSError, OverflowError) as error:
        listening.close()
        msg = f"port {port} can't be used ({error}); name another with --port, or leave it out"
        raise SettingError(msg) from error
    port = listening.getsockname()[1]
    hosts = (f"{_HOST}:{port}", f"localhost:{port}")
    desk = make_desk(docket, options, by)
    site = make_site(desk, hosts)
    config = uvicorn.Config(
        site, log_level="warning", access_log=False, server_header=False, lifespan="on",
        timeout_graceful_shutdown=1,
    )  # fmt: skip
    server = uvicorn.Server(config)
    desk.news.closing = lambda: server.should_exit
    address = f"http://{_HOST}:{port}/"
    say(address)
    if browser:
        threading.Timer(0.5, webbrowser.open, (address,)).start()
    server.run(sockets=[listening])
