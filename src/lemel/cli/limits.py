"""Orders that no metal in the house could ever fill, found before any search begins."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace

from lemel.cut import need
from lemel.metal import standard
from lemel.plan import PlanProblem
from lemel.values import Composition, OrderLine, Quantity, Saying

__all__ = ["beyond_all_metal", "without"]


def beyond_all_metal(problem: PlanProblem) -> dict[str, Saying]:
    """Lines that ask for more fine metal than lots, additions and stock hold together.

    Nobody's consent and no purchase of small things mends such a line; it is nearly always
    a slip of the pen (mm for m, a nought too many). The blank's mass alone is counted, so
    that no line is refused that could be met.
    """
    found = {}
    for line in problem.orders:
        law = standard(line.standard, problem.workshop.rules.jurisdiction)
        body = Composition.of({law.main: law.least, "Cu": 1 - law.least})
        asked_g = _grams(line, body) * law.least
        there_g = _fine_g(problem, law.main)
        if asked_g > there_g:
            found[line.id] = Saying(
                "cli.beyond_all_metal",
                {
                    "line": line.id,
                    "metal": law.main,
                    "needed": Quantity(asked_g, "g"),
                    "there": Quantity(there_g, "g"),
                },
            )
    return found


def without(problem: PlanProblem, lines: Iterable[str]) -> PlanProblem:
    """The same question without these order lines."""
    left_out = set(lines)
    return replace(problem, orders=tuple(o for o in problem.orders if o.id not in left_out))


def _grams(line: OrderLine, body: Composition) -> float:
    """Mass of all blanks of a line, from one piece: a hundred thousand are not drawn."""
    one = replace(line, count=1, sizes={k: v for k, v in line.sizes.items() if k != "in_lengths"})
    asked = need((one,), {line.standard: body})
    return line.count * math.fsum(blank.mass_g for blank in asked.blanks)


def _fine_g(problem: PlanProblem, metal: str) -> float:
    """The most fine metal that could be there; what is not declared counts as all fine."""
    shop = problem.workshop
    lots = [
        lot.mass_g * (_share(lot.stated, metal) if lot.stated else float(lot.main == metal))
        for lot in problem.lots
    ]
    added = [
        (math.inf if one.stock_g is None else one.stock_g) * one.composition.share(metal)
        for one in shop.additions
        if one.composition.share(metal) > 0
    ]
    stock = [bar.mass_g * _share(bar.body, metal) for bar in shop.stock]
    return math.fsum((*lots, *added, *stock))


def _share(body: Composition, metal: str) -> float:
    return body.share(metal) + body.rest
