"""What goes in first: order of classes, packing, and the places where lots may be divided."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from lemel import metal
from lemel.errors import BadInput
from lemel.melt.figures import figure, form_row
from lemel.tables import Tables
from lemel.values import Charge, ChargeLine

__all__ = ["Heap", "Place", "fills_by_volume", "heap_of", "order_of"]

#: Classes of the charge, first to last. Zinc goes in last because it boils at 907 degC.
HEAVY, LIGHT, FINE, ADDED, ZINC = 1, 2, 3, 4, 5


@dataclass(frozen=True, slots=True)
class Place:
    """A place between two pieces: all before it is `mass_g` and, heaped, `bulk_cm3`.

    `line` is the line that ends or is divided here; `inside` says that a lot is divided.
    """

    mass_g: float
    bulk_cm3: float
    line: int
    inside: bool


@dataclass(frozen=True, slots=True)
class Heap:
    """The charge in its order, with every place where it may be divided."""

    lines: tuple[ChargeLine, ...]
    orders: tuple[int, ...]
    places: tuple[Place, ...]

    @property
    def mass_g(self) -> float:
        """All of it."""
        return self.places[-1].mass_g

    def tubs(self, start: int, end: int) -> tuple[tuple[str, float], ...]:
        """Grams of each line between two places."""
        found: dict[str, float] = {}
        for i in range(start + 1, end + 1):
            body = self.lines[self.places[i].line].body
            step_g = self.places[i].mass_g - self.places[i - 1].mass_g
            found[body] = found.get(body, 0.0) + step_g
        return tuple(found.items())

    def pieces(
        self, start: int, end: int, piece_g: Mapping[str, tuple[float, ...]]
    ) -> tuple[tuple[str, int], ...]:
        """Number of pieces of each undivided lot between two places."""
        found: dict[str, int] = {}
        for i in range(start + 1, end + 1):
            body = self.lines[self.places[i].line].body
            if body in piece_g:
                found[body] = found.get(body, 0) + 1
        return tuple(found.items())


def order_of(line: ChargeLine, tables: Tables | None = None) -> int:
    """The class of a line: heavy clean pieces, light ones, filings, additions, zinc last."""
    if line.composition.share("Zn") > figure("zinc_class_share", tables):
        return ZINC
    if line.kind == "addition":
        return ADDED
    return int(form_row(line.form, tables).number("order"))


def heap_of(
    charge: Charge,
    piece_g: Mapping[str, tuple[float, ...]] | None = None,
    *,
    step_g: float | None = None,
    tables: Tables | None = None,
) -> Heap:
    """The charge sorted by class, denser heaps first, with its places.

    A lot in `piece_g` is divided between its pieces only (their masses must sum to what is
    taken of it, within 1 %); any other in tubs of `step_g`. Raises BadInput.
    """
    pieces = piece_g or {}
    step = step_g or figure("cut_step_g", tables)
    lines = sorted(
        charge.lines,
        key=lambda line: (
            order_of(line, tables),
            -form_row(line.form, tables).number("packing"),
            line.body,
        ),
    )
    places = [Place(0.0, 0.0, 0, False)]
    for n, line in enumerate(lines):
        bulk_g_cm3 = form_row(line.form, tables).number("packing") * metal.density_g_cm3(
            line.composition, tables=tables
        )
        start = places[-1]
        cuts = _cuts(line, pieces.get(line.body), step)
        for k, cut_g in enumerate(cuts):
            places.append(
                Place(
                    start.mass_g + cut_g,
                    start.bulk_cm3 + cut_g / bulk_g_cm3,
                    n,
                    k < len(cuts) - 1 and line.body not in pieces,
                )
            )
    orders = tuple(order_of(line, tables) for line in lines)
    return Heap(tuple(lines), orders, tuple(places))


def _cuts(line: ChargeLine, pieces: tuple[float, ...] | None, step_g: float) -> list[float]:
    if pieces is None:
        whole = int(line.mass_g / step_g - 1e-9)
        return [step_g * k for k in range(1, whole + 1)] + [line.mass_g]
    if abs(sum(pieces) - line.mass_g) > 0.01 * line.mass_g + 0.02 or min(pieces) <= 0:
        raise BadInput(
            f"piece_g.{line.body}",
            round(sum(pieces), 3),
            f"pieces that sum to {line.mass_g:g} g",
            "Weigh the pieces that go in.",
        )
    scale, total, cuts = line.mass_g / sum(pieces), 0.0, []
    # Heaviest first: they sink best into a shallow bath.
    for piece in sorted(pieces, reverse=True):
        total += piece * scale
        cuts.append(total)
    cuts[-1] = line.mass_g
    return cuts


def fills_by_volume(
    mass_g: float, volume_cm3: float, share: float, bulk_over_liquid: float, liquid_g_cm3: float
) -> int:
    """Fillings by volume alone for one form of scrap: ceil(ln(1 - m/(rho V s)) / ln(1 - r)).

    r is heaped over liquid density. The same limit `share` holds for piles and for liquid.
    Valid for m < rho V s and 0 < r < 1; raises BadInput beyond. 300 g of cut hollowware
    (r 0.137) into 60 cm3 at 0.8:

    >>> fills_by_volume(300, 60, 0.8, 0.137, 9.05)
    8
    """
    import math

    full_g = liquid_g_cm3 * volume_cm3 * share
    if not mass_g < full_g:
        raise BadInput("mass_g", mass_g, f"less than {full_g:g} g", "Take a larger pot.")
    if not 0 < bulk_over_liquid < 1:
        raise BadInput("bulk_over_liquid", bulk_over_liquid, "0 to 1", "Check the packing.")
    count = math.log(1 - mass_g / full_g) / math.log(1 - bulk_over_liquid)
    return max(1, math.ceil(count - 1e-9))
