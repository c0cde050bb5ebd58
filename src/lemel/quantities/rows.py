"""Reading this room's own small tables; `lemel.tables` lies above and cannot be asked."""

from __future__ import annotations

import csv
from functools import cache
from importlib import resources
from io import StringIO

__all__ = ["read_rows"]


@cache
def read_rows(name: str) -> tuple[dict[str, str], ...]:
    """The rows of `data/<name>.csv` in file order."""
    text = (resources.files("lemel.quantities") / "data" / f"{name}.csv").read_text("utf-8")
    return tuple(csv.DictReader(StringIO(text)))
