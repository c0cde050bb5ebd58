"""Nothing heavy is loaded before it is needed."""

from __future__ import annotations

import re
import subprocess
import sys

import pytest

from tests.house.reading import HOUSE, agree, tracked_files

HEAVY = {"numpy", "scipy", "matplotlib", "highspy", "typst", "shapely", "ezdxf", "rich"}
#: Linked to, but still to be made.
NOT_YET: set[str] = set()


@pytest.mark.parametrize(
    "rooms",
    [
        "lemel.quantities, lemel.values, lemel.tables, lemel.words",
        "lemel.files",
        "lemel.cli",
    ],
)
def test_the_light_rooms_load_nothing_heavy(rooms: str):
    ask = f"import {rooms}; import sys; print(*sys.modules)"
    done = subprocess.run([sys.executable, "-c", ask], capture_output=True, text=True, check=True)
    assert HEAVY & {name.split(".")[0] for name in done.stdout.split()} == set()


def test_every_link_between_pages_leads_somewhere():
    pages = [path for path in tracked_files() if path.suffix == ".md"]
    links = {
        (page, target.split("#")[0])
        for page in pages
        for target in re.findall(r"\]\(([^)\s]+)\)", page.read_text("utf-8"))
        if "://" not in target and not target.startswith("#")
    }
    dead = {
        (page.relative_to(HOUSE).as_posix(), target)
        for page, target in links
        if not (page.parent / target).exists()
        and (page.parent / target).resolve().relative_to(HOUSE).as_posix() not in NOT_YET
    }
    agree(f"{page}: {target}" for page, target in dead)


def test_what_was_still_to_be_made_is_still_missing():
    assert not {name for name in NOT_YET if (HOUSE / name).exists()}
