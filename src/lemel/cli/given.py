"""Arguments of the command line as numbers and compositions, by the readers of files."""

from __future__ import annotations

from typing import Any

import click

from lemel.files import Place, read_number, read_parts
from lemel.values import Composition

__all__ = ["NUMBER", "Number", "composition"]


class Number(click.ParamType[float]):
    """A finite number; a wrong one is BadInput with the option's name."""

    name = "number"

    def convert(
        self,
        value: Any,
        param: click.Parameter | None,
        ctx: click.Context | None,  # noqa: ARG002
    ) -> float:
        """The number, or BadInput."""
        where = param.opts[0] if param is not None else "number"
        return read_number(value, Place(where, (), {}, textual=True))


NUMBER = Number()


def composition(parts: tuple[str, ...], balance: str | None, rest: bool) -> Composition:
    """Millesimal parts such as Ag=925 Cu=75; `balance` names who takes what is missing."""
    extra: dict[str, Any] = {"rest": rest}
    if balance is not None:
        extra["balance"] = balance
    return read_parts(" ".join(parts), Place("composition", (), {}, textual=True), extra)
