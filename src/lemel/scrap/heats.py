"""Heats as sums of their lots, through bars of earlier heats down to lots with own evidence."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from lemel.errors import BadInput
from lemel.scrap.faces import AssayedHeat
from lemel.scrap.lots import Kind
from lemel.values import Lot

__all__ = ["Mixture", "bars_of", "first_use", "mixtures_of"]


@dataclass(frozen=True, slots=True)
class Mixture:
    """A body as a sum of whole lots and a constant: sum(weight * share of lot) + constant."""

    on: tuple[tuple[str, float], ...]
    constant: float


def bars_of(lots: Mapping[str, Lot], heats: tuple[AssayedHeat, ...]) -> dict[str, str]:
    """The heat of each lot that is a bar of one of the heats."""
    known = {heat.id for heat in heats}
    found: dict[str, str] = {}
    for name, lot in lots.items():
        parents = [parent for parent in lot.parents if parent in known]
        if len(parents) > 1:
            raise BadInput(
                f"lots.{name}.parents", parents, "one heat", "A bar comes out of one heat."
            )
        if parents:
            found[name] = parents[0]
    return found


def first_use(heats: tuple[AssayedHeat, ...]) -> dict[str, str]:
    """The first heat, by id, that each lot went into."""
    found: dict[str, str] = {}
    for heat in sorted(heats, key=lambda h: h.id):
        for lot, _ in heat.lots:
            found.setdefault(lot, heat.id)
    return found


def mixtures_of(
    lots: Mapping[str, Lot],
    kinds: Mapping[str, Kind],
    heats: tuple[AssayedHeat, ...],
    bars: Mapping[str, str],
) -> dict[str, Mixture]:
    """Each heat as a sum of lots that have evidence of their own.

    A lot of g grams weighs g (1 - dirt) / metal of the heat; a bar of an earlier heat is
    taken apart into that heat's lots. BadInput for unknown lots, no metal, or a circle.
    """
    by_id = {heat.id: heat for heat in heats}
    if len(by_id) != len(heats) or set(by_id) & set(lots):
        raise BadInput(
            "heats.id", sorted(by_id), "each id once, and no lot's id", "Rename the heat."
        )
    mixing = _Mixing(by_id, lots, kinds, bars, {})
    for name in sorted(by_id):
        mixing.expand(name, ())
    return mixing.found


@dataclass(frozen=True, slots=True)
class _Mixing:
    """Heats taken apart one by one, each once."""

    heats: Mapping[str, AssayedHeat]
    lots: Mapping[str, Lot]
    kinds: Mapping[str, Kind]
    bars: Mapping[str, str]
    found: dict[str, Mixture]

    def expand(self, name: str, above: tuple[str, ...]) -> Mixture:
        """The heat `name` down to lots with evidence of their own; `above` are its users."""
        if name in above:
            raise BadInput(
                "heats", name, "heats made of earlier metal", "A heat cannot eat its own bar."
            )
        if name in self.found:
            return self.found[name]
        heat = self.heats[name]
        _check(heat, self.lots)
        on: dict[str, float] = {}
        constant = heat.fine_g / heat.metal_g
        for lot, grams in sorted(heat.lots):
            weight = grams * (1 - self.kinds[lot].dirt) / heat.metal_g
            if lot not in self.bars:
                on[lot] = on.get(lot, 0.0) + weight
                continue
            inner = self.expand(self.bars[lot], (*above, name))
            constant += weight * inner.constant
            for deeper, share in inner.on:
                on[deeper] = on.get(deeper, 0.0) + weight * share
        self.found[name] = Mixture(tuple(sorted(on.items())), constant)
        return self.found[name]


def _check(heat: AssayedHeat, lots: Mapping[str, Lot]) -> None:
    place = f"heats.{heat.id}"
    if not heat.metal_g > 0:
        raise BadInput(f"{place}.metal_g", heat.metal_g, "more than 0 g", "Weigh what was poured.")
    if not 0 <= heat.fine_g <= heat.metal_g:
        raise BadInput(
            f"{place}.fine_g",
            heat.fine_g,
            f"0 to {heat.metal_g:g} g",
            "Count the fine metal added.",
        )
    for lot, grams in heat.lots:
        if lot not in lots:
            raise BadInput(f"{place}.lots", lot, "the id of a lot given here", "Give its lots too.")
        if not grams > 0:
            raise BadInput(f"{place}.lots.{lot}", grams, "more than 0 g", "Leave unused lots out.")
