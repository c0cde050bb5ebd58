"""The Quillmarsh bench as files that a user would write by hand, and an example for each verb.

Comes in: nothing. Goes out: the folders' paths. Holds data only and asks nobody.
"""

from pathlib import Path

__all__ = ["examples", "quillmarsh"]


def quillmarsh() -> Path:
    """The folder of the demo month: workshop, lots, readings, orders, prices."""
    return Path(__file__).parent / "quillmarsh"


def examples() -> Path:
    """The folder with one working file for each verb."""
    return Path(__file__).parent / "examples"
