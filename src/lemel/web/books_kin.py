"""A body's family: who its metal came from or what came of it, with the grams of each link."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

from lemel.book import Book, last_change
from lemel.sketch import Drawing, Kinsman, Link, ancestry

__all__ = ["Family", "drawn", "family"]

#: More bodies than this would be a thicket; the nearest are drawn, the rest counted.
_DRAWN_MOST = 40
_ENDS = {"-feeder": "feeder", "-end1": "end", "-rest": "remnant", "-scrap": "clippings"}
_WORDS = {"addition": "fine metal", "told_above": "", "cut_off": ""}


@dataclass(frozen=True, slots=True)
class Family:
    """Bodies and links as they are drawn; `left` counts what was too far to draw."""

    bodies: tuple[Kinsman, ...]
    links: tuple[Link, ...]
    left: int = 0

    @property
    def suspects(self) -> tuple[str, ...]:
        """Those that no further plan may take."""
        return tuple(one.id for one in self.bodies if one.suspect)


def family(book: Book, body: str, way: str) -> Family:
    """`way` back: to the bags it came from; on: to everything that holds metal of it."""
    return _family(book, last_change(book), body, way)


@lru_cache(maxsize=64)
def _family(book: Book, change: tuple[int, ...], body: str, way: str) -> Family:  # noqa: ARG001
    links, kinds, left = _back(book, body) if way == "back" else _on(book, body)
    return _joined(book, links, kinds, left)


def _back(book: Book, body: str) -> tuple[list[Link], dict[str, str], int]:
    kinds: dict[str, str] = {}
    links: list[Link] = []
    above: list[str] = []
    left = 0
    for node in book.papers.origin(body).nodes:
        above = [*above[: node.depth], node.body]
        if node.body not in kinds and len(kinds) >= _DRAWN_MOST:
            left += 1
            continue
        if node.kind != "told_above":
            kinds[node.body] = node.kind
        if node.depth and above[node.depth - 1] in kinds:
            links.append(Link(node.body, above[node.depth - 1], node.gross_mg / 1000))
    return links, kinds, left


def _on(book: Book, body: str) -> tuple[list[Link], dict[str, str], int]:
    kinds: dict[str, str] = {body: book.papers.origin(body).nodes[0].kind}
    links: list[Link] = []
    left, level = 0, [body]
    children = book.descendants(body)
    while level:
        below: list[str] = []
        for parent in level:
            for child in children.get(parent, ()):
                if child not in kinds and len(kinds) >= _DRAWN_MOST:
                    left += 1
                    continue
                nodes = book.papers.origin(child).nodes
                if child not in kinds:
                    kinds[child] = nodes[0].kind
                    below.append(child)
                mg = sum(one.gross_mg for one in nodes if one.depth == 1 and one.body == parent)
                links.append(Link(parent, child, mg / 1000))
        level = below
    return links, kinds, left


def _joined(book: Book, links: list[Link], kinds: Mapping[str, str], left: int) -> Family:
    """Each body with its grams: what went into it, or for a bag what went out of it here."""
    own = tuple(dict.fromkeys(links))
    suspects = set(book.mishaps.suspects())
    made = tuple(
        Kinsman(
            name,
            _called(kind, name, any(one.child == name for one in own)),
            _grams(book, name, own),
            name in suspects,
        )
        for name, kind in kinds.items()
    )
    return Family(made, own, left)


def _called(kind: str, name: str, has_parents: bool) -> str:
    """A bag as it came in; what came of a heat by the end of the name that its plan gave it."""
    if kind == "lot" and has_parents:
        ends = (word for tail, word in _ENDS.items() if name.endswith(tail))
        return next(ends, "bar")
    return "bag" if kind == "lot" else _WORDS.get(kind, kind.replace("_", " "))


def _grams(book: Book, name: str, links: Iterable[Link]) -> float:
    came = sum(one.mass_g for one in links if one.child == name)
    went = sum(one.mass_g for one in links if one.parent == name)
    if came or went:
        return max(came, went)
    return book.papers.origin(name).gross_mg / 1000


def drawn(of: Family) -> Drawing:
    """The family as ribbons as wide as the grams."""
    return ancestry(of.bodies, of.links)
