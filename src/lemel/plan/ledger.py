"""The crossing from grams to milligrams, once: every step's metal in integers.

Masses are rounded to the balance step, shared out exactly, and what is left is the step's
loss. Accounts are (owner, place, id); the ledger never lets an account go below nothing and
never lets two owners' metal into one step without a transfer on a consent.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from lemel.errors import Broken
from lemel.values import Composition, Holding

__all__ = ["PLACES", "Account", "Balance", "Ledger", "Movement", "OwnerBalance", "to_step_mg"]

#: Where metal can lie, in the order of its way; the last three are where it ends unseen.
PLACES = (
    "lot",
    "addition",
    "bar",
    "piece",
    "remnant",
    "offcut",
    "kerf",
    "bought",
    "hold_up",
    "loss",
)


@dataclass(frozen=True, slots=True, order=True)
class Account:
    """One heap of one owner's metal."""

    owner: str
    place: str
    id: str


@dataclass(frozen=True, slots=True)
class Movement:
    """Metal from one account to another within a step; `consent` where owners differ."""

    step: str
    source: Account
    to: Account
    holding: Holding
    consent: str = ""


@dataclass(frozen=True, slots=True)
class OwnerBalance:
    """One owner's metal before and after, in mg and in ng by element.

    `closing` is gross by place; `transferred_mg` what came from (or went to, negative)
    other owners. `residual_*` are opening + transferred - closing and must be zero.
    """

    owner: str
    opening_mg: int
    closing_mg: int
    transferred_mg: int
    residual_mg: int
    places_mg: Mapping[str, int]
    opening_ng: Mapping[str, int]
    closing_ng: Mapping[str, int]
    residual_ng: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class Balance:
    """The whole plan's metal: closes to the milligram for each owner and element."""

    residual_mg: int
    residual_ng: int
    loss_mg: int
    owners: tuple[OwnerBalance, ...]
    movements: tuple[Movement, ...] = field(default=())


def to_step_mg(mass_g: float, step_g: float) -> int:
    """Grams rounded to the balance step, in mg (half up on the step).

    >>> to_step_mg(12.3449, 0.01)
    12340
    """
    step_mg = max(1, round(step_g * 1000))
    return int((mass_g * 1000) / step_mg + 0.5) * step_mg


class Ledger:
    """Accounts that are opened once and then only moved between.

    >>> book = Ledger(step_g=0.01)
    >>> book.open("Ada", "lot", "S1", 10.0, Composition.pure("Ag"))
    >>> book.step("melt", [("lot", "S1", 10.0)], [("bar", "B1", 9.9)], owner="Ada")
    >>> book.balance().loss_mg, book.balance().residual_mg
    (100, 0)
    """

    def __init__(self, step_g: float) -> None:
        self.step_g = step_g
        self._opened: dict[Account, Holding] = {}
        self._held: dict[Account, Holding] = {}
        self._movements: list[Movement] = []

    def open(self, owner: str, place: str, body: str, mass_g: float, of: Composition) -> None:
        """Metal that is there before the plan begins; rounded to the mg, as the book has it."""
        account = Account(owner, place, body)
        if account in self._opened:
            raise Broken(f"account {account} opened twice")
        holding = Holding.of(round(mass_g * 1000), of)
        self._opened[account] = holding
        self._held[account] = holding

    def buy(self, owner: str, place: str, body: str, mass_g: float, of: Composition) -> None:
        """What is bought as it is needed counts with what was there before the plan began."""
        account = Account(owner, place, body)
        holding = Holding.of(to_step_mg(mass_g, self.step_g), of)
        for heaps in (self._opened, self._held):
            heaps[account] = heaps.get(account, Holding.nothing()) + holding

    def held_g(self, owner: str, place: str, body: str) -> float:
        """Grams in an account; 0 where there is none."""
        holding = self._held.get(Account(owner, place, body))
        return holding.gross_mg / 1000 if holding else 0.0

    def composition(self, owner: str, place: str, body: str) -> Composition:
        """What an account's metal is made of by the book."""
        holding = self._held[Account(owner, place, body)]
        parts = {e: float(ng) for e, ng in holding.element_ng if e != "rest" and ng > 0}
        return Composition.of(parts, float(max(0, holding.as_dict().get("rest", 0))))

    def place_fine_g(self, place: str) -> dict[str, float]:
        """Grams by element in all accounts of one place, all owners."""
        total = sum((h for a, h in self._held.items() if a.place == place), Holding.nothing())
        return {element: ng / 1e9 for element, ng in total.element_ng}

    def transfer(
        self, step: str, source: tuple[str, str, str], to_owner: str, mass_g: float, consent: str
    ) -> None:
        """Metal changes its owner, by a consent on record; it stays where it lies."""
        owner, place, body = source
        if not consent:
            raise Broken(f"transfer from {owner} to {to_owner} without a consent")
        taken = self._take(Account(owner, place, body), to_step_mg(mass_g, self.step_g))
        self._give(
            step, Account(owner, place, body), Account(to_owner, place, body), taken, consent
        )

    def step(
        self,
        step: str,
        inputs: Iterable[tuple[str, str, float]],
        outputs: Iterable[tuple[str, str, float]],
        *,
        owner: str,
    ) -> None:
        """One owner's metal from input accounts (place, id, g) to outputs; the rest is loss.

        A bar, piece or remnant that is consumed whole is given as its own mass: an input
        within one balance step of what the account holds takes all of it.
        """
        pool = Holding.nothing()
        sources: list[Account] = []
        for place, body, mass_g in inputs:
            account = Account(owner, place, body)
            pool += self._take(account, self._snap(account, mass_g))
            sources.append(account)
        wanted = [(Account(owner, p, b), to_step_mg(g, self.step_g)) for p, b, g in outputs]
        sizes = _fit([mg for _, mg in wanted], pool.gross_mg, self.step_g, step)
        loss = pool.gross_mg - sum(sizes)
        for (account, _), holding in zip(
            [*wanted, (Account(owner, "loss", step), loss)],
            pool.split([*sizes, loss]),
            strict=True,
        ):
            if holding.gross_mg:
                self._give(step, sources[0], account, holding, "")

    def balance(self) -> Balance:
        """Opening against closing, by owner and element."""
        owners = sorted({a.owner for a in (*self._opened, *self._held)})
        rows = tuple(self._owner_balance(owner) for owner in owners)
        return Balance(
            residual_mg=sum(abs(row.residual_mg) for row in rows),
            residual_ng=sum(abs(ng) for row in rows for ng in row.residual_ng.values()),
            loss_mg=sum(h.gross_mg for a, h in self._held.items() if a.place == "loss"),
            owners=rows,
            movements=tuple(self._movements),
        )

    def _owner_balance(self, owner: str) -> OwnerBalance:
        opening = sum((h for a, h in self._opened.items() if a.owner == owner), Holding.nothing())
        closing = sum((h for a, h in self._held.items() if a.owner == owner), Holding.nothing())
        moved = Holding.nothing()
        for movement in self._movements:
            if movement.source.owner != movement.to.owner:
                if movement.to.owner == owner:
                    moved += movement.holding
                if movement.source.owner == owner:
                    moved -= movement.holding
        residual = opening + moved - closing
        places: dict[str, int] = {}
        for account, holding in sorted(self._held.items()):
            if account.owner == owner and holding.gross_mg:
                places[account.place] = places.get(account.place, 0) + holding.gross_mg
        return OwnerBalance(
            owner=owner,
            opening_mg=opening.gross_mg,
            closing_mg=closing.gross_mg,
            transferred_mg=moved.gross_mg,
            residual_mg=residual.gross_mg,
            places_mg=places,
            opening_ng=opening.as_dict(),
            closing_ng=closing.as_dict(),
            residual_ng=residual.as_dict(),
        )

    def _snap(self, account: Account, mass_g: float) -> int:
        held = self._held.get(account, Holding.nothing()).gross_mg
        mg = to_step_mg(mass_g, self.step_g)
        return held if abs(held - mass_g * 1000) <= self.step_g * 1000 else mg

    def _take(self, account: Account, mg: int) -> Holding:
        held = self._held.get(account, Holding.nothing())
        if mg > held.gross_mg:
            raise Broken(f"{account} holds {held.gross_mg} mg, {mg} mg asked")
        taken, left = held.split([mg, held.gross_mg - mg])
        self._held[account] = left
        return taken

    def _give(
        self, step: str, source: Account, to: Account, holding: Holding, consent: str
    ) -> None:
        self._held[to] = self._held.get(to, Holding.nothing()) + holding
        self._movements.append(Movement(step, source, to, holding, consent))


def _fit(sizes: list[int], room_mg: int, step_g: float, step: str) -> list[int]:
    """Rounding may ask for a step more than there is: the largest output yields it."""
    over = sum(sizes) - room_mg
    if over <= 0:
        return sizes
    if over > len(sizes) * step_g * 1000 + 1:
        raise Broken(f"{step} gives {over} mg more than went in")
    fitted = list(sizes)
    fitted[max(range(len(sizes)), key=lambda i: sizes[i])] -= over
    return fitted
