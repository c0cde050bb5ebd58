"""One planned month for all claims about its cards."""

from __future__ import annotations

import pytest

from lemel.plan import Plan
from tests.months import quillmarsh_plan


@pytest.fixture(scope="session")
def plan() -> Plan:
    return quillmarsh_plan()
