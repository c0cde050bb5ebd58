"""Backwards from stock to ingots: which mould, how many bars, and what stands in the way."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from lemel import mill, pour
from lemel.plan.context import Context, Group, family_of
from lemel.plan.rules import rule
from lemel.plan.stockwork import Failure, as_saying
from lemel.pour import MouldChoice
from lemel.values import Blank, IngotNeed, Mould, Objection, OrderLine, Quantity, Saying, StockNeed

__all__ = ["IngotPick", "pick_ingot"]

#: A stock need is shared over at most so many bars.
BARS_MOST = 4
#: A bar is made heavier for the mill so many times before the mould is given up.
HEAVIER_MOST = 5


@dataclass(frozen=True, slots=True)
class IngotPick:
    """How one stock need is to be poured: `shares` of it, one a bar of `choice`."""

    need: StockNeed
    lines: tuple[OrderLine, ...]
    blanks: tuple[Blank, ...]
    shares: tuple[StockNeed, ...]
    choice: MouldChoice
    minutes: float
    notes: tuple[Saying, ...] = ()

    @property
    def grams(self) -> float:
        """Metal that must be in the pot for it, feeders and skin included."""
        return self.choice.total_g


def pick_ingot(
    context: Context,
    group: Group,
    need: StockNeed,
    lines: Sequence[OrderLine],
    blanks: Sequence[Blank],
) -> IngotPick | Failure:
    """The mould whose bars the mill turns into the stock with the least trouble.

    Few bars before many; among moulds the minutes of milling plus a price in minutes for
    each gram more than is needed. Failure carries what stood in the way and the ways out.
    """
    body = context.nominal(group.standard, group.colour)
    failure: Failure | None = None
    notes: list[Saying] = []
    good: list[tuple[float, tuple[StockNeed, ...], _Fit]] = []
    for bars in range(1, BARS_MOST + 1):
        shares = share_need(need, blanks, bars)
        if not shares:
            break
        # One more bar than is enough is still tried: it may leave less metal over.
        enough = bool(good)
        asked = mill.need(shares[0], (), context.kit, body, tables=context.tables)
        tries = [
            _try_mould(context, group, shares, mould, asked.grams_least)
            for mould in (*context.moulds, None)
        ]
        against = [o for one in tries if not isinstance(one, _Fit) for o in one]
        notes += [as_saying(o) for o in against if o.code == "pour.mould.split"]
        good += [
            (_trouble(context, group, one, asked.grams_least * bars), shares, one)
            for one in tries
            if isinstance(one, _Fit)
        ]
        if enough:
            break
        if failure is None:
            failure = _failure(
                need, [*asked.objections, *against], asked.ways_out, asked.grams_least
            )
    if not good:
        assert failure is not None
        return failure
    _, shares, best = min(good, key=lambda one: (one[0], one[2].choice.mould))
    mine = tuple(line for line in lines if line.id in need.pieces)
    said = tuple(dict.fromkeys(notes))
    minutes = best.minutes * len(shares)
    return IngotPick(need, mine, tuple(blanks), shares, best.choice, minutes, said)


@dataclass(frozen=True, slots=True)
class _Fit:
    """A mould that does, with the minutes of milling one of its bars."""

    choice: MouldChoice
    minutes: float


def _try_mould(
    context: Context,
    group: Group,
    shares: Sequence[StockNeed],
    mould: Mould | None,
    least_g: float,
) -> _Fit | tuple[Objection, ...]:
    """One mould (None: a button in the dish), its bar made heavier until the mill is content;
    or what stands against it."""
    said: tuple[Objection, ...] = ()
    margin = 1 + rule("ingot_margin_share", context.tables)
    for grams in (least_g * margin, least_g):
        fit = _try_grams(context, group, shares, mould, grams)
        if isinstance(fit, _Fit):
            return fit
        said = said or fit
    return said


def _try_grams(
    context: Context,
    group: Group,
    shares: Sequence[StockNeed],
    mould: Mould | None,
    least_g: float,
) -> _Fit | tuple[Objection, ...]:
    body = context.nominal(group.standard, group.colour)
    family = family_of(context.standard(group.standard), group.colour)
    surplus = rule("ingot_surplus_most_g", context.tables)
    moulds = (mould,) if mould is not None else ()
    said: tuple[Objection, ...] = ()
    for _ in range(HEAVIER_MOST):
        ingot = IngotNeed(
            shares[0].id,
            (least_g, max(least_g * 3, least_g + surplus)),
            len(shares),
            shares[0].owner,
            shares[0].standard,
            family,
        )
        found = pour.need(ingot, moulds, body, tables=context.tables)
        wanted = mould.id if mould is not None else pour.BUTTON
        choice = next(
            (c for c in found.choices if c.mould == wanted and c.verdict != "split"), None
        )
        if mould is None and choice is not None and choice.total_g > _button_most_g(context):
            return (*said, _button_too_heavy(context, shares[0], choice.total_g))
        if choice is None:
            split = [o for c in found.choices if c.mould == wanted for o in c.objections]
            return (*said, *split, *found.objections)
        verdict = mill.need(
            shares[0], (choice.ingot,), context.kit, body, tables=context.tables
        ).verdicts[0]
        if verdict.fits:
            return _Fit(choice, verdict.minutes)
        said = verdict.objections
        # A bar that is heavy enough but has no way is often only too stubby: a longer one rolls.
        heavier = choice.ingot.mass_g * (1 + rule("ingot_heavier_share", context.tables))
        needed = verdict.grams_needed * (1 + rule("ingot_margin_share", context.tables))
        least_g = needed if verdict.grams_needed > choice.ingot.mass_g else heavier
    return said


def _button_most_g(context: Context) -> float:
    return rule("button_most_g", context.tables)


def _button_too_heavy(context: Context, need: StockNeed, grams: float) -> Objection:
    """A button is melted with the torch in its own dish; more than a torch likes is poured."""
    values = {"mass": Quantity(grams, "g"), "most": Quantity(_button_most_g(context), "g")}
    return Objection("plan.button_too_heavy", need.id, "note", values)


def _trouble(context: Context, group: Group, fit: _Fit, least_g: float) -> float:
    """Minutes of milling, of setting up for each bar, and the worth of metal left over."""
    bars = fit.choice.bars
    minutes = bars * (fit.minutes + rule("setup_mill_min", context.tables))
    return minutes + _surplus_minutes(context, group, fit.choice, least_g)


def share_need(need: StockNeed, blanks: Sequence[Blank], bars: int) -> tuple[StockNeed, ...]:
    """A need dealt over several bars; empty if its pieces cannot be parted so.

    Wire and strip are dealt by length, never below the longest piece; sheet along its
    length, each sheet with room for its share of the blanks.
    """
    if bars == 1:
        return (need,)
    if len(blanks) < bars:
        return ()
    if need.length_mm is not None:
        longest = max(blank.outline.length_mm for blank in blanks)
        each = need.length_mm / bars + longest * (0.5 if len(blanks) % bars else 0)
        if each < longest:
            return ()
        return tuple(replace(need, id=f"{need.id}.{n + 1}", length_mm=each) for n in range(bars))
    if need.area_mm is not None:
        along, across = need.area_mm
        biggest = max(min(b.outline.length_mm, b.outline.width_mm) for b in blanks)
        rows = max(1, -(-int(along // biggest) // bars))
        each = max(along / bars, rows * biggest * 1.05)
        return tuple(
            replace(need, id=f"{need.id}.{n + 1}", area_mm=(each, across)) for n in range(bars)
        )
    return ()


def _surplus_minutes(context: Context, group: Group, choice: MouldChoice, least_g: float) -> float:
    """What the metal beyond the need is worth in minutes: it lies about till the next job.

    A customer's own metal is short by nature, so there every gram counts as a gold one.
    """
    surplus_g = max(0.0, choice.total_g - least_g)
    prices = context.shop.prices
    standard = context.standard(group.standard)
    price = float(prices.fine_per_g.get(standard.main, 0)) if prices else 0.0
    tied = rule("surplus_worth_share", context.tables) * price * standard.least
    minutes_per_g = tied / rule("minute_worth", context.tables)
    if group.owner != context.shop.house or group.use_lots:
        minutes_per_g = max(minutes_per_g, rule("own_metal_minutes_per_g", context.tables))
    return minutes_per_g * surplus_g


def _failure(
    need: StockNeed, objections: Sequence[Objection], ways: Sequence[Saying], least_g: float
) -> Failure:
    stops = [o for o in objections if o.grade == "stop"] or list(objections)
    reason = as_saying(stops[0]) if stops else Saying("plan.unmet.no_ingot", {"need": need.id})
    remedies = [o.remedy for o in objections if o.remedy is not None]
    unique: list[Saying] = []
    for way in (*ways, *remedies):
        if way not in unique:
            unique.append(way)
    return Failure(reason, tuple(unique), least_g)
