"""What a metal is made of: mass fractions by element."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from lemel.errors import BadInput
from lemel.values.checks import is_finite

__all__ = ["ELEMENTS", "REST", "Composition", "mix"]

REST = "rest"

#: Elements that a lot, addition or reading may name.
ELEMENTS = (
    "Ag Au Pt Pd Rh Ir Ru Cu Zn Ni Sn Pb Cd Ge Si In Ga Bi Sb Fe Co Mn Al Li B P As Te Hg Be Ti Cr"
).split()


@dataclass(frozen=True, slots=True)
class Composition:
    """Mass fractions by element, with the share nobody declared kept as `rest`.

    `parts` is sorted by element and holds only shares above zero; parts and rest sum
    to one. Make it with `of` or `from_millesimal`, which normalise; the plain
    constructor checks.

    >>> sterling = Composition.from_millesimal({"Ag": 925, "Cu": 75})
    >>> sterling.share("Ag"), sterling.fineness("Ag")
    (0.925, 925.0)
    """

    parts: tuple[tuple[str, float], ...]
    rest: float = 0.0

    def __post_init__(self) -> None:
        for element, share in self.parts:
            if element not in ELEMENTS:
                raise BadInput(
                    element,
                    share,
                    "a chemical symbol such as Ag, Au, Cu, Zn, Pd",
                    "Write the element's symbol with its capital letter.",
                )
            is_finite(element, share)
            if share < 0:
                raise BadInput(element, share, "0 or more", "A share cannot be negative.")
        if list(self.parts) != sorted(self.parts) or len(dict(self.parts)) != len(self.parts):
            raise BadInput("parts", self.parts, "each element once, sorted", "Use Composition.of.")
        is_finite(REST, self.rest)
        if self.rest < -1e-12:
            raise BadInput(REST, self.rest, "0 or more", "The declared parts exceed the whole.")
        total = sum(share for _, share in self.parts) + self.rest
        if abs(total - 1) > 1e-9:
            raise BadInput("parts", total, "a sum of 1", "Use Composition.of, which normalises.")

    @classmethod
    def of(cls, parts: Mapping[str, float], rest: float = 0.0) -> Composition:
        """Shares in any common unit, normalised to sum to one with the rest."""
        for element, share in parts.items():
            is_finite(element, share)
            if share < 0:
                raise BadInput(element, share, "0 or more", "A share cannot be negative.")
        total = sum(parts.values()) + rest
        if total <= 0:
            raise BadInput("parts", dict(parts), "at least one share above 0", "Name the metal.")
        kept = tuple(sorted((e, s / total) for e, s in parts.items() if s > 0))
        # The last bit of rounding goes where it is least felt.
        return cls(kept, max(0.0, rest / total))

    @classmethod
    def from_millesimal(
        cls,
        parts: Mapping[str, float],
        *,
        balance: str | None = None,
        rest: bool = False,
        slack: float = 0.5,
    ) -> Composition:
        """Millesimal parts (925) as written on paper.

        The sum must be 1000 within `slack`, unless `balance` names the element that
        takes what is missing or `rest` leaves it undeclared. Raises BadInput.
        """
        total = sum(parts.values())
        missing = 1000 - total
        shares = dict(parts)
        if balance is not None and missing > 0:
            shares[balance] = shares.get(balance, 0.0) + missing
            return cls.of(shares)
        if rest and missing > 0:
            return cls.of(shares, missing)
        if abs(missing) > slack:
            raise BadInput(
                "composition",
                f"sum {total:g}",
                "parts that sum to 1000",
                "Mend the parts, or name the element that takes the balance, "
                "or say that the rest is undeclared.",
            )
        return cls.of(shares)

    @classmethod
    def pure(cls, element: str) -> Composition:
        """One element alone."""
        return cls(((element, 1.0),))

    def as_dict(self) -> dict[str, float]:
        """Mass fraction by element, without the rest."""
        return dict(self.parts)

    @property
    def elements(self) -> tuple[str, ...]:
        """Symbols with a share above zero, sorted."""
        return tuple(element for element, _ in self.parts)

    def share(self, element: str) -> float:
        """Mass fraction of one element; 0 if absent."""
        for name, share in self.parts:
            if name == element:
                return share
        return self.rest if element == REST else 0.0

    def fineness(self, main: str) -> float:
        """Millesimal parts of `main`."""
        return round(self.share(main) * 1000, 12)

    def main(self) -> str:
        """The precious metal that names the alloy: Au, Pt, Pd before Ag, by the usual order.

        A gold alloy is named by its gold even where silver or copper weighs more, as
        long as gold is at least 0.3; otherwise the heaviest precious metal; otherwise
        the heaviest element.
        """
        for precious in ("Pt", "Au", "Pd"):
            if self.share(precious) >= 0.3:
                return precious
        precious_shares = [(self.share(e), e) for e in ("Ag", "Au", "Pt", "Pd") if self.share(e)]
        if precious_shares and max(precious_shares)[0] >= 0.05:
            return max(precious_shares)[1]
        return max((share, element) for element, share in self.parts)[1]

    def to_ppm(self) -> dict[str, int]:
        """Integers that sum to exactly 1 000 000, `rest` included; largest remainder."""
        shares = [*self.parts, (REST, self.rest)]
        floors = {name: int(share * 1_000_000) for name, share in shares}
        short = 1_000_000 - sum(floors.values())
        by_remainder = sorted(
            shares, key=lambda pair: (-(pair[1] * 1_000_000 - floors[pair[0]]), pair[0])
        )
        for name, _ in by_remainder[:short]:
            floors[name] += 1
        return {name: ppm for name, ppm in floors.items() if ppm or name == REST}


def mix(shares: Iterable[tuple[float, Composition]]) -> Composition:
    """The composition of masses melted together; `shares` are (mass, composition)."""
    amounts: dict[str, float] = {}
    rest = 0.0
    for mass, body in shares:
        for element, share in body.parts:
            amounts[element] = amounts.get(element, 0.0) + mass * share
        rest += mass * body.rest
    return Composition.of(amounts, rest)
