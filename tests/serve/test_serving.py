"""The server itself: a process that answers on this machine alone and ends when it is told."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import urllib.error
import urllib.request

import pytest
from click.testing import CliRunner

from lemel.book import open_book
from lemel.cli.pages import serve as verb
from lemel.errors import BadInput, Broken
from lemel.serve import application, configure, serve
from lemel.serve.server import make_server, own_names


@pytest.fixture
def folder(tmp_path):
    open_book(tmp_path / "book", create=True).close()
    return tmp_path / "book"


def _got(address, host=None):
    asked = urllib.request.Request(address, headers={"Host": host} if host else {})
    try:
        with urllib.request.urlopen(asked, timeout=30) as answer:
            return answer.status, answer.headers, answer.read()
    except urllib.error.HTTPError as refused:
        with refused:
            return refused.code, refused.headers, refused.read()


@pytest.mark.skipif(os.name == "nt", reason="signals of Unix")
def test_lemel_serve_answers_and_ends_at_ctrl_c(folder):
    # A run in the background hands Ctrl-C on as ignored; here it is to be heard.
    ask = (
        "import signal, sys; signal.signal(signal.SIGINT, signal.default_int_handler);"
        " from lemel.cli import run; sys.exit(run(sys.argv[1:]))"
    )
    words = ["serve", "--book", str(folder), "--port", "0"]
    with subprocess.Popen(
        [sys.executable, "-c", ask, *words], stderr=subprocess.PIPE, stdout=subprocess.PIPE
    ) as served:
        told = served.stderr.readline().decode()
        address = re.search(r"http://127\.0\.0\.1:\d+/", told)[0]
        status, headers, page = _got(address)
        assert status == 200
        assert b"What can I make from this, today?" in page
        assert "Server" not in headers
        assert _got(address, host="elsewhere.example")[0] == 400
        served.send_signal(signal.SIGINT)
        out, _ = served.communicate(timeout=30)
    assert served.returncode == 0
    assert b"Closed." in out


def test_it_listens_on_the_loopback_alone(folder):
    server = make_server(application(folder), 0)
    try:
        assert server.effective_host == "127.0.0.1"
    finally:
        server.close()


def test_a_port_that_is_taken_is_bad_input(folder):
    first = make_server(application(folder), 0)
    try:
        with pytest.raises(BadInput) as refused:
            serve(folder, port=int(first.effective_port))
        assert refused.value.field == "--port"
    finally:
        first.close()


def test_a_folder_without_a_book_is_told_where_to_begin(tmp_path):
    done = CliRunner().invoke(verb, ["--book", str(tmp_path)])
    assert isinstance(done.exception, BadInput)
    assert "lemel book begin" in done.exception.do


def test_the_password_is_asked_for_twice_and_short_ones_are_refused(folder):
    short = CliRunner().invoke(
        verb, ["--book", str(folder), "--set-password"], input="wren\nwren\n"
    )
    assert isinstance(short.exception, BadInput)
    words = "wren under the anvil"
    done = CliRunner().invoke(
        verb, ["--book", str(folder), "--set-password"], input=f"{words}\n{words}\n"
    )
    assert done.exit_code == 0
    assert words not in done.output


def test_the_kept_hash_is_slow_to_guess_at(folder):
    from lemel.web import set_password

    set_password(folder, "wren under the anvil")
    method, rounds, *_ = (folder / "login").read_text().split("$")
    assert method == "pbkdf2_sha256"
    assert int(rounds) >= 600_000


def test_names_on_the_network_are_this_machines_own():
    assert all(name and " " not in name for name in own_names())


def test_settings_come_before_anything_of_django():
    ask = (
        "from lemel.book import Book\n"
        "from lemel.errors import Broken\n"
        "from lemel.serve import configure\n"
        "try: configure()\n"
        "except Broken as said: print('broken:', said)"
    )
    done = subprocess.run([sys.executable, "-c", ask], capture_output=True, text=True, check=True)
    assert done.stdout.startswith("broken: the book configured Django first")
    assert issubclass(Broken, Exception)


def test_asking_twice_adds_hosts_and_changes_nothing_else():
    from django.conf import settings

    before = settings.ALLOWED_HOSTS
    configure(hosts=["bench.local"])
    try:
        assert [*before, "bench.local"] == settings.ALLOWED_HOSTS
    finally:
        settings.ALLOWED_HOSTS = before
