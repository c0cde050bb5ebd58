"""From bar to stock: rolls, grooves, hammer, draws and anneals, in the fewest sound passes.

Comes in: a bar, the stock that is needed, the kit. Goes out: a `Route` with every step, its
limit, the metal accounted for, and the proven fewest passages; backwards a verdict per bar.
Knows no moulds and no orders. May ask: metal, tables, values.
"""

from lemel.mill.answer import do
from lemel.mill.backwards import need
from lemel.mill.faces import BarVerdict, MillKit, MillNeed, MillProblem, Route, Step

__all__ = ["BarVerdict", "MillKit", "MillNeed", "MillProblem", "Route", "Step", "do", "need"]
