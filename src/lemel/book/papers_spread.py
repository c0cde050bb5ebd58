"""How sure the book is of a heap's fineness: the spread of what was believed of its bags.

Bags of one stamp, instrument or class share errors; these do not average out in a heat, so the
whole covariance is carried from the bags to whatever holds their metal.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from math import sqrt
from typing import Any

from lemel.book import models, records
from lemel.scrap import ScrapProblem, believe
from lemel.tables import shipped
from lemel.values import Addition, BeliefSet, Lot, Reading

__all__ = ["Spread", "method_sd"]

_MILLESIMAL = 1e-3


def method_sd(reading: Reading) -> tuple[float, float]:
    """The own and the shared sd of a reading, as shares: its own, or else its method's."""
    table = shipped().table("scrap_methods")
    main = next(iter(reading.values), "")
    row = table.get(f"{reading.method}/{main}") or table.get(reading.method)
    own, common = (
        (row.number_or("sd_own", 0) * _MILLESIMAL, row.number_or("sd_common", 0) * _MILLESIMAL)
        if row is not None
        else (0.0, 0.0)
    )
    return (
        own if reading.sd_own is None else reading.sd_own,
        common if reading.sd_shared is None else reading.sd_shared,
    )


class Spread:
    """The sds of a book's bodies as the evidence stands; without `assays` as before the assays."""

    def __init__(self, alias: str, assays: bool = True) -> None:
        self._alias = alias
        self._with_assays = assays
        self._roots: dict[str, dict[str, float]] = {}

    @cached_property
    def _parents(self) -> Mapping[str, list[tuple[str, int]]]:
        found: dict[str, list[tuple[str, int]]] = {}
        rows = models.Kin.objects.using(self._alias).order_by("id")
        for child, parent, mg in rows.values_list("child_id", "parent_id", "gross_mg"):
            found.setdefault(child, []).append((parent, mg))
        return found

    @cached_property
    def _readings(self) -> tuple[Reading, ...]:
        return tuple(one for one in records.readings(self._alias) if not one.withdrawn)

    @cached_property
    def _assays(self) -> Mapping[str, Reading]:
        """The last assay of each heat or body that has one; none where they are left out."""
        table = shipped().table("scrap_methods")
        return {
            one.on: one
            for one in self._readings
            if self._with_assays
            and one.values
            and one.method in table
            and table[one.method].text("proves") == "heat"
        }

    @cached_property
    def _bodies(self) -> Mapping[str, Any]:
        rows = models.Body.objects.using(self._alias).filter(kind__in=("lot", "addition"))
        return {pk: records.record_of(self._alias, pk) for pk in rows.values_list("pk", flat=True)}

    @cached_property
    def _beliefs(self) -> Mapping[str, BeliefSet]:
        """What is believed of the bags, by main metal."""
        lots = [
            one
            for name, one in self._bodies.items()
            if isinstance(one, Lot) and name not in self._parents
        ]
        found = {}
        for main in sorted({lot.main for lot in lots}):
            group = tuple(lot for lot in lots if lot.main == main)
            names = {lot.id for lot in group}
            about = tuple(one for one in self._readings if one.on in names)
            found[main] = believe(ScrapProblem(group, about)).beliefs
        return found

    def believed(self, lot: str) -> tuple[float, float] | None:
        """Mean and sd of the main metal's share in a bag; None for what is no bag."""
        record = self._bodies.get(lot)
        if not isinstance(record, Lot) or record.main not in self._beliefs:
            return None
        beliefs = self._beliefs[record.main]
        if lot not in beliefs.bodies:
            return None
        return beliefs.mean[beliefs.row(lot)].share(record.main), beliefs.sd(lot)

    def sd(self, body: str, element: str) -> float:
        """The sd of an element's share in any body, in what went into it by mass.

        An assay of the body, or of a heat it came from, stands for what is behind it.
        """
        return self.sd_of({body: 1.0}, element)

    def sd_of(self, amounts: Mapping[str, float], element: str) -> float:
        """The same for bodies together, as the share of all of them: errors that they share add up.

        sd^2 = sum (w own)^2 + sum over shared errors of (sum w loading)^2, w the mass shares.
        """
        total = sum(amounts.values())
        if total <= 0:
            return 0.0
        weights: dict[str, float] = {}
        for body, amount in amounts.items():
            for root, share in self._from(body).items():
                weights[root] = weights.get(root, 0.0) + share * amount / total
        variance = 0.0
        shared: dict[str, float] = {}
        for root, weight in weights.items():
            own, loads = self._errors(root, element)
            variance += (weight * own) ** 2
            for name, load in loads.items():
                shared[name] = shared.get(name, 0.0) + weight * load
        return sqrt(variance + sum(one**2 for one in shared.values()))

    def _from(self, body: str) -> Mapping[str, float]:
        """The shares of the bags, additions and assayed heats that a body's metal is of."""
        if body in self._roots:
            return self._roots[body]
        parents = self._parents.get(body, [])
        total = sum(mg for _, mg in parents)
        found: dict[str, float] = {}
        if body in self._assays or total <= 0:
            found[body] = 1.0
        else:
            for parent, mg in parents:
                for root, share in self._from(parent).items():
                    found[root] = found.get(root, 0.0) + share * mg / total
        self._roots[body] = found
        return found

    def _errors(self, root: str, element: str) -> tuple[float, Mapping[str, float]]:
        """A root's own sd and what it takes of each shared error."""
        assay = self._assays.get(root)
        if assay is not None and element in assay.values:
            own, common = method_sd(assay)
            return own, {f"assay {assay.source or assay.method}": common}
        record = self._bodies.get(root)
        if isinstance(record, Addition):
            return (record.sd if record.composition.main() == element else 0.0), {}
        if not isinstance(record, Lot) or record.main not in self._beliefs:
            return 0.0, {}
        beliefs = self._beliefs[record.main]
        if root not in beliefs.bodies:
            return 0.0, {}
        row = beliefs.row(root)
        if element != record.main:
            return beliefs.other[row].get(element, (0.0, 0.0, 0.0))[1], {}
        names = [f"{record.main} {name}" for name in beliefs.factors]
        return beliefs.own_sd[row], dict(zip(names, beliefs.loading[row], strict=True))
