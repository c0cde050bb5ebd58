"""The demo month as a book to page through: a client, a live server, a browser that is watched."""

from __future__ import annotations

import shutil
import threading
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from lemel.book import Book, open_book
from lemel.serve import application, point_at
from lemel.serve.server import make_server
from tests.months import quillmarsh_plan, quillmarsh_problem

CHROMIUM = Path("/usr/bin/chromium")
FLAGS = [
    "--no-sandbox", "--disable-quic", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--no-first-run", "--disable-dev-shm-usage",
]  # fmt: skip
#: Longer than anything on a loaded machine; tests wait on states, never on time.
PATIENCE_MS = 20_000


@dataclass(frozen=True)
class Shop:
    """A running server: where it is, and the book it serves."""

    url: str
    folder: Path

    @property
    def book(self) -> Book:
        """The same book, opened by the test."""
        return open_book(self.folder)


@pytest.fixture(scope="session")
def demo_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The month weighed in, planned and accepted; to be copied, never to be written to."""
    folder = tmp_path_factory.mktemp("month") / "book"
    with open_book(folder, create=True) as book:
        book.bench.take_in(quillmarsh_problem())
        book.accept(quillmarsh_plan())
    return folder


@pytest.fixture
def folder(demo_book: Path, tmp_path: Path) -> Path:
    """A copy of the demo's book, served from now on."""
    copy = tmp_path / "book"
    shutil.copytree(demo_book, copy)
    point_at(copy)
    return copy


@pytest.fixture
def empty(tmp_path: Path) -> Path:
    """A book with nothing in it, served from now on."""
    copy = tmp_path / "empty"
    open_book(copy, create=True).close()
    point_at(copy)
    return copy


@pytest.fixture
def client(folder: Path) -> Any:
    """Django's test client over a copy of the demo's book."""
    from django.test import Client

    return Client()


@pytest.fixture
def shop(folder: Path) -> Iterator[Shop]:
    """A live server on a free port, over a copy of the demo's book."""
    server = make_server(application(folder), 0)
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    yield Shop(f"http://127.0.0.1:{server.effective_port}", folder)
    server.close()
    server.task_dispatcher.shutdown()


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """One Chromium a run; where there is none the test is skipped, and fails where CI says so."""
    if not CHROMIUM.exists():
        pytest.skip("no Chromium here")
    from playwright.sync_api import sync_playwright

    with sync_playwright() as play:
        opened = play.chromium.launch(executable_path=str(CHROMIUM), args=FLAGS)
        yield opened
        opened.close()


@pytest.fixture
def open_page(browser: Any, shop: Shop) -> Iterator[Any]:
    """Opens watched pages: `open_page(viewport={"width": 360, "height": 740}, ...)`.

    At the end of the test nothing may have gone to another host, and the browser may have
    complained of nothing: no script error, no broken policy. `page.allowed` is a list of parts
    of complaints that the test expects (a 422 is one).
    """
    contexts, faults = [], []

    def opens(**options: Any) -> Any:
        context = browser.new_context(base_url=shop.url, **options)
        context.set_default_timeout(PATIENCE_MS)
        contexts.append(context)
        page = context.new_page()
        page.allowed = []

        def complain(said: str) -> None:
            if not any(part in said for part in page.allowed):
                faults.append(said)

        page.on("request", lambda asked: asked.url.startswith((shop.url, "data:", "blob:"))
                or complain(f"went out to {asked.url}"))  # fmt: skip
        page.on("console", lambda told: told.type in ("error", "warning")
                and complain(f"{told.type}: {told.text}"))  # fmt: skip
        page.on("pageerror", lambda error: complain(f"script: {error}"))
        return page

    yield opens
    for context in contexts:
        context.close()
    assert not faults, faults


@pytest.fixture
def page(open_page: Any) -> Any:
    """A watched page on a desk's screen."""
    return open_page(viewport={"width": 1280, "height": 900})
