"""The example scripts read a device and write to the book; the devices are ours, on a pty."""

from __future__ import annotations

import contextlib
import json
import os
import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import pytest

from lemel.book import Account, device_of, new_token
from lemel.serve import application
from lemel.serve.server import make_server
from lemel.web import set_password
from tests.cli.speaking import Speaker

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"
pytestmark = pytest.mark.skipif(os.name != "posix", reason="a pty is wanted")


@pytest.fixture
def url(api) -> Iterator[str]:
    server = make_server(application(api.folder), 0)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    yield f"http://127.0.0.1:{server.effective_port}"
    server.close()
    server.task_dispatcher.shutdown()


def _run(script: str, said: bytes, *words: str) -> subprocess.CompletedProcess[str]:
    """The script with a device that says this again and again, as a balance does."""
    import pty

    ours, theirs = pty.openpty()
    process = subprocess.Popen(
        [sys.executable, str(EXAMPLES / script), os.ttyname(theirs), *words],
        stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    try:
        while process.poll() is None:
            os.write(ours, said)
            with contextlib.suppress(subprocess.TimeoutExpired):
                process.wait(0.2)
        out, err = process.communicate()
    finally:
        process.kill()
        os.close(ours)
        os.close(theirs)
    return subprocess.CompletedProcess(process.args, process.returncode, out, err)


def test_a_bag_on_the_balance_is_weighed_in_once_it_rests(api, url):
    owner = next(iter(api.book.owners()))
    said = b"US,+00011.90 g\r\ngarbage\r\nST,+00000.00 g\r\nST,+00012.34 g\r\n"
    done = _run("balance.py", said, "--url", url, "--lot", "S77", "--owner", owner)
    assert done.returncode == 0, done.stderr
    assert {one.id: one.mass_g for one in api.book.lots()}["S77"] == 12.34


def test_with_a_login_the_balance_needs_its_token(api, url):
    set_password(api.folder, "a long pass phrase")
    owner = next(iter(api.book.owners()))
    said, lot = b"ST,+00012.34 g\r\n", ["--url", url, "--lot", "S78", "--owner", owner]
    refused = _run("balance.py", said, *lot)
    assert refused.returncode == 2
    assert "token" in refused.stderr
    done = _run("balance.py", said, *lot, "--token", new_token(api.folder, "balance"))
    assert done.returncode == 0, done.stderr


def test_a_heap_is_brought_to_what_the_balance_says(api, url):
    lot = api.book.lots()[0]
    said = f"ST,+{lot.mass_g + 0.1:08.2f} g\r\n".encode()
    done = _run("balance.py", said, "--url", url, "--heap", lot.owner, "store", lot.id)
    assert done.returncode == 0, done.stderr
    held = api.book.held(Account(lot.owner, "store", lot.id)).gross_mg
    assert held == round((lot.mass_g + 0.1) * 1000)


def test_a_thermocouple_writes_its_temperatures_to_the_heat(api, url, tmp_path):
    plan = api.get("plans").json()[0]["id"]
    log = tmp_path / "device"
    log.write_text("T,+0998.5 C\nnoise\nT,+1001.0 C\nT,+1043.5 C\n")
    done = subprocess.run(
        [sys.executable, str(EXAMPLES / "thermocouple.py"), str(log), "--url", url,
         "--plan", plan, "--heat", "H1", "--every", "0"],
        capture_output=True, text=True, timeout=120, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    told = api.get("heats/log", plan=plan, heat="H1").json()
    assert [one["facts"]["celsius"] for one in told] == [998.5, 1001.0, 1043.5]


def test_a_logger_on_a_serial_line_is_read_as_it_comes(api, url):
    import pty

    plan = api.get("plans").json()[0]["id"]
    ours, theirs = pty.openpty()
    process = subprocess.Popen(
        [sys.executable, str(EXAMPLES / "thermocouple.py"), os.ttyname(theirs), "--url", url,
         "--plan", plan, "--heat", "H1", "--every", "0"],
        stderr=subprocess.PIPE,
    )  # fmt: skip
    arrived = threading.Event()

    def look() -> None:
        while not arrived.is_set() and process.poll() is None:
            if len(api.get("heats/log", plan=plan, heat="H1").json()) == 2:
                arrived.set()
        api.book.close()

    looking = threading.Thread(target=look)
    looking.start()
    try:
        os.write(ours, b"T,+0998.5 C\r\nT,+1001.0 C\r\n")
        assert arrived.wait(60)
    finally:
        process.kill()
        process.communicate()
        looking.join()
        os.close(ours)
        os.close(theirs)


def test_serve_makes_a_token_for_a_device_and_describes_the_api(api, tmp_path, capsys):
    speak = Speaker(capsys)
    told = speak("serve", "--book", api.folder, "--new-token", "balance", "--json").data
    assert device_of(api.folder, told["token"]) == "balance"
    file = tmp_path / "openapi.json"
    assert speak("serve", "--describe", file, "--json").data["file"] == str(file)
    assert "/api/lots" in json.loads(file.read_text())["paths"]
