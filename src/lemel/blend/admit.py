"""Which lot and which addition may enter which heat at all, and the code of the bar if not."""

from __future__ import annotations

from lemel.blend.faces import BlendAddition, BlendHeat, BlendLot

__all__ = ["bar_of_addition", "bar_of_lot"]


def bar_of_lot(lot: BlendLot, heat: BlendHeat) -> str | None:
    """Why the lot has no place in the heat whatever it costs; None if it is a candidate.

    The answer is the last word of a Saying's code: owner, flag, family, banned_element or
    not_allowed.
    """
    if heat.lots_allowed is not None and lot.id not in heat.lots_allowed:
        return "not_allowed"
    if lot.owner != heat.owner and lot.owner not in heat.may_use_owners:
        return "owner"
    if lot.flags & heat.forbid_flags:
        return "flag"
    if _families_clash(lot.family, heat.family):
        return "family"
    for element, limit in heat.impurity_most.items():
        possible = lot.mean.share(element) + heat.impurity_k * lot.other_sd.get(element, 0.0)
        if limit <= 0 and possible > 0:
            return "banned_element"
    return None


def bar_of_addition(addition: BlendAddition, heat: BlendHeat) -> str | None:
    """The same for an addition; one without an owner may go into any heat."""
    if addition.owner not in ("", heat.owner) and addition.owner not in heat.may_use_owners:
        return "owner"
    if _families_clash(addition.family, heat.family):
        return "family"
    for element, limit in heat.impurity_most.items():
        if limit <= 0 and addition.composition.share(element) > 0:
            return "banned_element"
    return None


def _families_clash(of_body: str, of_heat: str) -> bool:
    return bool(of_heat and of_body and of_body != of_heat)
