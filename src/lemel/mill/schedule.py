"""Passes between the flats on a given list of thicknesses: the planner's core laid bare.

For those who want to try the search by itself, on a grid of their own or against another
method. The rules are those of the route: a pass goes to any thinner size that the limits
allow, an anneal resets the strain.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise

from lemel.errors import require
from lemel.metal import Working
from lemel.mill.field import Limits
from lemel.mill.graph import Finish, Graph, Node, Terminal
from lemel.mill.matter import Matter, from_working
from lemel.mill.rules import rules_of
from lemel.mill.search import Costs, search
from lemel.tables import Tables
from lemel.values import Mill, Temper, Watch, quiet

__all__ = ["FlatCase", "FlatSchedule", "flat_schedule"]

#: Figures that never bind, for cases that give only a largest draft.
_ENDLESS = 1e15
_ANY_METAL = Working(
    "any", 70, 165, 0.62, 1.0, 0.5, 0.3, (600, 650), "", "", "low", ("from_memory",)
)


@dataclass(frozen=True, slots=True)
class FlatCase:
    """A list of falling thicknesses and the rules between them.

    `mill` None: only `draft_most_mm` limits a pass. `window`: strain since soft at the last
    thickness (None: any). An anneal is allowed at any thickness but the last once the
    strain has reached `anneal_least`. `as_cast`: the first leg goes to `cast_strain_most`.
    """

    thickness_mm: tuple[float, ...]
    strain_most: float
    cast_strain_most: float
    anneal_least: float
    window: tuple[float, float] | None = None
    draft_most_mm: float | None = None
    mill: Mill | None = None
    width_mm: float = 50.0
    working: Working | None = None
    comfort: float = 1.0
    as_cast: bool = True
    pass_cost: float = 1.0
    anneal_cost: float = 12.0


@dataclass(frozen=True, slots=True)
class FlatSchedule:
    """The cheapest way: thicknesses pass by pass, those annealed at, and the states settled.

    `cost` None: there is no way.
    """

    cost: float | None
    passes: tuple[float, ...]
    anneals: tuple[float, ...]
    states: int


def flat_schedule(
    case: FlatCase, *, tables: Tables | None = None, watch: Watch = quiet
) -> FlatSchedule:
    """The cheapest schedule of passes and anneals on exactly these thicknesses.

    >>> case = FlatCase((2.0, 1.7, 1.4, 1.2, 1.0), 0.7, 0.5, 0.3, draft_most_mm=0.4,
    ...                 anneal_cost=5)
    >>> flat_schedule(case).passes
    (1.7, 1.4, 1.0)
    """
    sizes = case.thickness_mm
    falling = all(a > b > 0 for a, b in pairwise(sizes))
    require(
        falling and len(sizes) > 1, "thickness_mm", sizes, "two or more falling thicknesses",
        "Sort them from thick to thin.",
    )  # fmt: skip
    require(
        (case.mill is None) != (case.draft_most_mm is None), "draft_most_mm", case.draft_most_mm,
        "either a mill or a largest draft", "Give one of the two.",
    )  # fmt: skip
    rules, mill = rules_of(tables), case.mill
    if mill is None:
        rules, mill = replace(rules, least_gauge_times=0.0), _bare_mill(case.draft_most_mm or 0.0)
    graph = _graph(case, mill)
    limits = Limits(
        case.comfort, case.strain_most, case.cast_strain_most, case.anneal_least,
        case.anneal_least, math.inf,
    )  # fmt: skip
    costs = Costs(
        {"flats": case.pass_cost}, False, 0.0, 0.0, case.anneal_cost, math.inf, 0.0, 0.0, 0.0
    )
    temper = Temper("strain", *case.window) if case.window else None
    found = search(graph, _matter(case.working), rules, limits, costs, temper, watch)
    if found.path is None:
        return FlatSchedule(None, (), (), found.states)
    moves = found.path.moves
    return FlatSchedule(
        found.path.cost,
        tuple(sizes[m.target] for m in moves if m.tool == "flats"),
        tuple(sizes[m.target] for m in moves if m.tool == "anneal"),
        found.states,
    )


def _matter(working: Working | None) -> Matter:
    return from_working(working or _ANY_METAL, 10.0, 800.0, 780.0)


def _bare_mill(draft_most_mm: float) -> Mill:
    mu = 0.1
    return Mill(
        "bare", draft_most_mm / mu**2, _ENDLESS, _ENDLESS, 1e-9, _ENDLESS, _ENDLESS, _ENDLESS,
        bearing_mu=0.0, roll_mu=mu,
    )  # fmt: skip


def _graph(case: FlatCase, mill: Mill) -> Graph:
    graph = Graph(cast=case.as_cast)
    last = len(case.thickness_mm) - 1
    family = graph.add(
        *(
            Node(
                "flat", size, case.width_mm, size * case.width_mm,
                math.log(case.thickness_mm[0] / size), size, 1.0, closed=i < last,
            )
            for i, size in enumerate(case.thickness_mm)
        )
    )  # fmt: skip
    graph.run("flats", mill, family[:-1], family[1:])
    graph.terminals.append(Terminal(last, Finish()))
    return graph
