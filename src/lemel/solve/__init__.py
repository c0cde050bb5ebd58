"""The one door to the mathematical solver.

Comes in: a `Program` (variables, rows, second-order cones). Goes out: a `Solution` with a
proof (bound, gap) or a reason. Only this room imports the solver library.
"""

from lemel.solve.door import relax, solve, solver_name
from lemel.solve.program import Cone, Program, Row, Solution, Variable

__all__ = ["Cone", "Program", "Row", "Solution", "Variable", "relax", "solve", "solver_name"]
