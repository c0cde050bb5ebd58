"""The Quillmarsh month served to programs."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from django.test import Client

from lemel.book import Book, open_book
from lemel.serve import point_at
from tests.months import quillmarsh_plan, quillmarsh_problem


@dataclass(frozen=True)
class Api:
    """A program that speaks to the API over a copy of the month's book."""

    folder: Path
    client: Client

    @property
    def book(self) -> Book:
        """The same book, looked at by the test."""
        return open_book(self.folder)

    def get(self, path: str, **query: Any) -> Any:
        """What is there."""
        return self.client.get(f"/api/{path}", query)

    def post(self, path: str, body: Any = None, key: str = "", **headers: str) -> Any:
        """An act, perhaps with its key."""
        if key:
            headers["Idempotency-Key"] = key
        text = "" if body is None else json.dumps(body)
        return self.client.post(
            f"/api/{path}", text, content_type="application/json", headers=headers
        )


@pytest.fixture(scope="session")
def month(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The month weighed in, planned and accepted; to be copied."""
    folder = tmp_path_factory.mktemp("api-month") / "book"
    with open_book(folder, create=True) as book:
        book.bench.take_in(quillmarsh_problem())
        book.accept(quillmarsh_plan())
    return folder


@pytest.fixture
def api(month: Path, tmp_path: Path) -> Api:
    """The API over a copy of the month."""
    copy = tmp_path / "book"
    shutil.copytree(month, copy)
    point_at(copy)
    return Api(copy, Client())


@pytest.fixture
def problem_of() -> Callable[..., dict[str, Any]]:
    """The problem that an answer carries, of this status."""

    def of(answer: Any, status: int) -> dict[str, Any]:
        assert answer.status_code == status, answer.content
        assert answer["Content-Type"] == "application/problem+json"
        told: dict[str, Any] = answer.json()
        assert {"type", "title", "status", "detail"} <= set(told)
        assert told["status"] == status
        return told

    return of
