"""Alligation, the hand arithmetic of mixing: the same answers that a goldsmith can check.

Medial: the mean of given amounts. Alternate: the parts in which given finenesses make a
wanted one, by linking a poorer with a richer. Partial: the same with one amount fixed.
Total: the same with the sum fixed. Any unit of fineness will do (millesimal, carats,
pennyweights fine), if it is one and the same throughout.

Source: the rules as taught in arithmetics of the 18th and 19th century, for example Samuel
Webber, Mathematics, vol. 1, p. 129; the amounts balance like a lever about the mean.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from lemel.errors import BadInput
from lemel.values import is_positive, not_negative

__all__ = ["alternate", "medial", "partial", "to_lower", "to_raise", "total"]


def medial(amounts: Sequence[tuple[float, float]]) -> float:
    """The fineness of (amount, fineness) pairs melted together.

    >>> round(medial([(8, 22), (20, 21), (10, 18)]), 5)  # 20 8/19 carats
    20.42105
    """
    for k, (amount, fineness) in enumerate(amounts):
        not_negative(f"amounts[{k}]", amount)
        not_negative(f"fineness[{k}]", fineness)
    mass = math.fsum(amount for amount, _ in amounts)
    is_positive("amounts", mass)
    return math.fsum(amount * fineness for amount, fineness in amounts) / mass


def alternate(grades: Mapping[str, float], target: float) -> dict[str, float]:
    """Parts of each grade that together make `target`, every grade used.

    Each grade poorer than the target is linked with a richer one, the poorest with the
    richest; a linked pair takes parts in the distance of the *other* from the target. One
    of many answers where there are more than two grades. Raises BadInput if the target
    does not lie between the grades.

    >>> alternate({"17": 17, "18": 18, "22": 22, "24": 24}, 21)
    {'17': 3.0, '18': 1.0, '22': 3.0, '24': 4.0}
    """
    poorer = sorted((g, name) for name, g in grades.items() if g < target)
    richer = sorted(((g, name) for name, g in grades.items() if g > target), reverse=True)
    parts = dict.fromkeys(grades, 0.0)
    if not poorer and not richer and parts:
        return dict.fromkeys(grades, 1.0)
    if not poorer or not richer:
        span = f"{min(grades.values()):g} to {max(grades.values()):g}" if grades else "two grades"
        raise BadInput(
            "target", target, span, "Take a grade on the other side of the target as well."
        )
    for k in range(max(len(poorer), len(richer))):
        low, low_name = poorer[min(k, len(poorer) - 1)]
        high, high_name = richer[min(k, len(richer) - 1)]
        parts[low_name] += high - target
        parts[high_name] += target - low
    for name, grade in grades.items():
        if grade == target:
            parts[name] = 1.0
    return parts


def partial(
    grades: Mapping[str, float], target: float, fixed: str, amount: float
) -> dict[str, float]:
    """Amounts that make `target` when there is exactly `amount` of the grade `fixed`.

    >>> partial({"pure": 24, "sixteen": 16}, 18, "sixteen", 3)
    {'pure': 1.0, 'sixteen': 3.0}
    """
    if fixed not in grades:
        raise BadInput("fixed", fixed, ", ".join(grades), "Name one of the grades.")
    is_positive("amount", amount)
    parts = alternate(grades, target)
    scale = amount / parts[fixed]
    return {name: part * scale for name, part in parts.items()}


def total(grades: Mapping[str, float], target: float, amount: float) -> dict[str, float]:
    """Amounts that make `amount` in all of the fineness `target`.

    >>> total({"15": 15, "17": 17, "20": 20, "22": 22}, 18, 40)
    {'15': 16.0, '17': 8.0, '20': 4.0, '22': 12.0}
    """
    is_positive("amount", amount)
    parts = alternate(grades, target)
    scale = amount / math.fsum(parts.values())
    return {name: part * scale for name, part in parts.items()}


def to_raise(amount: float, fineness: float, target: float, richer: float) -> float:
    """How much of a richer metal raises `amount` to the target: amount (t - f) / (r - t).

    >>> round(to_raise(1, 16, 18, 24), 6)  # pennyweights of pure gold to one of 16 carats
    0.333333
    """
    is_positive("amount", amount)
    if not fineness <= target < richer:
        raise BadInput(
            "richer", richer, f"more than {target:g}", "Add a metal richer than the target."
        )
    return amount * (target - fineness) / (richer - target)


def to_lower(amount: float, fineness: float, target: float, poorer: float = 0.0) -> float:
    """How much of a poorer metal lowers `amount` to the target: amount (f - t) / (t - p).

    >>> to_lower(6, 24, 16)  # ounces of alloy to six of pure gold
    3.0
    """
    is_positive("amount", amount)
    if not poorer < target <= fineness:
        raise BadInput(
            "poorer", poorer, f"less than {target:g}", "Add a metal poorer than the target."
        )
    return amount * (fineness - target) / (target - poorer)
