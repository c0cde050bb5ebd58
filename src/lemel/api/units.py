"""Names with their units: where a value's field says another thing in JSON, and how far it goes."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import Field

from lemel.values import (
    BAR_KINDS,
    COLOURS,
    FAULT_KINDS,
    FORMS,
    MADE_FOR,
    METALS,
    MOULD_KINDS,
    ORIGINS,
    WHATS,
)

__all__ = ["MOST_G", "MOST_MM", "RENAMED", "bounds_of", "choice_of", "scaled"]

#: Heavier and longer than anything on a bench; what is beyond is a slip of the hand.
MOST_G, MOST_MM = 100_000.0, 100_000.0
_MOST = 1e9
#: Fields that are fractions in the house and millesimal or percent on paper: new name, factor.
#: A composition is millesimal by itself.
RENAMED: Mapping[tuple[str, str], tuple[str, float]] = {
    ("Reading", "values"): ("values_millesimal", 1000.0),
    ("Reading", "sd_own"): ("sd_own_millesimal", 1000.0),
    ("Reading", "sd_shared"): ("sd_shared_millesimal", 1000.0),
    ("Lot", "stated"): ("stated_millesimal", 1.0),
    ("Lot", "solder_share"): ("solder_percent", 100.0),
    ("Addition", "composition"): ("composition_millesimal", 1.0),
    ("Addition", "sd"): ("sd_millesimal", 1000.0),
    ("Bar", "body"): ("composition_millesimal", 1.0),
    ("Bar", "sd"): ("sd_millesimal", 1000.0),
}


def scaled(value: Any, by: float) -> Any:
    """Each number of a value, times a factor; rounded to what a float keeps of it anyway."""
    if by == 1.0 or value is None:
        return value
    if isinstance(value, Mapping):
        return {key: scaled(one, by) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [scaled(one, by) for one in value]
    return round(value * by, 12)


def bounds_of(name: str, of: Any) -> Any:
    """The type of a field that comes in, with limits that its unit sets."""
    if of is float:
        most = MOST_G if name.endswith("_g") else MOST_MM if name.endswith("_mm") else _MOST
        return Annotated[float, Field(ge=-most, le=most, allow_inf_nan=False)]
    if of is int:
        return Annotated[int, Field(ge=-1_000_000, le=1_000_000)]
    return of


#: Fields that take one of a closed list of words.
_CHOICES: Mapping[tuple[str, str], tuple[str, ...]] = {
    ("Lot", "main"): METALS, ("Lot", "form"): FORMS, ("Lot", "made_for"): MADE_FOR,
    ("Lot", "colour"): COLOURS, ("OrderLine", "what"): WHATS, ("OrderLine", "colour"): COLOURS,
    ("OrderLine", "claim"): ORIGINS, ("Bar", "kind"): BAR_KINDS, ("BarFault", "kind"): FAULT_KINDS,
    ("Addition", "form"): FORMS, ("Mould", "kind"): MOULD_KINDS,
    ("Temper", "kind"): ("soft", "strain", "hv"),
}  # fmt: skip


def choice_of(kind: str, name: str, of: Any) -> Any:
    """The words that a field takes, where they are a closed list."""
    words = _CHOICES.get((kind, name))
    if words is None:
        return of
    one_of = Literal[words]  # type: ignore[valid-type]
    or_none = type(None) in getattr(of, "__args__", ())
    return one_of | None if or_none else one_of
