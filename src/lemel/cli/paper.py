"""How an answer looks on a terminal: plain sentences and ruled tables."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from lemel.words import remedy, say

__all__ = ["Paper"]

#: Width where there is no terminal to ask: a printed page.
_PAGE_WIDTH = 100
#: So many sentences of one kind are all told.
_FEW = 2


class Paper:
    """A sheet that is written from top to bottom; figures stand right-aligned."""

    def __init__(self) -> None:
        from rich.console import Console

        self._console = Console(highlight=False, emoji=False, markup=False, soft_wrap=False)
        if not self._console.is_terminal:
            self._console = Console(
                highlight=False, emoji=False, markup=False, soft_wrap=False, width=_PAGE_WIDTH
            )

    def line(self, text: str = "") -> None:
        """One sentence, wrapped at the edge."""
        self._console.print(text)

    def head(self, text: str) -> None:
        """A heading with air above it."""
        self._console.print()
        self._console.print(text, style="bold")

    def facts(self, rows: Iterable[tuple[str, str]]) -> None:
        """Names on the left, figures right-aligned beside them."""
        self.table(("", ""), rows, left=1, header=False)

    def table(
        self,
        columns: Sequence[str],
        rows: Iterable[Sequence[str]],
        *,
        left: int = 1,
        header: bool = True,
        words_last: bool = False,
    ) -> None:
        """A ruled table: the first `left` columns hold words, the others figures.

        With `words_last` the last column holds words too.
        """
        from rich import box
        from rich.table import Table

        drawn = Table(box=box.HORIZONTALS, show_header=header, header_style="", pad_edge=False)
        for position, name in enumerate(columns):
            wordy = position < left or (words_last and position == len(columns) - 1)
            drawn.add_column(
                name,
                justify="left" if wordy else "right",
                no_wrap=not wordy,
                overflow="fold",
            )
        for row in rows:
            drawn.add_row(*row)
        self._console.print(drawn)

    def ruled(self, columns: Sequence[tuple[str, bool]], rows: Iterable[Sequence[str]]) -> None:
        """A ruled table whose columns say themselves whether they hold figures."""
        from rich import box
        from rich.table import Table

        drawn = Table(box=box.HORIZONTALS, header_style="", pad_edge=False)
        for name, figures in columns:
            drawn.add_column(name, justify="right" if figures else "left", no_wrap=figures,
                             overflow="fold")  # fmt: skip
        for row in rows:
            drawn.add_row(*row)
        self._console.print(drawn)

    def sayings(self, title: str, said: Iterable[Any]) -> None:
        """A list of sayings, objections or cautions under a heading; nothing for none.

        What is said of many in the same words is said once, with the names of the others.
        """
        groups: dict[str, list[Any]] = {}
        for one in said:
            groups.setdefault(one.code, []).append(one)
        if not groups:
            return
        self.head(title)
        for alike in groups.values():
            for line in _folded(alike):
                self._console.print(f"  - {line}")


def _folded(alike: list[Any]) -> list[str]:
    """The sentences of one code: all of them if few, else the first and who else it is for."""
    sentences = list(dict.fromkeys(say(one) + _and_do(one) for one in alike))
    if len(sentences) <= _FEW:
        return sentences
    first = _name(alike[0])
    names = dict.fromkeys(_name(one) for one in alike[1:])
    others = [name for name in names if name and name != first]
    if not others:
        return sentences[:1]
    return [f"{sentences[0]} Likewise: {', '.join(others)}."]


def _name(one: Any) -> str:
    """What a saying is about, if it names one thing."""
    about = getattr(one, "about", "") or one.values.get("lot", "")
    return str(about)


def _and_do(one: Any) -> str:
    from lemel.values import Objection

    wanted = remedy(one) if isinstance(one, Objection) else ""
    return f" {wanted}" if wanted else ""
