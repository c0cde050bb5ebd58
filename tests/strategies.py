"""Hypothesis strategies for the things of the house: alloys, lots, sections, kit, orders.

`value_of(kind)` gives any shared value by its class; the named ones take what a test
wants to hold fixed.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

from hypothesis import strategies as st

from lemel import values
from lemel.values import figures, heat, kit, money, proof, scrap, section, stock

__all__ = [
    "compositions", "fractions", "gold_alloys", "holdings", "lots", "masses_g", "quantities",
    "sections", "silver_alloys", "temperatures_c", "value_kinds", "value_of",
]  # fmt: skip

ids = st.text(st.sampled_from("abcdefghijkmnpqrstuvwxyzABC0123456789-_. "), min_size=1).filter(
    lambda text: text.strip() and len(text) < 100
)
days = st.dates(date(2000, 1, 1), date(2099, 12, 31))
prices = st.decimals(Decimal("0"), Decimal("99999"), places=4)


def masses_g(least: float = 0.01, most: float = 5000.0) -> st.SearchStrategy[float]:
    """A mass as a balance of 0.01 g shows it."""
    return st.integers(round(least * 100), round(most * 100)).map(lambda n: n / 100)


def positives(most: float = 1e6) -> st.SearchStrategy[float]:
    """Any size above zero."""
    return st.floats(1e-3, most, allow_nan=False)


def fractions(least: float = 0.0, most: float = 1.0) -> st.SearchStrategy[float]:
    """A share of one."""
    return st.floats(least, most, allow_nan=False)


def temperatures_c(least: float = -20.0, most: float = 1800.0) -> st.SearchStrategy[float]:
    """A temperature in degC."""
    return st.floats(least, most, allow_nan=False)


@st.composite
def compositions(
    draw: st.DrawFn, elements: tuple[str, ...] = tuple(values.ELEMENTS), most: int = 6
) -> values.Composition:
    """Any metal: up to `most` elements and perhaps an undeclared rest."""
    chosen = draw(st.lists(st.sampled_from(elements), min_size=1, max_size=most, unique=True))
    shares = [draw(st.floats(1e-4, 1.0)) for _ in chosen]
    rest = draw(st.one_of(st.just(0.0), st.floats(0.0, 0.3)))
    return values.Composition.of(dict(zip(chosen, shares, strict=True)), rest)


def silver_alloys(least: float = 0.7, most: float = 1.0) -> st.SearchStrategy[values.Composition]:
    """Silver and copper."""
    return fractions(least, most).map(lambda ag: values.Composition.of({"Ag": ag, "Cu": 1 - ag}))


@st.composite
def gold_alloys(draw: st.DrawFn) -> values.Composition:
    """Gold, silver and copper between 9 and 22 karat."""
    gold = draw(fractions(0.375, 0.917))
    silver = draw(fractions(0.0, 1.0)) * (1 - gold)
    return values.Composition.of({"Au": gold, "Ag": silver, "Cu": 1 - gold - silver})


@st.composite
def sections(draw: st.DrawFn, kinds: tuple[str, ...] = section.SECTION_KINDS) -> values.Section:
    """A cross-section between foil and ingot."""
    kind = draw(st.sampled_from(kinds))
    dims = {name: draw(st.floats(0.05, 200.0)) for name in values.SECTION_DIMS[kind]}
    return values.Section.of(kind, dims, draw(st.floats(0.85, 1.0)))


@st.composite
def tempers(draw: st.DrawFn) -> values.Temper:
    """Soft, or a window of strain or hardness."""
    kind = draw(st.sampled_from(["soft", "strain", "hv"]))
    if kind == "soft":
        return values.Temper("soft")
    lo, hi = sorted((draw(fractions(0, 200)), draw(fractions(0, 200))))
    return values.Temper(kind, lo, hi)


@st.composite
def holdings(draw: st.DrawFn) -> values.Holding:
    """So many milligrams of any metal."""
    return values.Holding.of(draw(st.integers(1, 10_000_000)), draw(compositions()))


quantities = st.builds(
    values.Quantity,
    st.floats(-1e6, 1e6, allow_nan=False),
    st.sampled_from(sorted(figures.UNITS - {"degC"})),
)
figure_values = st.builds(
    values.Figure,
    st.floats(-1e9, 1e9, allow_nan=False),
    st.sampled_from(sorted(figures.UNITS)),
    st.sampled_from(figures.KNOWN),
    ids,
    st.none() | positives(),
)
saying_values = st.dictionaries(
    ids, st.one_of(quantities, ids, st.integers(-999, 999), st.floats(-1e6, 1e6)), max_size=3
)
sayings = st.builds(values.Saying, ids, saying_values)
origins = st.dictionaries(st.sampled_from(scrap.ORIGINS), fractions(0.01, 1)).map(values.Origin.of)
outlines = st.builds(
    values.Outline,
    st.sampled_from(["strip", "disc", "path"]),
    positives(1000),
    positives(1000),
    st.lists(st.tuples(fractions(0, 99), fractions(0, 99)), max_size=4).map(tuple),
)
names = st.lists(ids, max_size=3).map(tuple)
flags = st.dictionaries(ids, st.sampled_from(scrap.FLAG_ANSWERS), max_size=3)
bands = st.tuples(positives(300), positives(300)).map(lambda pair: (min(pair), max(pair)))
cash = st.builds(values.Money, prices, st.sampled_from(["QMF", "GBP", "EUR"]))
promises = st.builds(
    values.Promise,
    ids,
    fractions(0.5, 0.9999),
    st.sampled_from(["heat", "plan"]),
    st.sampled_from(heat.COURSES),
)
charge_lines = st.builds(
    values.ChargeLine,
    ids,
    st.sampled_from(["lot", "addition", "bar"]),
    st.sampled_from(scrap.FORMS),
    masses_g(),
    compositions(),
)


def lots(**fixed: Any) -> st.SearchStrategy[values.Lot]:
    """A bag of metal; name a field to hold it fixed."""
    wanted = {
        "id": ids,
        "owner": ids,
        "main": st.sampled_from(scrap.METALS),
        "form": st.sampled_from(scrap.FORMS),
        "mass_g": masses_g(),
        "shape": st.none() | sections(),
        "length_mm": st.none() | positives(1000),
        "temper": st.none() | tempers(),
        "stated": st.none() | compositions(),
        "solder_share": st.tuples(fractions(0, 0.1), fractions(0, 0.05)),
        "flags": flags,
        "origin": origins,
        "received_on": st.none() | days,
        "price_paid": st.none() | prices,
        "parents": names,
    }
    return st.builds(values.Lot, **{**wanted, **fixed})


@st.composite
def belief_sets(draw: st.DrawFn) -> values.BeliefSet:
    """What is believed of up to four bodies under two shared factors."""
    rows = draw(st.integers(0, 4))
    small, pair = fractions(0, 0.05), st.tuples(fractions(), fractions(0, 0.05))

    def each(strategy: st.SearchStrategy[Any]) -> tuple[Any, ...]:
        return tuple(draw(strategy) for _ in range(rows))

    other = st.dictionaries(st.sampled_from(["Cu", "Zn"]), st.tuples(small, small, small))
    return values.BeliefSet(
        tuple(f"L{n}" for n in range(rows)), "Ag", each(compositions()), each(small),
        ("gun", "stamp"), each(st.tuples(small, small)), each(other), each(pair), each(small), "x",
    )  # fmt: skip


@st.composite
def workshops(draw: st.DrawFn) -> values.Workshop:
    """A small shop with one of each tool that a test may want to read back."""
    return values.Workshop(
        "shop", draw(ids), "house", {"house": "Quillmarsh Bench", "ada": "Ada"}, draw(days),
        furnaces=(draw(value_of(values.Furnace)),),
        moulds=(draw(value_of(values.Mould)),),
        mills=(draw(value_of(values.Mill)),),
        drawplates=(draw(value_of(values.DrawPlate)),),
        instruments=(draw(value_of(values.Instrument)),),
        additions=(draw(value_of(values.Addition)),),
        consents=(draw(value_of(values.Consent)),),
        prices=draw(st.none() | value_of(values.Prices)),
        table_overrides={"hand": {"mass": {"step": 0.001}}},
    )  # fmt: skip


_SPECIAL: dict[type, st.SearchStrategy[Any]] = {}


def value_kinds() -> tuple[type, ...]:
    """Every shared value class that `value_of` can make."""
    return tuple(_special())


def value_of(kind: type) -> st.SearchStrategy[Any]:
    """Any value of a class."""
    return _special()[kind]


def _special() -> dict[type, st.SearchStrategy[Any]]:
    if not _SPECIAL:
        _SPECIAL.update(_what_is_said() | _what_is_had() | _what_is_worked() | _what_is_used())
    return _SPECIAL


def _what_is_said() -> dict[type, st.SearchStrategy[Any]]:
    place, grade = st.sampled_from(figures.CAUTION_PLACES), st.sampled_from(["law", "practice"])
    grades, number = st.sampled_from(figures.OBJECTION_GRADES), st.none() | st.floats(-9e9, 9e9)
    status, stopped = st.sampled_from(proof.STATUSES), st.sampled_from(proof.STOPPED_BY)
    counts = st.integers(0, 10**6)
    bill_kinds = st.sampled_from(money.BILL_KINDS)
    return {
        values.Quantity: quantities,
        values.Figure: figure_values,
        values.Saying: sayings,
        values.Objection: st.builds(
            values.Objection, ids, ids, grades, saying_values, st.none() | sayings
        ),
        values.Caution: st.builds(values.Caution, ids, place, grade, ids, saying_values),
        values.Proof: st.builds(
            values.Proof, status, number, number, number, counts, stopped, counts, ids
        ),
        values.Money: cash,
        values.BillLine: st.builds(values.BillLine, bill_kinds, prices, ids, cash, ids),
    }


def _what_is_had() -> dict[type, st.SearchStrategy[Any]]:
    allows = st.sampled_from([*scrap.CONSENTS, "mix_with:Ada"])
    shares = st.dictionaries(st.sampled_from(["Ag", "Cu"]), fractions(), min_size=1)
    grams = st.none() | masses_g()
    return {
        values.Composition: compositions(),
        values.Origin: origins,
        values.Consent: st.builds(
            values.Consent, ids, ids, allows, days, grams, st.none() | ids, names, st.none()
        ),
        values.Reading: st.builds(
            values.Reading, ids, ids, ids, shares, ids, st.none() | positives(30),
            sd_own=st.none() | fractions(), taken_on=st.none() | days, withdrawn=st.booleans(),
        ),
        values.Lot: lots(),
        values.BeliefSet: belief_sets(),
        values.Addition: st.builds(
            values.Addition, ids, compositions(), fractions(), prices, ids, grams, origin=origins
        ),
        values.Holding: holdings(),
        values.Standard: st.builds(
            values.Standard, ids, ids, st.sampled_from(scrap.METALS), fractions(), ids,
            limits=shares, valid_from=st.none() | days, valid_to=st.none() | days,
        ),
        values.Promise: promises,
        values.HeatOrder: st.builds(
            values.HeatOrder, ids, ids, promises, masses_g(1, 99), masses_g(100, 999), names
        ),
        values.ChargeLine: charge_lines,
        values.Charge: st.builds(
            values.Charge, ids, ids, st.lists(charge_lines, max_size=3).map(tuple),
            compositions(), fractions(), fractions(), st.tuples(masses_g(), fractions()),
        ),
    }  # fmt: skip


def _what_is_worked() -> dict[type, st.SearchStrategy[Any]]:
    faults = st.builds(values.BarFault, st.sampled_from(stock.FAULT_KINDS), st.none() | fractions())
    sizes = st.dictionaries(ids, st.one_of(ids, positives(99)), max_size=3)
    return {
        values.Section: sections(),
        values.Temper: tempers(),
        values.BarFault: faults,
        values.Bar: st.builds(
            values.Bar, ids, ids, st.sampled_from(stock.BAR_KINDS), compositions(), fractions(),
            sections(), positives(5000), masses_g(), st.none() | ids, st.none() | sections(),
            st.integers(0, 9), origins, names, st.lists(faults, max_size=2).map(tuple),
        ),
        values.IngotNeed: st.builds(
            values.IngotNeed, ids, bands, st.integers(1, 9), ids, ids, ids,
            st.lists(sections(), max_size=2).map(tuple),
        ),
        values.Outline: outlines,
        values.StockNeed: st.builds(
            values.StockNeed, ids, sections(), ids, ids, names, st.none() | positives(9999),
            st.none() | bands, st.integers(1, 9), st.none() | tempers(),
        ),
        values.Blank: st.builds(
            values.Blank, ids, outlines, sections(), masses_g(),
            st.dictionaries(ids, fractions(0, 5), max_size=2),
        ),
        values.OrderLine: st.builds(
            values.OrderLine, ids, ids, ids, st.sampled_from(stock.WHATS), st.integers(1, 400),
            sizes, ids, st.none() | days, st.none() | ids, st.none() | tempers(), names,
        ),
    }  # fmt: skip


def _what_is_used() -> dict[type, st.SearchStrategy[Any]]:
    size = positives(1e5)
    per_gram = st.dictionaries(st.sampled_from(["Ag", "Au"]), prices, min_size=1)
    stock_prices = st.builds(values.StockPrice, ids, ids, prices, prices)
    return {
        values.Furnace: st.builds(
            values.Furnace, ids, size, size, st.dictionaries(ids, figure_values, max_size=2), names
        ),
        values.Torch: st.builds(values.Torch, ids, size, size, size, ids, names),
        values.Crucible: st.builds(
            values.Crucible, ids, ids, st.sampled_from(["graphite", "ceramic"]), size, size
        ),
        values.Mould: st.builds(
            values.Mould, ids, st.sampled_from(kit.MOULD_KINDS), sections(), size, size,
            st.integers(1, 6), fractions(0.1, 2), figure_values, ids, bands,
        ),
        values.Mill: st.builds(values.Mill, ids, *[size] * 7),
        values.Grooves: st.builds(values.Grooves, ids, ids, st.lists(size, max_size=4).map(tuple)),
        values.DrawPlate: st.builds(
            values.DrawPlate, ids, st.lists(sections(), max_size=3).map(tuple),
            st.dictionaries(st.sampled_from("0123"), size, max_size=2),
        ),
        values.DrawBench: st.builds(values.DrawBench, ids, size, size),
        values.Saw: st.builds(values.Saw, ids, size, size, st.booleans()),
        values.Balance: st.builds(values.Balance, ids, size, size, size, st.none() | days),
        values.Instrument: st.builds(values.Instrument, ids, ids, size, prices, st.booleans()),
        values.HouseRules: st.builds(
            values.HouseRules, allowances=st.dictionaries(ids, fractions(), max_size=2)
        ),
        values.StockPrice: stock_prices,
        values.Prices: st.builds(
            values.Prices, ids, days, per_gram, per_gram, prices,
            st.lists(stock_prices, max_size=2).map(tuple),
        ),
        values.Workshop: workshops(),
    }  # fmt: skip
