"""What the tests of the front door share."""

from __future__ import annotations

import pytest

from tests.cli.speaking import Speaker


@pytest.fixture
def lemel(capsys: pytest.CaptureFixture[str]) -> Speaker:
    """`lemel(...)` runs the program with these words."""
    return Speaker(capsys)
