"""What became of an act: its entries, its bodies, what to do next."""

from __future__ import annotations

from lemel.api.shapes import shape_out
from lemel.book import Accepted, Done, Happened

__all__ = ["Happening", "Step", "Taken"]

#: The answer of an act that no plan foresaw, of a step of a plan, and of an accepted plan.
Happening, Step, Taken = shape_out(Happened), shape_out(Done), shape_out(Accepted)
