"""The book's only measure: gross milligrams and the nanograms of each element in them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from lemel.errors import BadInput
from lemel.values.composition import REST, Composition

__all__ = ["Holding", "share_out"]


@dataclass(frozen=True, slots=True)
class Holding:
    """Metal as integers: the elements' nanograms (with `rest`) sum to gross_mg * 1 000 000.

    May be negative: a movement out is a negative holding.
    """

    gross_mg: int
    element_ng: tuple[tuple[str, int], ...]

    def __post_init__(self) -> None:
        total = sum(ng for _, ng in self.element_ng)
        if total != self.gross_mg * 1_000_000:
            raise BadInput(
                "element_ng", total, str(self.gross_mg * 1_000_000), "Use Holding.of, which sums."
            )

    @classmethod
    def of(cls, gross_mg: int, body: Composition) -> Holding:
        """So many milligrams of one composition; exact since mg x ppm = ng."""
        return cls.from_ng(gross_mg, {e: gross_mg * p for e, p in body.to_ppm().items()})

    @classmethod
    def from_ng(cls, gross_mg: int, element_ng: Mapping[str, int]) -> Holding:
        """From nanograms by element; zero shares are dropped."""
        return cls(gross_mg, tuple(sorted((e, ng) for e, ng in element_ng.items() if ng)))

    @classmethod
    def nothing(cls) -> Holding:
        """The empty holding."""
        return cls(0, ())

    def as_dict(self) -> dict[str, int]:
        """Nanograms by element."""
        return dict(self.element_ng)

    def __add__(self, other: Holding) -> Holding:
        sums = self.as_dict()
        for element, ng in other.element_ng:
            sums[element] = sums.get(element, 0) + ng
        return Holding.from_ng(self.gross_mg + other.gross_mg, sums)

    def __neg__(self) -> Holding:
        return Holding(-self.gross_mg, tuple((e, -ng) for e, ng in self.element_ng))

    def __sub__(self, other: Holding) -> Holding:
        return self + (-other)

    def split(self, parts_mg: Iterable[int]) -> list[Holding]:
        """Share out into pieces of the given gross; exact in gross and in every element.

        The pieces' gross must sum to this gross. Each element is shared by largest
        remainder, and `rest` takes what makes each piece's elements sum to its gross
        (so `rest`, or where there is none the largest element, may move by a few ng).
        """
        sizes = list(parts_mg)
        if sum(sizes) != self.gross_mg:
            raise BadInput(
                "parts_mg", sum(sizes), str(self.gross_mg), "The pieces must sum to the whole."
            )
        names = sorted(self.as_dict(), key=lambda e: (self.as_dict()[e], e))
        if REST in names:
            names = [*(n for n in names if n != REST), REST]
        pieces: list[dict[str, int]] = [{} for _ in sizes]
        room = [size * 1_000_000 for size in sizes]
        for name in names[:-1]:
            for piece, index, ng in zip(
                pieces, range(len(sizes)), share_out(self.as_dict()[name], sizes), strict=True
            ):
                piece[name] = ng
                room[index] -= ng
        for piece, left in zip(pieces, room, strict=True):
            piece[names[-1] if names else REST] = left
        return [Holding.from_ng(s, p) for s, p in zip(sizes, pieces, strict=True)]


def share_out(total: int, weights: Iterable[int]) -> list[int]:
    """Integers in proportion to `weights` that sum to `total`: largest remainder, first wins ties.

    >>> share_out(10, [1, 1, 1])
    [4, 3, 3]
    """
    sizes = list(weights)
    whole = sum(sizes)
    if whole == 0:
        return [0 for _ in sizes] if total == 0 else [total, *(0 for _ in sizes[1:])]
    floors = [total * size // whole for size in sizes]
    remainders = [(-(total * size % whole), index) for index, size in enumerate(sizes)]
    for _, index in sorted(remainders)[: total - sum(floors)]:
        floors[index] += 1
    return floors
