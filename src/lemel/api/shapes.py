"""The house's values as JSON, and back: their shapes are read off the dataclasses themselves.

A section is an object with its sizes in mm, a composition an object of millesimal parts, a code
of a room comes with its sentence. Masses, lengths and money keep the names with their units.
"""

from __future__ import annotations

import dataclasses
import types
import typing
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from functools import cache
from typing import Annotated, Any

from ninja import Schema
from pydantic import AfterValidator, Field, StringConstraints, create_model

from lemel.api.units import RENAMED, bounds_of, choice_of, scaled
from lemel.errors import BadInput
from lemel.values import (
    SECTION_KINDS,
    Caution,
    Composition,
    Holding,
    Objection,
    Origin,
    Quantity,
    Saying,
    Section,
    from_plain,
    to_plain,
)
from lemel.words import remedy, say

__all__ = [
    "Held", "Millesimal", "Name", "Objected", "Said", "Sized", "Text", "many_out", "plain_out",
    "shape_in", "shape_out", "value_in",
]  # fmt: skip


def _writable(text: str) -> str:
    """Text that can be written down: no broken sign."""
    text.encode("utf-8")
    return text


#: Words; a name is one line of them.
Text = Annotated[
    str, StringConstraints(max_length=2000, pattern=r"^[^\x00]*$"), AfterValidator(_writable)
]
Name = Annotated[
    str,
    StringConstraints(min_length=1, max_length=120, pattern=r"^[^\x00-\x20\x7f][^\x00-\x1f\x7f]*$"),
    AfterValidator(_writable),
]
Share = Annotated[float, Field(ge=0, le=1000, allow_inf_nan=False)]
#: Parts in a thousand by element; what is missing to 1000 stays undeclared.
Millesimal = Annotated[
    dict[str, Share],
    Field(description="parts in a thousand by element; what is missing to 1000 is undeclared"),
]
_Money = Annotated[Decimal, Field(max_digits=15, decimal_places=6, allow_inf_nan=False)]
_Day = Annotated[date, Field(ge=date(1800, 1, 1), le=date(2300, 1, 1))]


class Sized(Schema, extra="forbid"):
    """A cross-section: kind and the sizes that the kind has, mm."""

    kind: typing.Literal[SECTION_KINDS]  # type: ignore[valid-type]
    thickness_mm: float | None = Field(None, gt=0, le=1e5)
    width_mm: float | None = Field(None, gt=0, le=1e5)
    side_mm: float | None = Field(None, gt=0, le=1e5)
    diameter_mm: float | None = Field(None, gt=0, le=1e5)
    height_mm: float | None = Field(None, gt=0, le=1e5)
    corner: float = Field(1.0, gt=0, le=1, description="share of the sharp section that is filled")


class Said(Schema):
    """A sentence with its code and what fills it."""

    code: str
    said: str
    values: dict[str, Any] = Field({})


class Objected(Schema):
    """Why something may not, or is asked first; `grade` is stop, ask or note."""

    code: str
    about: str
    grade: str
    said: str
    do: str
    values: dict[str, Any] = Field({})


class Cautioned(Schema):
    """A danger where its step is; local rules and the maker's manual come first."""

    code: str
    at: str
    said: str


class Held(Schema):
    """Metal: gross in mg, each element and the undeclared rest in ng."""

    gross_mg: int
    element_ng: dict[str, int]


#: Values that have a shape of their own in JSON.
_OUT: dict[Any, Any] = {
    Section: Sized, Composition: dict[str, float], Origin: dict[str, float], Saying: Said,
    Objection: Objected, Caution: Cautioned, Holding: Held, Decimal: str, date: date,
    object: Any, Any: Any,
}  # fmt: skip
_IN: dict[Any, Any] = {
    Section: Sized, Composition: Millesimal, Origin: dict[str, Share], Decimal: _Money,
    date: _Day, str: Text, object: Any, Any: Any,
}  # fmt: skip


def plain_out(value: Any) -> Any:
    """A value as the JSON that an answer carries."""
    special = _SPECIAL.get(type(value))
    if special is not None:
        return special(value)
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        made = {}
        for one in dataclasses.fields(value):
            name, scale = RENAMED.get((type(value).__name__, one.name), (one.name, 1.0))
            made[name] = scaled(plain_out(getattr(value, one.name)), scale)
        return made
    if isinstance(value, Mapping):
        return {str(key): plain_out(one) for key, one in value.items()}
    if isinstance(value, list | tuple | set | frozenset):
        return [plain_out(one) for one in value]
    if isinstance(value, Decimal):
        return str(value)
    return value.isoformat() if isinstance(value, date) else value


def _objected(one: Objection) -> dict[str, Any]:
    do = remedy(one) or ""
    return {
        "code": one.code, "about": one.about, "grade": one.grade, "said": say(one), "do": do,
        "values": to_plain(one.values),
    }  # fmt: skip


def _sized(one: Section) -> dict[str, Any]:
    return {"kind": one.kind, **{f"{n}_mm": v for n, v in one.dims_mm}, "corner": one.corner}


def _parts(one: Composition) -> dict[str, float]:
    return {element: round(share * 1000, 9) for element, share in one.parts}


_SPECIAL: dict[type, Any] = {
    Saying: lambda one: {"code": one.code, "said": say(one), "values": to_plain(one.values)},
    Objection: _objected,
    Caution: lambda one: {"code": one.code, "at": one.at, "said": say(one)},
    Section: _sized,
    Composition: _parts,
    Origin: lambda one: dict(one.shares),
    Holding: lambda one: {"gross_mg": one.gross_mg, "element_ng": one.as_dict()},
    Quantity: to_plain,
}


@cache
def shape_out(kind: type, **more: Any) -> Any:
    """The shape in which a value goes out; `more` are fields that its properties give."""
    fields: dict[str, Any] = {name: (of, ...) for name, of in more.items()}
    return _model(f"{kind.__name__}", kind, _OUT, fields)


def many_out(kind: type) -> Any:
    """A list of them."""
    return list[shape_out(kind)]  # type: ignore[misc]


@cache
def shape_in(kind: type) -> Any:
    """The shape in which a value comes in; unknown keys are refused."""
    return _model(f"{kind.__name__}In", kind, _IN, {}, taking=True)


def _model(
    name: str, kind: type, shapes: dict[Any, Any], fields: dict[str, Any], taking: bool = False
) -> Any:
    hints = typing.get_type_hints(kind)
    for one in dataclasses.fields(kind):
        called, _ = RENAMED.get((kind.__name__, one.name), (one.name, 1.0))
        of = _of(hints[one.name], shapes, called if taking else "")
        needed = (one.default, one.default_factory) == (dataclasses.MISSING, dataclasses.MISSING)
        default: Any = ... if needed or not taking else None
        if taking:
            of = choice_of(kind.__name__, one.name, of)
            of = of if needed else typing.Optional[of]  # noqa: UP045
        fields[called] = (of, default)
    doc = (kind.__doc__ or "").strip()
    base = _Taken if taking else Schema
    return create_model(name, __base__=base, __doc__=doc, **fields)


class _Taken(Schema, extra="forbid"):
    """What comes in: a key that nobody knows is a fault, not nothing."""


def _of(kind: Any, shapes: dict[Any, Any], taken_as: str) -> Any:
    """The shape of one type; `taken_as` is the field's name where it comes in."""
    if kind in shapes:
        return shapes[kind]
    if taken_as and kind in (int, float):
        return bounds_of(taken_as, kind)
    origin, inner = typing.get_origin(kind), typing.get_args(kind)
    if origin in (typing.Union, types.UnionType):
        made = [_of(one, shapes, taken_as) for one in inner]
        return typing.Union[tuple(made)]  # noqa: UP007
    if origin in (tuple, frozenset):
        if (len(inner) == 2 and inner[1] is Ellipsis) or origin is frozenset:
            return list[_of(inner[0], shapes, taken_as)]  # type: ignore[misc]
        return tuple[tuple(_of(one, shapes, taken_as) for one in inner)]  # type: ignore[misc]
    if origin is not None and issubclass(origin, Mapping):
        return dict[str, _of(inner[1], shapes, taken_as)]  # type: ignore[misc]
    if dataclasses.is_dataclass(kind):
        return shape_in(kind) if taken_as else shape_out(kind)  # type: ignore[arg-type]
    return kind


def value_in(kind: type, sent: Any) -> Any:
    """The house's value of what came in; what it refuses is a BadInput."""
    data = sent.model_dump(exclude_none=True) if hasattr(sent, "model_dump") else sent
    return from_plain(kind, _house(kind, data))


def _house(kind: Any, data: Any) -> Any:
    """Plain data as `from_plain` takes it."""
    if data is None or kind in (Any, object):
        return data
    if kind in _MADE:
        return to_plain(_MADE[kind](data))
    origin, inner = typing.get_origin(kind), typing.get_args(kind)
    if origin in (typing.Union, types.UnionType):
        real = [one for one in inner if one is not type(None)]
        return _house(real[0], data) if len(real) == 1 else to_plain(data)
    if dataclasses.is_dataclass(kind):
        hints = typing.get_type_hints(kind)
        made = {}
        for one in dataclasses.fields(kind):
            called, scale = RENAMED.get((kind.__name__, one.name), (one.name, 1.0))  # type: ignore[union-attr]
            if called in data:
                made[one.name] = scaled(_house(hints[one.name], data[called]), 1 / scale)
        return made
    if origin in (tuple, frozenset):
        return [_house(inner[0], one) for one in data]
    if origin is not None and issubclass(origin, Mapping):
        return {key: _house(inner[1], one) for key, one in data.items()}
    return to_plain(data)


def _section(data: Mapping[str, Any]) -> Section:
    sizes = {key.removesuffix("_mm"): one for key, one in data.items() if key.endswith("_mm")}
    return Section.of(data["kind"], sizes, data.get("corner", 1.0))


def _composition(data: Mapping[str, float]) -> Composition:
    total = sum(data.values())
    if total > 1000.5:
        raise BadInput("composition", total, "parts that sum to 1000 at most", "Mend the parts.")
    return Composition.from_millesimal(data, rest=total < 999.5)


_MADE: dict[Any, Any] = {Section: _section, Composition: _composition, Origin: Origin.of}
