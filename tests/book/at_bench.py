"""What the tests of the bench ask a book: heaps, planned losses, bars; two alloys."""

from __future__ import annotations

from lemel.book import Account
from lemel.values import Composition, Holding

STERLING = Composition.from_millesimal({"Ag": 925, "Cu": 75})
GOLD = Composition.from_millesimal({"Au": 750, "Ag": 125, "Cu": 125})


def store(book, body, owner="shop"):
    return book.held(Account(owner, "store", body))


def planned_loss_mg(plan, step):
    moves = plan.balance.movements
    return sum(m.holding.gross_mg for m in moves if m.step == step and m.to.place == "loss")


def heat_metal(book, heat):
    return sum(
        (h for a, h in book.balances(place="process").items() if a.body == heat), Holding.nothing()
    )


def charged_mg(plan, heat):
    [one] = [h for h in plan.heats if h.id == heat]
    return {line.body: round(1000 * line.mass_g) for line in one.charge.lines}


def everything(book):
    return book.head(), book.balances(), book.lots()


def bar_of(plan):
    return f"{plan.id}/H1-2"
