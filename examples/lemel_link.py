"""What both example scripts need: a serial line to read, and the API to send to. Standard library.

With `pyserial` installed the line works on every system; without it on those with termios.
"""

from __future__ import annotations

import json
import secrets
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any

__all__ = ["Refused", "lines_of", "send"]

#: Seconds between two attempts while the book cannot be reached.
WAIT_S = 2.0
BAUD = 9600


class Refused(Exception):
    """The book answered, and said no: its own sentence."""


def send(url: str, path: str, body: Any, token: str = "", attempts: int = 30) -> Any:
    """Do something through the API, once: the same key goes with every attempt.

    A lost answer is asked for again and the act is not done twice. Raises Refused with what the
    book says, OSError once it could not be reached so many times.
    """
    headers = {"Content-Type": "application/json", "Idempotency-Key": secrets.token_hex(16)}
    if token:
        headers["Authorization"] = f"Bearer {token}"
    asked = urllib.request.Request(f"{url}/api/{path}", json.dumps(body).encode(), headers)
    # Straight to the book: a proxy of the house has no business with it.
    opener = urllib.request.build_opener(urllib.request.ProxyHandler({}))
    for attempt in range(attempts):
        try:
            with opener.open(asked, timeout=30) as answer:
                return json.load(answer)
        except urllib.error.HTTPError as no:
            told = json.loads(no.read() or b"{}")
            if no.code < 500:
                raise Refused(told.get("detail", f"status {no.code}")) from None
        except OSError:
            if attempt == attempts - 1:
                raise
        time.sleep(WAIT_S)
    raise OSError("the book does not answer")


def lines_of(device: str) -> Iterator[str]:
    """Lines of a serial device as they come, 9600 baud, 8 bits, no parity."""
    try:
        import serial
    except ImportError:
        yield from _lines_by_termios(device)
        return
    with serial.Serial(device, BAUD, timeout=None) as port:
        while raw := port.readline():
            yield raw.decode("ascii", "replace").strip()


def _lines_by_termios(device: str) -> Iterator[str]:
    import termios
    import tty

    with Path(device).open("rb", buffering=0) as port:
        if port.isatty():
            tty.setraw(port.fileno(), termios.TCSANOW)
            mode = termios.tcgetattr(port.fileno())
            mode[4] = mode[5] = termios.B9600
            termios.tcsetattr(port.fileno(), termios.TCSANOW, mode)
        begun = b""
        while some := port.read(64):
            *whole, begun = (begun + some).split(b"\n")
            for raw in whole:
                yield raw.decode("ascii", "replace").strip()
