"""`lemel seams`: saw the solder seams of a lot out, or drown them in fine metal?"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import click

from lemel.blend import SeamChoice, Soldered
from lemel.blend import seams as choose
from lemel.cli.answer import Told, plain
from lemel.cli.given import NUMBER
from lemel.cli.run import verb
from lemel.errors import BadInput
from lemel.words import say

if TYPE_CHECKING:
    from lemel.cli.paper import Paper

__all__ = ["seams"]

#: The most of each option that is a share.
_SHARES = {"body": 1000, "body_sd": 1000, "solder": 1000, "least": 1000, "fine": 1000,
           "share": 100, "share_sd": 100}  # fmt: skip


@verb("seams")
@click.option("--mass", type=NUMBER, required=True, metavar="G", help="Of the whole bag.")
@click.option("--body", type=NUMBER, required=True, metavar="PARTS", help="Beside the solder: 925.")
@click.option("--body-sd", type=NUMBER, default=0.0, metavar="PARTS", help="Its spread. [0]")
@click.option("--solder", type=NUMBER, required=True, metavar="PARTS", help="Of the solder: 650.")
@click.option("--share", type=NUMBER, required=True, metavar="PERCENT", help="Solder in the bag.")
@click.option("--share-sd", type=NUMBER, default=0.0, metavar="PERCENT", help="Its spread. [0]")
@click.option("--least", type=NUMBER, required=True, metavar="PARTS", help="To be kept: 925.")
@click.option("--promise", type=NUMBER, default=99.0, metavar="PERCENT", help="How surely. [99]")
@click.option("--fine", type=NUMBER, default=999.0, metavar="PARTS", help="Metal to add. [999]")
@click.option("--price", type=NUMBER, required=True, metavar="MONEY", help="A gram of it.")
@click.option("--worth", type=NUMBER, required=True, metavar="MONEY", help="A gram in the bar.")
@click.option("--sale", type=NUMBER, required=True, metavar="MONEY", help="A gram of sawn seam.")
@click.option("--labour", type=NUMBER, default=0.0, metavar="MONEY", help="The sawing. [0]")
def seams(**given: float) -> Told:
    """Both ways priced: `lemel seams --mass 418.2 --body 925.7 --solder 650 --share 2 --share-sd
    0.7 --least 925 --price 1.06 --worth 0.90 --sale 0.62 --labour 12`."""
    _check(given)
    lot = Soldered(
        given["mass"], given["body"] / 1000, given["body_sd"] / 1000,
        (given["share"] / 100, given["share_sd"] / 100), given["solder"] / 1000,
    )  # fmt: skip
    found = choose(
        lot, least=given["least"] / 1000, content=given["fine"] / 1000,
        price_per_g=given["price"], worth_per_g=given["worth"], sale_per_g=given["sale"],
        labour=given["labour"], probability=given["promise"] / 100,
    )  # fmt: skip
    return Told(plain(found), lambda paper: _show(found, paper))


def _check(given: Mapping[str, float]) -> None:
    for name, most in _SHARES.items():
        if not 0 <= given[name] <= most:
            option = f"--{name.replace('_', '-')}"
            raise BadInput(option, given[name], f"0 to {most}", "Write it as in the example.")
    if given["mass"] <= 0:
        raise BadInput("--mass", given["mass"], "more than 0", "Weigh the bag, in grams.")
    if given["fine"] <= given["least"]:
        more = f"more than {given['least']:g}"
        raise BadInput("--fine", given["fine"], more, "Take a metal richer than the standard.")
    if not 50 <= given["promise"] < 100:
        raise BadInput("--promise", given["promise"], "50 up to, but not, 100", "Such as 99.")


def _show(found: SeamChoice, paper: Paper) -> None:
    paper.table(
        ("way", "fine metal g", "sawn away g", "cost"),
        [
            ("drown the solder", f"{found.drown_g:.2f}", "0.00", f"{found.drown_cost:.2f}"),
            (
                "saw the seams out",
                f"{found.saw_g:.2f}",
                f"{found.cut_away_g:.2f}",
                f"{found.saw_cost:.2f}",
            ),
        ],
    )
    paper.line(say(found.explain))
