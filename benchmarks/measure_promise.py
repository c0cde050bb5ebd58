"""What is promised, and how often it is broken, in a simulated world of three hundred boxes.

About ten minutes on one core: a simulation of this length is what the figures need.
"""

from __future__ import annotations

from blend_simulation import simulate

__all__ = ["run"]

BOXES = 300


def run() -> list[tuple[str, str]]:
    """(claim, measured) pairs."""
    return [(f"{claim}, {BOXES} boxes", measured) for claim, measured in simulate(BOXES)]


if __name__ == "__main__":
    for claim, measured in run():
        print(f"{claim}: {measured}")
