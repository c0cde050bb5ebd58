"""The fewest passages at full load, with what is proven of them."""

from __future__ import annotations

from dataclasses import dataclass, replace

from lemel.mill.attempt import Try, attempt, limits_of
from lemel.mill.bench import benches
from lemel.mill.certificate import Certificate, certify
from lemel.mill.faces import MillProblem
from lemel.mill.grid import Grid
from lemel.mill.rules import rules_of
from lemel.mill.search import Costs, passages
from lemel.tables import Tables
from lemel.values import Watch, quiet, stretch

__all__ = ["Fewest", "fewest"]

#: The mesh on which passages are counted; sizes from a certificate are added to it.
_MESH = 1.015


@dataclass(frozen=True, slots=True)
class Fewest:
    """The best try at full load and its certificate (None: proven on its own settings only)."""

    best: Try
    certificate: Certificate | None

    @property
    def bound(self) -> float:
        """No way costs less: over all sizes where there is a certificate."""
        return self.best.cost if self.certificate is None else self.certificate.bound

    @property
    def over(self) -> str:
        """What the bound holds for: all_sizes, or the settings that were tried."""
        return "settings" if self.certificate is None else "all_sizes"


def fewest(problem: MillProblem, tables: Tables | None = None, watch: Watch = quiet) -> Fewest:
    """Count passages on a mesh; where the exchange argument knows better sizes, take those."""
    costs = passages(rules_of(tables))
    grid = Grid(ratio=problem.mesh or _MESH)
    first = stretch(watch, 0.0, 0.3)
    best = attempt(problem, tables, grid, costs, full_load=True, watch=first)
    if best.found.path is None:
        return Fewest(best, None)
    certificate = _over_benches(problem, best, costs, tables, stretch(watch, 0.3, 1.0))
    if certificate is not None and certificate.sizes and certificate.bound < best.cost - 1e-9:
        finer = replace(grid, exact=certificate.sizes)
        again = attempt(problem, tables, finer, costs, full_load=True, watch=watch)
        best = min(best, again, key=lambda one: one.cost)
    return Fewest(best, certificate)


def _over_benches(
    problem: MillProblem, best: Try, costs: Costs, tables: Tables | None, watch: Watch
) -> Certificate | None:
    """The weakest of the certificates of all benches of the kit; None where one has none."""
    found: list[Certificate] = []
    for bench in benches(problem.kit, rules_of(tables)):
        task = replace(best.task, bench=bench)
        limits = limits_of(task, full_load=True)
        certificate = certify(task, limits, costs, thorough=problem.prove, watch=watch)
        if certificate is None:
            return None
        found.append(certificate)
    return min(found, key=lambda one: one.bound)
