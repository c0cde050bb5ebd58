"""The page about files names every key of every file."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from lemel.files import (
    cutting,
    evidence,
    fire,
    fire_day,
    furnace_log,
    heats,
    lots,
    milling,
    orders,
    workshop,
)
from lemel.files.keys import Key

PAGE = (Path(__file__).resolve().parents[2] / "docs" / "files.md").read_text("utf-8")
SHAPES = {
    "workshop.toml": workshop.WORKSHOP_KEYS,
    "bars": workshop.BAR_KEYS,
    "prices.toml": workshop.PRICE_KEYS,
    "lots.csv": lots.LOT_KEYS,
    "readings.csv": lots.READING_KEYS,
    "orders.toml": (*orders.ORDER_KEYS, *orders.LINE_KEYS),
    "believe": (*evidence.BELIEVE_LOT_KEYS, *evidence.BELIEVE_HEAT_KEYS),
    "believe readings": evidence.BELIEVE_READING_KEYS,
    "correct": (*heats.POT_KEYS, *heats.ASSAY_KEYS, *heats.PLANNED_KEYS, *heats.CLEAN_KEYS),
    "melt": (*fire.MELT_KEYS, *fire.CHARGE_KEYS, *fire.INSPECTION_KEYS),
    "day": (*fire_day.DAY_KEYS, *fire_day.DAY_HEAT_KEYS),
    "tend": fire_day.TEND_KEYS,
    "pour": fire.POUR_KEYS,
    "mill": (*milling.MILL_KEYS, *milling.NEED_KEYS, *milling.MEASURED_KEYS),
    "mill readings": tuple(key for keys in milling.READING_KEYS.values() for key in keys),
    "cut": cutting.CUT_KEYS,
    "calibrate": (
        *furnace_log.CALIBRATE_KEYS,
        *furnace_log.LOG_KEYS,
        *furnace_log.NEXT_HEAT_KEYS,
    ),
}


def _named(key: Key) -> bool:
    """In code quotes, alone or as the head of a table."""
    return re.search(rf"`\[{{0,2}}(\w+\.)*{key.name}\]{{0,2}}(\W[^`]*)?`", PAGE) is not None


@pytest.mark.parametrize("shape", SHAPES)
def test_every_key_of_a_file_is_on_the_page(shape):
    assert not [key.name for key in SHAPES[shape] if not _named(key)]


def test_every_size_of_every_piece_is_on_the_page():
    for what, sizes in orders.SIZE_KEYS.items():
        assert f"`{what}`" in PAGE
        assert not [name for name in sizes if f"`{name}`" not in PAGE]


def test_every_format_is_on_the_page():
    plan = ("workshop", "lots", "readings", "orders", "prices", "plan")
    for name in (
        *plan,
        *"believe blend-instance correct melt tend day calibrate pour mill cut".split(),
    ):
        assert f'format = "lemel-{name} 1"' in PAGE
