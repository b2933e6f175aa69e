"""The desk opened: a server on this machine, and the browser on its first page."""

from __future__ import annotations

import ipaddress
import socket
import threading
import webbrowser
from pathlib import Path
from typing import TYPE_CHECKING

import uvicorn

from proofcheck.base.errors import SettingError
from proofcheck.base.visible import visible
from proofcheck.desk.admitted import load_readers, readers_path
from proofcheck.desk.shared import make_desk
from proofcheck.desk.site import make_site

if TYPE_CHECKING:
    from collections.abc import Callable

    from proofcheck.base.options import Options
    from proofcheck.desk.admitted import Readers
    from proofcheck.docket.book import Docket

__all__ = ["listening_at", "serve"]

_HOST = "127.0.0.1"


def serve(
    docket: Docket,
    options: Options,
    *,
    port: int = 0,
    by: str = "",
    browser: bool = True,
    lan: str = "",
    say: Callable[[str], None] = print,
) -> None:
    """Open the desk and serve it until Ctrl-C.

    Args:
        docket: the shop's.
        options: how dropped proofs are read.
        port: of this machine; 0 for any that is free.
        by: initials put in where none are given.
        browser: open the browser on it.
        lan: this machine's address in the house's network, to let the docket's readers come in
            from other machines; "" for this machine alone.
        say: told the address.

    Raises:
        SettingError: the port is taken, the address is not this machine's, or nobody could come in.
    """
    readers = _readers_of(docket, lan)
    listening = listening_at(lan or _HOST, port)
    port = listening.getsockname()[1]
    hosts = (f"{lan}:{port}",) if lan else (f"{_HOST}:{port}", f"localhost:{port}")
    desk = make_desk(docket, options, by)
    site = make_site(desk, hosts, readers)
    config = uvicorn.Config(
        site, log_level="warning", access_log=False, server_header=False, lifespan="on",
        timeout_graceful_shutdown=1,
    )  # fmt: skip
    server = uvicorn.Server(config)
    desk.news.closing = lambda: server.should_exit
    address = f"http://{lan or _HOST}:{port}/"
    say(address)
    if browser:
        threading.Timer(0.5, webbrowser.open, (address,)).start()
    server.run(sockets=[listening])


def listening_at(host: str, port: int = 0) -> socket.socket:
    """A socket for the desk, bound to that port (any that is free if 0).

    Raises SettingError where it can't be used.
    """
    # With its protocol named the server sends each part of an answer at once (TCP_NODELAY);
    # otherwise the second part waits some 40 ms till the browser has acknowledged the first.
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((host, port))
    except (OSError, OverflowError) as error:
        listening.close()
        what = f"port {port}" if host == _HOST else f"{visible(host)}, port {port},"
        msg = f"{what} can't be used ({error}); name another with --port, or leave it out"
        raise SettingError(msg) from error
    return listening


def _readers_of(docket: Docket, lan: str) -> Callable[[], Readers] | None:
    """Says who may come in from other machines; None where nobody may."""
    if not lan:
        return None
    try:
        held = ipaddress.IPv4Address(lan)
    except ValueError as error:
        msg = f"{visible(lan)!r} is no address of this machine in the house's network: 192.168.1.20"
        raise SettingError(msg) from error
    if not held.is_private or held.is_unspecified:
        msg = f"{lan} is no address of a house's own network; the desk is for no other"
        raise SettingError(msg)
    if "://" in docket.store.place:
        msg = "readers are listed beside a docket that is a file; this one is a database elsewhere"
        raise SettingError(msg)
    path = readers_path(Path(docket.store.place))
    if not load_readers(path).hashes:
        msg = "nobody could come in: make a reader first, with docket reader NAME"
        raise SettingError(msg)
    return lambda: load_readers(path)
