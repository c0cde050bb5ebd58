"""Reader of the cut's file: pieces, and the stock that they are to be cut from."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from lemel.files import kit
from lemel.files.bench import bench_bar
from lemel.files.keys import Key, listed, pick
from lemel.files.leaf import limited, text, whole, yes_no
from lemel.files.orders import lines_of
from lemel.files.parts import composition
from lemel.files.source import has_format, read_data
from lemel.values import Bar, Blank, Composition, OrderLine, Saw

if TYPE_CHECKING:
    from lemel.cut import CutProblem

__all__ = ["CUT_KEYS", "CutFile", "read_cut"]


@dataclass(frozen=True, slots=True)
class CutFile:
    """Pieces and the stock they are to be cut from; the composition gives their mass."""

    lines: tuple[OrderLine, ...]
    stock: tuple[Bar, ...]
    saw: Saw | None
    body: Composition
    edge_mm: float
    guillotine: bool
    seed: int

    def problem(self, blanks: tuple[Blank, ...]) -> CutProblem:
        """The cut room's question, once the blanks are known."""
        from lemel.cut import CutProblem

        return CutProblem(
            self.lines, blanks, self.stock, self.saw, self.edge_mm, self.guillotine, self.seed
        )


CUT_KEYS = (
    Key("format", text, needed=True),
    Key("composition", composition, needed=True, to="body"),
    Key("piece", lines_of, needed=True),
    Key("stock", listed(bench_bar)),
    Key("saw", kit.saw),
    Key("edge_mm", limited(0, 50)),
    Key("guillotine", yes_no),
    Key("seed", whole(0, 2**31 - 1)),
)


def read_cut(path: str | Path) -> CutFile:
    """`format = "lemel-cut 1"`: pieces as in orders.toml, and bars of stock to cut them from."""
    data, place = read_data(path)
    has_format(data, place, "cut")
    values = pick(data, place, *CUT_KEYS)
    return CutFile(
        values["piece"],
        values.get("stock", ()),
        values.get("saw"),
        values["body"],
        values.get("edge_mm", 1.0),
        values.get("guillotine", False),
        values.get("seed", 1),
    )
