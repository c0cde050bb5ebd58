"""The month through its real steps, weighed as a bench weighs, against plain sums in a data frame.

The frame knows the plan's list of movements and the weights, and nothing of the book.
"""

from __future__ import annotations

import random

import pandas as pd

from lemel.values import Holding

FORESEEN = ("lot", "addition", "bar", "remnant", "offcut")


def weigh(mg, dice):
    """A planned mass as the bench finds it: a hundredth of a gram this way or that."""
    return max(10, mg + 10 * dice.randint(-1, 1))


class Sheet:
    """Rows of (owner, place, body, element, mg); each step appends what it moves."""

    def __init__(self, opening):
        self.rows = []
        for account, held in opening.items():
            self.put(account.owner, account.place, account.body, parts_of(held))

    def put(self, owner, place, body, parts):
        self.rows += [(owner, place, body, e, mg) for e, mg in parts.items()]

    def frame(self):
        return pd.DataFrame(self.rows, columns=["owner", "place", "body", "element", "mg"])

    def held(self, owner, place, body):
        rows = self.frame()
        mine = rows[(rows.owner == owner) & (rows.place == place) & (rows.body == body)]
        return mine.groupby("element").mg.sum().to_dict()

    def move(self, source, to, mg):
        """So many mg of a heap, in its proportions, to another."""
        there = self.held(*source)
        part = mg / sum(there.values())
        moved = {element: held * part for element, held in there.items()}
        self.put(*source, {element: -held for element, held in moved.items()})
        self.put(*to, moved)


def parts_of(held: Holding):
    return {element: ng / 1e6 for element, ng in held.element_ng}


def names_of(plan):
    """The plan's own name of a thing that it makes, and the book's."""
    return {m.to.id: f"{plan.id}/{m.to.id}" for m in plan.balance.movements}


def place_of(kind):
    return {"piece": "piece", "kerf": "lemel_box", "hold_up": "hold_up"}.get(kind, "store")


def body_of(plan, to):
    if to.place == "kerf":
        return "lemel box"
    return to.id if to.place == "hold_up" else f"{plan.id}/{to.id}"


def melt(book, sheet, plan, heat, moves, dice):
    """Charge, melt, pour, with a weight of its own for each bag and each thing that came out."""
    owner, pot = heat.owner, (heat.owner, "process", f"{plan.id}/{heat.id}")
    top_up = [m for m in plan.balance.movements if m.step == f"{heat.id} top-up"]
    lines = {one.body: round(1000 * one.mass_g) for one in heat.charge.lines}
    for move in top_up:
        there = (move.source.owner, "store", move.source.id)
        sheet.move(there, (owner, "store", move.source.id), lines[move.source.id])
    for body, mg in lines.items():
        sheet.move((owner, "store", body), pot, mg)
    taken = {body: mg / 1000 for body, mg in lines.items()}
    assert book.charge(plan.id, heat.id, taken=taken).entry
    book.molten(plan.id, heat.id)
    after = pour_out(sheet, plan, pot, moves, "melt_and_pour", dice)
    done = book.pour(plan.id, heat.id, after=after)
    assert done.entry, done.objections


def pour_out(sheet, plan, source, moves, operation, dice):
    """Share a heap out by fresh weights; what nobody weighed is the operation's loss."""
    whole = sum(sheet.held(*source).values())
    sizes = {m.to.id: weigh(m.holding.gross_mg, dice) for m in moves if m.to.place != "loss"}
    over = round(sum(sizes.values()) - whole)
    if over > 0:
        sizes[max(sizes, key=sizes.get)] -= over
    there = sheet.held(*source)
    for move in moves:
        if move.to.place == "loss":
            continue
        part = sizes[move.to.id] / whole
        given = {element: mg * part for element, mg in there.items()}
        to = (move.to.owner, place_of(move.to.place), body_of(plan, move.to))
        sheet.put(*source, {element: -mg for element, mg in given.items()})
        sheet.put(*to, given)
    left = sheet.held(*source)
    sheet.put(*source, {element: -mg for element, mg in left.items()})
    sheet.put(source[0], "loss", operation, left)
    return {own: mg / 1000 for own, mg in sizes.items()}


def part_off(sheet, plan, source, moves):
    """A length off a bar; the rest of it stays where it is."""
    [move] = [m for m in moves if m.to.place != "loss"]
    mg = move.holding.gross_mg
    sheet.move(source, (move.to.owner, "store", body_of(plan, move.to)), mg)
    return {move.to.id: mg / 1000}


def live_the_month(book, sheet, plan, dice):
    """Every step of the plan in its order, then every piece out of the house."""
    made = names_of(plan)
    heats = {f"{heat.id} melt and pour": heat for heat in plan.heats}
    done: dict[str, int] = {}
    for step in book.steps(plan.id):
        label = step.name.removesuffix(f" ({done.get(step.about, 0) + 1})")
        moves = planned_moves(plan, label, done)
        if step.kind == "melt_and_pour":
            melt(book, sheet, plan, heats[step.name], moves, dice)
        elif step.kind != "top_up":
            own = moves[0].source.id
            source = (moves[0].source.owner, "store", made.get(own, own))
            if step.kind == "part":
                after = part_off(sheet, plan, source, moves)
            else:
                after = pour_out(sheet, plan, source, moves, step.kind, dice)
            answer = book.work(plan.id, step.name, after=after)
            assert answer.entry, (step.name, answer.objections)
    for account, held in book.balances(place="piece").items():
        sheet.move(
            (account.owner, "piece", account.body), (account.owner, "outside", "delivered"),
            held.gross_mg,
        )  # fmt: skip
        book.mishaps.deliver(account.body)


def planned_moves(plan, label, done):
    """The movements of one step; a bar that is parted twice has two of one name."""
    runs = []
    for move in plan.balance.movements:
        if runs and runs[-1][0].step == move.step:
            runs[-1].append(move)
        else:
            runs.append([move])
    same = [run for run in runs if run[0].step == label]
    if label.startswith("part "):
        done[label] = done.get(label, 0) + 1
        done[same[0][0].source.id] = done[label]
        return same[done[label] - 1]
    return same[0]


def test_the_month_as_it_was_weighed_is_what_plain_sums_say_to_the_milligram(stocked, plan):
    stocked.accept(plan)
    sheet = Sheet(stocked.balances())
    live_the_month(stocked, sheet, plan, random.Random(1009))
    frame = sheet.frame()
    frame = frame[frame.element.notna()]
    gross = frame.groupby(["owner", "place", "body"]).mg.sum()
    wanted = {key: round(mg) for key, mg in gross.items() if round(mg)}
    held = {
        (a.owner, a.place, a.body): h.gross_mg for a, h in stocked.balances().items() if h.gross_mg
    }
    assert held == wanted
    fine = frame.groupby(["owner", "place", "body", "element"]).mg.sum().to_dict()
    for account, metal in stocked.balances().items():
        for element, mg in parts_of(metal).items():
            key = (account.owner, account.place, account.body, element)
            assert abs(fine.get(key, 0.0) - mg) < 0.001, key
    assert not stocked.balances(place="process")
    assert not stocked.balances(place="piece")
    assert stocked.audit().whole
