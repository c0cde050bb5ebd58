"""A paper of the house, of whatever kind: receipt, statement, count, parcel, quotation.

A paper is a title with a few blocks under it: facts, words, things to tick, ruled tables with room
for the pencil, a tree, lines to sign on. Whoever knows the figures fills the blocks with text
as it is to be read; here they are only set. Long tables go on overleaf under the same heads.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from lemel.cards.code import code_of
from lemel.cards.press import press
from lemel.errors import BadInput
from lemel.values import Saying, is_one_of
from lemel.words import codes, say

__all__ = [
    "Block", "Column", "Facts", "Leaf", "Ruled", "Sheet", "Signed", "Ticks", "Tree", "Words",
    "labels", "paper_pdf",
]  # fmt: skip

_LABEL = "cards.label."
#: What a column holds: words, figures, or nothing but room to write.
_KINDS = ("words", "short", "figures", "pencil")
#: How words stand: plainly, beside a thick bar, or in a box.
_WEIGHTS = ("plain", "mind", "stop")


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a ruled table. Words share what room the others leave; short words and figures
    keep to theirs; a pencil column is empty and as wide as `wide_mm`."""

    name: str
    kind: str = "words"
    wide_mm: float = 24.0

    def __post_init__(self) -> None:
        is_one_of("kind", self.kind, _KINDS)


@dataclass(frozen=True, slots=True)
class Ruled:
    """A table; each row has a text for each column. The last `totals` rows stand in bold.

    A row of one text alone is a heading across the table.
    """

    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    heading: str = ""
    totals: int = 0

    def __post_init__(self) -> None:
        for row in self.rows:
            if len(row) not in (1, len(self.columns)):
                raise BadInput("rows", len(row), f"{len(self.columns)} texts", "Line them up.")


@dataclass(frozen=True, slots=True)
class Facts:
    """Names and what they are, one under the other."""

    rows: tuple[tuple[str, str], ...]
    heading: str = ""


@dataclass(frozen=True, slots=True)
class Words:
    """Sentences: plain, to be minded (a thick bar beside them), or a stop (in a box)."""

    lines: tuple[str, ...]
    heading: str = ""
    weight: str = "plain"

    def __post_init__(self) -> None:
        is_one_of("weight", self.weight, _WEIGHTS)


@dataclass(frozen=True, slots=True)
class Ticks:
    """Things to do or to agree to, each with a box."""

    lines: tuple[str, ...]
    heading: str = ""


@dataclass(frozen=True, slots=True)
class Leaf:
    """One line of a tree, so many steps in, with a figure at the right."""

    depth: int
    text: str
    figure: str = ""


@dataclass(frozen=True, slots=True)
class Tree:
    """What comes of what: each line hangs on the nearest one above it that stands less far in."""

    leaves: tuple[Leaf, ...]
    heading: str = ""


@dataclass(frozen=True, slots=True)
class Signed:
    """Lines to sign on, each with who signs there; day and hour are written by hand."""

    names: tuple[str, ...]
    day: str


Block = Facts | Words | Ticks | Ruled | Tree | Signed


@dataclass(frozen=True, slots=True)
class Sheet:
    """One paper. `number` is its own in the book ("" for one that is only a look), `about` what
    stands beside the title, `foot` what stands at the foot of every page."""

    title: str
    about: str
    blocks: tuple[Block, ...]
    number: str = ""
    foot: str = ""


def paper_pdf(sheets: Sequence[Sheet]) -> bytes:
    """The papers as one PDF (PDF/UA-1), black on white; the same papers give the same bytes."""
    if not sheets:
        raise BadInput("sheets", 0, "one paper or more", "Give what is to be printed.")
    return press([_card(sheet) for sheet in sheets], sheets[0].title, labels())


@cache
def labels() -> Mapping[str, str]:
    """The words that the templates ask for by name."""
    return {
        code.removeprefix(_LABEL): say(Saying(code)) for code in codes() if code.startswith(_LABEL)
    }


def _card(sheet: Sheet) -> dict[str, Any]:
    code = code_of("paper", sheet.number) if sheet.number else None
    return {
        "kind": "desk",
        "title": sheet.title,
        "title_size": 20,
        "name": " ".join(part for part in (sheet.title, sheet.number) if part),
        "number": sheet.number,
        "about": sheet.about,
        "foot": sheet.foot,
        "code": code,
        "blocks": [_block(block) for block in sheet.blocks],
    }


def _block(block: Block) -> dict[str, Any]:
    if isinstance(block, Facts):
        return {"kind": "facts", "heading": block.heading, "rows": [list(r) for r in block.rows]}
    if isinstance(block, Words):
        return {
            "kind": block.weight, "heading": block.heading, "lines": list(block.lines),
        }  # fmt: skip
    if isinstance(block, Ticks):
        return {"kind": "ticks", "heading": block.heading, "lines": list(block.lines)}
    if isinstance(block, Signed):
        return {"kind": "signed", "heading": "", "names": list(block.names), "day": block.day}
    if isinstance(block, Tree):
        rows = [{"depth": leaf.depth, "text": leaf.text, "figure": leaf.figure}
                for leaf in block.leaves]  # fmt: skip
        return {"kind": "tree", "heading": block.heading, "rows": rows}
    return {
        "kind": "ruled",
        "heading": block.heading,
        "columns": [
            {"name": one.name, "kind": one.kind, "wide": one.wide_mm} for one in block.columns
        ],
        "rows": [list(row) for row in block.rows],
        "totals": block.totals,
    }
