"""The exact division of a charge into fillings: a shortest path over the heap's places."""

from __future__ import annotations

import math
from dataclasses import dataclass

from lemel.melt.bath import Bath
from lemel.melt.charging import Heap
from lemel.melt.figures import figure
from lemel.melt.pot_heat import PotHeat
from lemel.tables import Tables

__all__ = ["BATH_LEAST", "FillPlan", "FillRules", "fill_rules", "greedy_fills", "plan_fills"]

BATH_LEAST = ("liquidus", "half", "solidus")


@dataclass(frozen=True, slots=True)
class FillRules:
    """Limits and times of the charge sequence.

    A top-up must fit above the bath (`pile_cm3`) and leave it no colder than
    `bath_least_c` once the pot has helped; mixed at once, before the pot helps, the bath must
    not fall under its solidus (`never_solid`). `first_share` is the part of the charge or of
    the pot that the first filling takes (1: as much as fits).
    """

    volume_cm3: float
    pile_cm3: float
    liquid_cm3: float
    liquid_g_cm3: float
    first_share: float
    pot_g: float
    pot: PotHeat
    bath: Bath
    bath_c: float
    bath_least_c: float
    add_c: float
    pot_share: float
    net_w: float
    window_s: float
    lid_s: float
    react_s: float
    warm_s: float
    open_w: float
    never_solid: bool = True

    def top_up_most_g(self, in_pot_g: float) -> float:
        """The most cold metal that a bath of so many grams takes.

        [m (h(T) - h(Tmin)) + share m_pot (H(T) - H(Tmin)) + q t] / (h(Tmin) - h(T_add)): the pot
        pays for most of it. Unchecked: no printed example.
        """
        h, pot = self.bath.enthalpy_at, self.pot.enthalpy_at
        spare_j = in_pot_g * (h(self.bath_c) - h(self.bath_least_c))
        spare_j += self.pot_share * self.pot_g * (pot(self.bath_c) - pot(self.bath_least_c))
        spare_j += self.net_w * self.window_s
        most_g = spare_j / (h(self.bath_least_c) - h(self.add_c))
        if self.never_solid:
            at_solidus = h(self.bath.solidus_c)
            spare_j = in_pot_g * (h(self.bath_c) - at_solidus)
            most_g = min(most_g, spare_j / (at_solidus - h(self.add_c)))
        return most_g

    def seconds(self, mass_g: float, fills: int) -> float:
        """Time of a charge in so many fillings, before the simulator says better."""
        heat_j = mass_g * (self.bath.enthalpy_at(self.bath_c) - self.bath.enthalpy_at(self.add_c))
        each_s = self.lid_s + self.react_s + self.open_w * self.lid_s / self.net_w
        return self.warm_s + heat_j / self.net_w + (fills - 1) * each_s


@dataclass(frozen=True, slots=True)
class FillPlan:
    """Places where the charge is divided (first 0, last the end), and what that costs.

    `seconds` is the estimate that was minimised; `hardest` the largest top-up over the most
    that the bath would take.
    """

    cuts: tuple[int, ...]
    seconds: float
    hardest: float

    @property
    def fills(self) -> int:
        """Number of fillings."""
        return len(self.cuts) - 1


def fill_rules(
    bath: Bath,
    *,
    volume_cm3: float,
    pot_g: float,
    pot: PotHeat,
    liquid_g_cm3: float,
    liquid_share: float,
    power_w: float,
    bath_c: float,
    bath_least: str = "half",
    first_share: float | None = None,
    tables: Tables | None = None,
) -> FillRules:
    """The rules for one pot and metal, figures from the table."""
    least_c = {
        "liquidus": bath.liquidus_c,
        "half": (bath.liquidus_c + bath.solidus_c) / 2,
        "solidus": bath.solidus_c,
    }[bath_least]
    return FillRules(
        volume_cm3=volume_cm3,
        pile_cm3=figure("pile_share", tables) * volume_cm3,
        liquid_cm3=liquid_share * volume_cm3,
        liquid_g_cm3=liquid_g_cm3,
        first_share=figure("first_share", tables) if first_share is None else first_share,
        pot_g=pot_g,
        pot=pot,
        bath=bath,
        bath_c=bath_c,
        bath_least_c=least_c,
        add_c=20.0,
        pot_share=figure("pot_share_mixing", tables),
        net_w=figure("net_share", tables) * power_w,
        window_s=figure("window_s", tables),
        lid_s=figure("lid_s", tables),
        react_s=figure("react_s", tables),
        warm_s=figure("warm_s", tables),
        open_w=figure("open_w", tables),
    )


def plan_fills(heap: Heap, rules: FillRules) -> FillPlan | None:
    """The division with the least time; ties by the smallest largest top-up, then by few
    divided lots. None: there is none (a piece that fits nowhere, or more than the pot holds).

    The same heat goes into the metal however it is divided, so the least time is the fewest
    fillings. Exact dynamic programme over the places (fillings, then largest top-up); the
    edges that fit form a window, so the work is places x window.
    """
    places = heap.places
    if heap.mass_g / rules.liquid_g_cm3 > rules.liquid_cm3 + 1e-9:
        return None
    best: list[tuple[int, float, int] | None] = [None] * len(places)
    back = [0] * len(places)
    best[0] = (0, 0.0, 0)
    for i in range(len(places) - 1):
        so_far = best[i]
        if so_far is None:
            continue
        most_g = math.inf if i == 0 else rules.top_up_most_g(places[i].mass_g)
        for j in range(i + 1, len(places)):
            if not _fits(heap, rules, i, j):
                break
            added_g = places[j].mass_g - places[i].mass_g
            if i and added_g > most_g + 1e-9:
                break
            if i == 0 and not _first(heap, rules, j):
                break
            hard = max(so_far[1], 0.0 if i == 0 else added_g / most_g)
            cost = (so_far[0] + 1, hard, so_far[2] + places[j].inside)
            old = best[j]
            if old is None or cost < old:
                best[j], back[j] = cost, i
    end = best[-1]
    if end is None:
        return None
    return FillPlan(_trace(back), rules.seconds(heap.mass_g, end[0]), end[1])


def greedy_fills(heap: Heap, rules: FillRules) -> FillPlan | None:
    """As much as fits every time. For one form of scrap this needs the fewest fillings."""
    places = heap.places
    cuts, i, hardest = [0], 0, 0.0
    while i < len(places) - 1:
        most_g = math.inf if i == 0 else rules.top_up_most_g(places[i].mass_g)
        j = i
        while (
            j + 1 < len(places)
            and _fits(heap, rules, i, j + 1)
            and places[j + 1].mass_g - places[i].mass_g <= most_g + 1e-9
            and (i > 0 or _first(heap, rules, j + 1))
        ):
            j += 1
        if j == i:
            return None
        added_g = places[j].mass_g - places[i].mass_g
        hardest = max(hardest, 0.0 if i == 0 else added_g / most_g)
        cuts.append(j)
        i = j
    return FillPlan(tuple(cuts), rules.seconds(heap.mass_g, len(cuts) - 1), hardest)


def _fits(heap: Heap, rules: FillRules, i: int, j: int) -> bool:
    a, b = heap.places[i], heap.places[j]
    pile_cm3 = a.mass_g / rules.liquid_g_cm3 + b.bulk_cm3 - a.bulk_cm3
    return pile_cm3 <= rules.pile_cm3 + 1e-9


def _first(heap: Heap, rules: FillRules, j: int) -> bool:
    """A third of the charge or of the pot, whichever is more; one piece always may."""
    place = heap.places[j]
    return (
        j == 1
        or place.mass_g <= rules.first_share * heap.mass_g + 1e-9
        or place.bulk_cm3 <= rules.first_share * rules.volume_cm3 + 1e-9
    )


def _trace(back: list[int]) -> tuple[int, ...]:
    cuts = [len(back) - 1]
    while cuts[-1]:
        cuts.append(back[cuts[-1]])
    return tuple(reversed(cuts))
