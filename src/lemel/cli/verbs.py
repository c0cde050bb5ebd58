"""The list of verbs: each is loaded from its own module only when it is called."""

from __future__ import annotations

import difflib
import importlib

import click

from lemel.errors import BadInput

__all__ = ["VERBS", "Verbs"]

#: Verb: the module that holds a command of the same name, and one line of help.
VERBS = {
    "alloy": ("lemel.cli.metal", "Melting range, density, heat and standards of one alloy."),
    "believe": ("lemel.cli.scrap", "What was read of each bag, put together: its fineness."),
    "weigh": ("lemel.cli.weighing", "Fineness from weighing in air and in water."),
    "blend": ("lemel.cli.heats", "Which bags and clean metal make which heat."),
    "correct": ("lemel.cli.heats", "The cheapest addition that mends a heat in the pot."),
    "seams": ("lemel.cli.seams", "Saw solder seams out or drown them: both ways priced."),
    "melt": ("lemel.cli.fire", "How the heat is run: what to set, fillings, time, energy."),
    "calibrate": ("lemel.cli.furnace", "Fit a furnace to its own log."),
    "tend": ("lemel.cli.tend", "Follow a heat as it runs: when it is ready, what to do now."),
    "day": ("lemel.cli.day", "A day at the fire: when to light up, who does what when."),
    "pour": ("lemel.cli.fire", "What comes out of one pour and how to hold the mould."),
    "mill": ("lemel.cli.milling", "The way from bar to stock, pass by pass."),
    "cut": ("lemel.cli.cutting", "Pieces to blanks, and blanks laid out on stock."),
    "size": ("lemel.cli.sizes", "What a ring size measures."),
    "blank": ("lemel.cli.sizes", "The blank of a ring: length and mass."),
    "convert": ("lemel.cli.units", "An amount in another unit."),
    "gauge": ("lemel.cli.units", "A gauge number in mm, or a thickness as a gauge."),
    "plan": ("lemel.cli.month", "Plan a whole month from its folder or file."),
    "demo": ("lemel.cli.month", "Plan the Quillmarsh month and write its cards."),
    "book": ("lemel.cli.book", "The book of whose metal lies where: see `lemel book --help`."),
    "serve": ("lemel.cli.pages", "The pages of a book in the browser, on this machine."),
    "where": ("lemel.cli.places", "Where the program keeps its things."),
    "explain": ("lemel.cli.sources", "The figures of an answer with their sources."),
}


class Verbs(click.Group):
    """A group that knows its verbs by name and loads one when it is asked for."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002
        """In the order of the metal's way."""
        return list(VERBS)

    def get_command(
        self,
        ctx: click.Context,  # noqa: ARG002
        cmd_name: str,
    ) -> click.Command | None:
        """The verb's own command, loaded now."""
        if cmd_name not in VERBS:
            return None
        module = importlib.import_module(VERBS[cmd_name][0])
        command = getattr(module, cmd_name)
        assert isinstance(command, click.Command)
        return command

    def format_commands(
        self,
        ctx: click.Context,  # noqa: ARG002
        formatter: click.HelpFormatter,
    ) -> None:
        """From the list, so that no verb need be loaded for its line of help."""
        with formatter.section("Verbs"):
            formatter.write_dl([(name, help_line) for name, (_, help_line) in VERBS.items()])

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """A wrong verb is bad input like any other."""
        if args and not args[0].startswith("-") and args[0] not in VERBS:
            near = difflib.get_close_matches(args[0], list(VERBS), 1)
            do = f"Did you mean {near[0]}?" if near else "See `lemel --help`."
            raise BadInput("verb", args[0], ", ".join(VERBS), do)
        return super().resolve_command(ctx, args)
