"""What went wrong, as one sentence each or as JSON, and the exit code of it."""

from __future__ import annotations

import difflib
import math
from collections.abc import Mapping
from typing import Any

import click

from lemel.errors import BadInput, Broken, NotKnown, Stopped

__all__ = ["BAD_INPUT", "OWN_FAULT", "STOPPED", "from_click", "from_error", "payload", "sentences"]

OWN_FAULT, BAD_INPUT, STOPPED = 1, 2, 130


def payload(faults: tuple[BadInput, ...]) -> dict[str, Any]:
    """`error` is the first fault, `errors` are all of them."""
    all_of_them = [
        {"field": f.field, "value": _plain(f.value), "allowed": f.allowed, "do": f.do}
        for f in faults
    ]
    return {"error": all_of_them[0], "errors": all_of_them}


def sentences(faults: tuple[BadInput, ...]) -> list[str]:
    """One sentence for each fault, from the catalogue."""
    from lemel.values import Saying
    from lemel.words import say

    return [
        say(
            Saying(
                "cli.bad_input",
                {"field": f.field, "value": str(f.value), "allowed": f.allowed, "do": f.do},
            )
        )
        for f in faults
    ]


def from_error(error: BaseException) -> tuple[int, tuple[BadInput, ...]]:
    """The exit code and the faults of anything that can be raised."""
    if isinstance(error, BadInput):
        return BAD_INPUT, error.all
    if isinstance(error, NotKnown):
        return BAD_INPUT, (BadInput(error.what, "not known", error.why, error.do),)
    if isinstance(error, Stopped | KeyboardInterrupt | click.exceptions.Abort):
        return STOPPED, (
            BadInput("lemel", "stopped", "a run that ends", "Nothing was half-written; run again."),
        )
    if isinstance(error, click.ClickException):
        return BAD_INPUT, (from_click(error),)
    what = str(error) if isinstance(error, Broken) else f"{type(error).__name__}: {error}"
    do = "This is our own fault: please report the words above with the file that was read."
    return OWN_FAULT, (BadInput("lemel", what, "an answer", do),)


def from_click(error: click.ClickException) -> BadInput:
    """A fault of the command line itself, in the same shape as any other."""
    context = getattr(error, "ctx", None)
    verb = context.command_path if context is not None else "lemel"
    help_line = f"See `{verb} --help`."
    if isinstance(error, click.NoSuchOption):
        options = _options(context)
        near = difflib.get_close_matches(error.option_name, options, 1)
        do = f"Did you mean {near[0]}? {help_line}" if near else help_line
        return BadInput(error.option_name, "an unknown option", ", ".join(options), do)
    if isinstance(error, click.MissingParameter):
        name = _name(error.param)
        return BadInput(name, "missing", "a value", help_line)
    if isinstance(error, click.BadParameter):
        return BadInput(_name(error.param), "unfit", error.message.rstrip("."), help_line)
    if isinstance(error, click.BadOptionUsage):
        return BadInput(error.option_name, "without a value", "a value", help_line)
    return BadInput("command line", error.format_message().rstrip("."), "a known verb", help_line)


def _options(context: click.Context | None) -> list[str]:
    params = context.command.params if context is not None else []
    found = [opt for one in params for opt in one.opts if opt.startswith("--")]
    return [*found, "--help"]


def _name(param: click.Parameter | None) -> str:
    if param is None:
        return "command line"
    if isinstance(param, click.Argument):
        return (param.metavar or param.name or "argument").strip("[].")
    return param.opts[0]


def _plain(value: Any) -> Any:
    if value is None or isinstance(value, bool | int | str):
        return value
    if isinstance(value, float) and math.isfinite(value):
        return value
    if isinstance(value, Mapping):
        return {str(key): _plain(item) for key, item in value.items()}
    return str(value)
