"""The front door: runs a verb, prints its answer or its faults, gives the exit code."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Sequence
from functools import update_wrapper
from typing import Any, TypeVar

import click

from lemel.cli import faults
from lemel.cli.answer import Told, as_json
from lemel.cli.verbs import Verbs

__all__ = ["Command", "cli", "main", "run", "verb"]

Command = TypeVar("Command", bound=Callable[..., Any])


@click.group(
    cls=Verbs,
    invoke_without_command=True,
    context_settings={"help_option_names": ["--help"], "max_content_width": 100},
)
@click.option("--version", is_flag=True, help="Say the version and end.")
@click.pass_context
def cli(ctx: click.Context, version: bool) -> None:
    """From a box of scrap to bars, sheet, wire and pieces, and the cards to do it by.

    Every verb prints sentences and tables; with --json it prints one JSON object.
    """
    if version:
        from lemel import __version__

        click.echo(__version__)
    elif ctx.invoked_subcommand is None:
        click.echo(ctx.get_help())


def verb(name: str, *, help: str | None = None) -> Callable[[Command], click.Command]:
    """Makes a command of a function that returns a `Told`; adds --json and prints it."""

    def make(function: Command) -> click.Command:
        def spoken(json_wanted: bool, **arguments: Any) -> int:
            told = function(**arguments)
            assert isinstance(told, Told)
            if json_wanted:
                click.echo(as_json(name, told.payload))
            else:
                from lemel.cli.paper import Paper

                told.show(Paper())
            return told.exit_code

        wrapped = update_wrapper(spoken, function)
        with_json = click.option(
            "--json", "json_wanted", is_flag=True, help="Print one JSON object and nothing else."
        )(wrapped)
        return click.command(name, help=help)(with_json)

    return make


def run(argv: Sequence[str] | None = None) -> int:
    """Runs `lemel` with these arguments and returns the exit code. Raises nothing."""
    arguments = list(sys.argv[1:] if argv is None else argv)
    wants_json = "--json" in arguments
    try:
        code = cli.main(args=arguments, prog_name="lemel", standalone_mode=False)
        sys.stdout.flush()
    except BrokenPipeError:
        # The reader has seen enough; the interpreter must not complain at its own end.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except Exception as error:
        return _tell_fault(error, wants_json, arguments)
    except KeyboardInterrupt as error:
        return _tell_fault(error, wants_json, arguments)
    return code if isinstance(code, int) else 0


def _tell_fault(error: BaseException, wants_json: bool, arguments: list[str]) -> int:
    code, found = faults.from_error(error)
    if os.environ.get("LEMEL_TRACE"):
        import traceback

        traceback.print_exception(error)
    if wants_json:
        from lemel.cli.verbs import VERBS

        name = next((one for one in arguments if one in VERBS), "lemel")
        click.echo(as_json(name, faults.payload(found)))
    else:
        for sentence in faults.sentences(found):
            click.echo(sentence, err=True)
    return code


def main() -> None:
    """The console script."""
    sys.exit(run())
