"""The server: plain threads on this machine, or on the local network behind a login."""

from __future__ import annotations

import os
import select
import socket
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lemel.errors import BadInput
from lemel.serve.settings import UPLOAD_MOST_BYTES, configure, point_at

__all__ = ["PORT", "Place", "application", "make_server", "own_names", "serve"]

PORT = 8311
_THREADS = 8


@dataclass(frozen=True, slots=True)
class Place:
    """Where the pages are to be had: the address to open, and all that is listened at."""

    address: str
    listens: tuple[str, ...]


def application(folder: Path | str, hosts: tuple[str, ...] = ()) -> Any:
    """The WSGI application over the book in a folder."""
    configure(hosts)
    point_at(folder)
    from django.core.wsgi import get_wsgi_application

    return get_wsgi_application()


def own_names() -> tuple[str, ...]:
    """What this machine is called on the local network: addresses, name. Sends nothing."""
    names = {socket.gethostname(), f"{socket.gethostname()}.local"}
    probe = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
    try:
        # An address kept for examples (RFC 5737): choosing a way to it sends no packet.
        probe.connect(("192.0.2.1", 9))
        names.add(probe.getsockname()[0])
    except OSError:
        pass
    finally:
        probe.close()
    return tuple(sorted(names))


def serve(
    folder: Path | str,
    *,
    port: int = PORT,
    share: bool = False,
    ready: Callable[[Place], None] | None = None,
) -> None:
    """Serve the book until the process is told to end; `ready` hears where. Port 0: any free one.

    Raises BadInput where the network is to be let in without a login, or the port is taken.
    """
    from lemel.web import has_password

    if share and not has_password(Path(folder)):
        raise BadInput(
            "--share", "no login", "a book with a login",
            "Set one with `lemel serve --set-password`.",
        )  # fmt: skip
    names = own_names() if share else ()
    server = make_server(application(folder, names), port, share)
    at = server.effective_port
    hosts = ("127.0.0.1", *names) if share else ("127.0.0.1",)
    if ready is not None:
        ready(Place(f"http://127.0.0.1:{at}/", tuple(f"http://{host}:{at}/" for host in hosts)))
    try:
        server.run()
    finally:
        server.close()


def make_server(app: Any, port: int, share: bool = False) -> Any:
    """A server that listens and does not run yet. Port 0: any free one."""
    import waitress

    return waitress.create_server(
        app, sockets=[_bound("0.0.0.0" if share else "127.0.0.1", port)], threads=_THREADS,
        ident=None, max_request_body_size=UPLOAD_MOST_BYTES, clear_untrusted_proxy_headers=True,
        # select() knows only the first thousand files of a process.
        asyncore_use_poll=hasattr(select, "poll"),
    )  # fmt: skip


def _bound(host: str, port: int) -> socket.socket:
    """A socket at this address; BadInput where somebody else has it."""
    made = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    if os.name == "posix":
        # So that the port may be taken again at once after an end; elsewhere it would share it.
        made.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        made.bind((host, port))
    except OSError as fault:
        made.close()
        raise BadInput("--port", port, "a free port", f"{fault.strerror}.") from None
    return made
