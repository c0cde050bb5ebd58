"""Calling the front door from a test, as a user would from a shell."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import Any

import pytest

from lemel.cli import run


@dataclass(frozen=True)
class Heard:
    """What a run said and how it ended."""

    code: int
    out: str
    err: str

    @property
    def data(self) -> Any:
        """The one JSON object on stdout; fails if there is anything else."""
        return json.loads(self.out)


class Speaker:
    """Runs `lemel` in this process and hears what it says."""

    def __init__(self, capsys: pytest.CaptureFixture[str]) -> None:
        self._capsys = capsys

    def __call__(self, *arguments: object) -> Heard:
        self._capsys.readouterr()
        code = run([str(one) for one in arguments])
        said = self._capsys.readouterr()
        assert "Traceback" not in said.out + said.err
        return Heard(code, said.out, said.err)
