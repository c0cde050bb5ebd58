"""Which fire and which pot for a charge, and why not the others."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from lemel import metal
from lemel.melt.bath import bath_of
from lemel.melt.faces import PotChoice
from lemel.melt.figures import figure, gas_row, pot_row
from lemel.melt.life import Inspection, inspect_pot, melts_most
from lemel.melt.torch import torch_limit_g, torch_melt
from lemel.tables import Tables, shipped
from lemel.values import (
    Charge,
    Composition,
    Crucible,
    Furnace,
    Objection,
    Quantity,
    Saying,
    SayingValue,
    Torch,
)

__all__ = ["choose_pot", "crucible_faults", "pot_family", "pot_holds_g"]


def pot_holds_g(pot: Crucible, liquid_g_cm3: float, tables: Tables | None = None) -> float:
    """The most metal a pot may hold molten, g."""
    return pot_row(pot.material, tables).number("liquid_share") * pot.volume_cm3 * liquid_g_cm3


def pot_family(family: str, tables: Tables | None = None) -> str:
    """The family whose pots serve this one: fine silver goes into a silver pot."""
    rows = (tables or shipped()).table("melt_family")
    return rows[family].text("pot") if family in rows else family


def crucible_faults(
    pot: Crucible,
    family: str,
    tables: Tables | None = None,
    *,
    seen: Inspection | None = None,
) -> tuple[Objection, ...]:
    """What stands against a pot whatever is put in: retired, worn out, another family's, or what
    was seen of it."""
    found = [] if seen is None else list(inspect_pot(pot, seen, tables))
    if pot.retired:
        way = Saying("melt.way.other_pot")
        found.append(Objection("melt.pot.retired", pot.id, "stop", {}, way))
    if pot.family not in (family, pot_family(family, tables), ""):
        values = {"pot_family": pot.family, "family": family}
        way = Saying("melt.way.own_pot", {"family": family})
        found.append(Objection("melt.pot.family", pot.id, "stop", values, way))
    most = melts_most(pot, tables)
    if pot.melts_done >= most:
        way = Saying("melt.way.other_pot")
        counts = {"done": pot.melts_done, "most": most}
        found.append(Objection("melt.pot.worn", pot.id, "stop", counts, way))
    elif pot.melts_done >= 0.9 * most:
        counts = {"done": pot.melts_done, "most": most}
        found.append(
            Objection("melt.pot.nearly_worn", pot.id, "note", counts, Saying("melt.way.inspect"))
        )
    return tuple(found)


@dataclass(frozen=True, slots=True)
class _Ask:
    mass_g: float
    liquid_g_cm3: float
    family: str
    tables: Tables | None
    seen: Mapping[str, Inspection]


def choose_pot(
    charge: Charge,
    furnaces: Sequence[Furnace],
    crucibles: Sequence[Crucible],
    torches: Sequence[Torch],
    family: str,
    *,
    seen: Mapping[str, Inspection] | None = None,
    tables: Tables | None = None,
) -> PotChoice:
    """The best fire and pot for the charge, with the reasons.

    `seen` is what was found of the pots, by id: a cracked, thin or damp one is passed over.

    Up to about 30 g a torch and a dish, above about 60 g a furnace, between them whichever
    there is (the furnace where the pot would be filled enough). A pot filled less than its
    least share is passed over for a dish. A charge heavier than every pot is split into
    heats. "none": nothing fits, with the way out.
    """
    body = charge.composition_mean
    melting = metal.melting(body, tables=tables)
    density = metal.liquid_density_g_cm3(body, melting.liquidus_c + 50, tables=tables)
    ask = _Ask(charge.mass_g, density, family, tables, seen or {})
    pots, against = _fit_pots(ask, crucibles)
    pot = _best_pot(ask, pots) if furnaces else None
    torch = _best_torch(ask, charge, torches)
    if pot is not None:
        filled = ask.mass_g / (pot.volume_cm3 * density)
        thin = filled < pot.least_fill
        glad = figure("torch_glad_g", tables)
        if torch is not None and (thin or ask.mass_g <= glad):
            return _by_torch(
                ask, torch, "melt.choice.thin" if thin else "melt.choice.small", against
            )
        return _by_furnace(ask, max(furnaces, key=lambda f: (f.top_c, f.id)), pot, against)
    if torch is not None:
        return _by_torch(ask, torch, "melt.choice.only_torch", against)
    way = Saying("melt.way.get_pot", {"family": family})
    values: dict[str, SayingValue] = {"mass": Quantity(ask.mass_g, "g"), "family": family}
    stop = Objection("melt.no_fire", charge.heat, "stop", values, way)
    weak = _too_weak(ask, _hot_c(ask, body), torches)
    return PotChoice("none", None, None, None, 0, (), (*against, *weak, stop))


def _fit_pots(
    ask: _Ask, crucibles: Sequence[Crucible]
) -> tuple[list[Crucible], tuple[Objection, ...]]:
    fit, against = [], []
    for pot in crucibles:
        if pot.material == "clay_dish":
            continue
        faults = crucible_faults(pot, ask.family, ask.tables, seen=ask.seen.get(pot.id))
        if any(fault.grade == "stop" for fault in faults):
            against += [
                Objection(fault.code, fault.about, "note", fault.values, fault.remedy)
                for fault in faults
                if fault.grade == "stop"
            ]
        else:
            fit.append(pot)
    return fit, tuple(against)


def _best_pot(ask: _Ask, pots: Sequence[Crucible]) -> Crucible | None:
    """The smallest that holds it all, else the largest."""
    if not pots:
        return None
    roomy = [p for p in pots if pot_holds_g(p, ask.liquid_g_cm3, ask.tables) >= ask.mass_g]
    if roomy:
        return min(roomy, key=lambda p: (p.volume_cm3, p.melts_done, p.id))
    return max(pots, key=lambda p: (pot_holds_g(p, ask.liquid_g_cm3, ask.tables), p.id))


def _hot_c(ask: _Ask, body: Composition) -> float:
    """How hot a pool in a dish must be."""
    liquidus_c = metal.melting(body, tables=ask.tables).liquidus_c
    return liquidus_c + figure("button_over_k", ask.tables)


def _too_weak(ask: _Ask, hot_c: float, torches: Sequence[Torch]) -> tuple[Objection, ...]:
    """Why none of the torches melts the charge: too cool a flame, or more metal than it heats."""
    found: list[Objection] = []
    for torch in torches:
        cool = flame_fault(torch, hot_c, ask.tables)
        limit_g = torch_limit_g(
            hot_c, torch.flame_w, liquid_g_cm3=ask.liquid_g_cm3, tables=ask.tables
        )
        values = {"mass": Quantity(ask.mass_g, "g"), "most": Quantity(round(limit_g), "g")}
        way = Saying("melt.way.furnace_or_split")
        heavy = Objection("melt.torch.limit", torch.id, "note", values, way)
        found += cool or (heavy,)
    return tuple(found)


def _best_torch(ask: _Ask, charge: Charge, torches: Sequence[Torch]) -> Torch | None:
    """The weakest torch whose flame still melts the charge, with a dish of the family first."""
    body, density = charge.composition_mean, ask.liquid_g_cm3
    hot_c = _hot_c(ask, body)
    able = []
    for torch in torches:
        limit_g = torch_limit_g(hot_c, torch.flame_w, liquid_g_cm3=density, tables=ask.tables)
        # The heat curve is dear: it is asked for only where the limit leaves a doubt.
        if ask.mass_g > limit_g or flame_fault(torch, hot_c, ask.tables):
            continue
        melted = torch_melt(
            bath_of(body, ask.tables), ask.mass_g, hot_c, torch.flame_w,
            liquid_g_cm3=density, tables=ask.tables,
        )  # fmt: skip
        if melted.seconds is not None:
            able.append(torch)
    if not able:
        return None
    return min(able, key=lambda t: (bool(dish_note(t, ask.family, ask.tables)), t.flame_w, t.id))


def _by_torch(ask: _Ask, torch: Torch, reason: str, against: tuple[Objection, ...]) -> PotChoice:
    values: dict[str, SayingValue] = {"mass": Quantity(ask.mass_g, "g"), "torch": torch.id}
    warn = torch_warning(ask.mass_g, torch, ask.tables)
    new_dish = dish_note(torch, ask.family, ask.tables)
    reasons = (Saying(reason, values), Saying("melt.choice.dish", {"family": ask.family}))
    return PotChoice("torch", None, None, torch, 1, reasons, (*against, *new_dish, *warn))


def flame_fault(torch: Torch, bath_c: float, tables: Tables | None = None) -> tuple[Objection, ...]:
    """A flame that never gets a bath so hot, however small the charge."""
    top_c = gas_row(torch.gas, tables).number("top_c")
    if bath_c <= top_c:
        return ()
    values = {"wanted": Quantity(bath_c, "degC"), "most": Quantity(top_c, "degC")}
    way = Saying("melt.way.oxygen")
    return (Objection("melt.torch.too_cool", torch.id, "stop", values, way),)


def dish_note(torch: Torch, family: str, tables: Tables | None = None) -> tuple[Objection, ...]:
    """A torch has dishes by family; metal of another family asks for a new one."""
    if not torch.families or {family, pot_family(family, tables)} & set(torch.families):
        return ()
    way = Saying("melt.way.new_dish", {"family": family})
    return (Objection("melt.dish.new", torch.id, "note", {"family": family}, way),)


def torch_warning(
    mass_g: float, torch: Torch, tables: Tables | None = None
) -> tuple[Objection, ...]:
    """Above about 60 g, or above what the torch is said to carry, it is asked first."""
    most_g = min(figure("torch_warn_g", tables), torch.most_g)
    if mass_g <= most_g:
        return ()
    values = {"mass": Quantity(mass_g, "g"), "most": Quantity(most_g, "g")}
    return (
        Objection("melt.torch.heavy", torch.id, "ask", values, Saying("melt.way.furnace_or_split")),
    )


def _by_furnace(
    ask: _Ask, furnace: Furnace, pot: Crucible, against: tuple[Objection, ...]
) -> PotChoice:
    holds_g = pot_holds_g(pot, ask.liquid_g_cm3, ask.tables)
    heats = max(1, math.ceil(ask.mass_g / holds_g - 1e-9))
    values: dict[str, SayingValue] = {
        "mass": Quantity(ask.mass_g, "g"),
        "pot": pot.id,
        "holds": Quantity(holds_g, "g"),
    }
    reasons = [Saying("melt.choice.furnace", values)]
    notes = list(against)
    if heats > 1:
        way = Saying("melt.way.split", {"heats": heats, "most": Quantity(holds_g, "g")})
        over: dict[str, SayingValue] = {"mass": values["mass"], "most": values["holds"]}
        notes.append(Objection("melt.pot.overfull", pot.id, "stop", over, way))
    filled = ask.mass_g / (pot.volume_cm3 * ask.liquid_g_cm3)
    if filled < pot.least_fill:
        share: dict[str, SayingValue] = {"share": Quantity(100 * filled, "percent"), "pot": pot.id}
        way = Saying("melt.way.smaller_pot")
        notes.append(Objection("melt.pot.thin_pool", pot.id, "note", share, way))
    faults = crucible_faults(pot, ask.family, ask.tables, seen=ask.seen.get(pot.id))
    notes += [fault for fault in faults if fault.grade != "stop"]
    return PotChoice("furnace", furnace, pot, None, heats, tuple(reasons), tuple(notes))
