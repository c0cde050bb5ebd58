"""What the tests of the bench ask a book: heaps, planned losses, bars; two alloys."""

from __future__ import annotations

from datetime import date

from lemel.book import Account
from lemel.values import Composition, Holding, Lot, OrderLine

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


def line(name="O1.1", owner="ada", count=1, **more):
    sizes = {"size": "ISO 54", "width_mm": 4.0, "thickness_mm": 1.5}
    return OrderLine(name, name.split(".")[0], owner, "ring", count, sizes, "UK Ag 925", **more)


def spoons(name="L1", **more):
    more = {"stated": STERLING, "received_on": date(2031, 1, 1), **more}
    return Lot(name, "ada", "Ag", "hollowware", 100.0, scrap_class="flatware", **more)


def run_month(book, plan, stop_before=None):
    for step in book.steps(plan.id):
        if step.name == stop_before:
            return
        if step.kind == "melt_and_pour":
            heat = step.about.split("/")[-1]
            assert book.charge(plan.id, heat).entry
            book.molten(plan.id, heat)
            assert book.pour(plan.id, heat).entry
        elif step.kind != "top_up":
            assert book.work(plan.id, step.name).entry
