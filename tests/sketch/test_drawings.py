"""Every drawing is black on white, has its size and words, and is the same each time."""

from __future__ import annotations

import re
import subprocess
import sys
from xml.etree import ElementTree

import pytest

from lemel.plan import Plan
from lemel.quantities import Preference
from lemel.sketch import (
    Drawing,
    fineness_ruler,
    full_size,
    hardness,
    melt_curve,
    mould_fill,
    silver_copper,
    way,
)

HEX = re.compile(r"#([0-9a-fA-F]{6}|[0-9a-fA-F]{3})\b")
NAMED = {"black", "white", "none"}


def drawings_of(plan: Plan) -> dict[str, Drawing]:
    found: dict[str, Drawing | None] = {"way": way(plan), "section": silver_copper()}
    moulds = {mould.id: mould for mould in plan.moulds}
    for heat in plan.heats:
        found[f"melt {heat.id}"] = melt_curve(heat.melt)
        found[f"ruler {heat.id}"] = fineness_ruler(0.925, heat.blend.mean, heat.blend.sd)
        for pour in heat.pours:
            for casting in pour.castings:
                drawn = mould_fill(casting, moulds.get(casting.mould))
                found[f"mould {casting.bar.id}"] = drawn
    for work in plan.stock:
        for one in work.bars:
            found[f"hardness {one.bar.id}"] = hardness(one.route, temper=work.need.temper)
        for sheet in work.layout.sheets if work.layout else ():
            drawn_full = full_size(work.layout, sheet.bar, (186, 150))
            parts = [*drawn_full.inline, *(part for page in drawn_full.pages for part in page)]
            for number, drawing in enumerate(parts):
                found[f"layout {sheet.bar} {number}"] = drawing
    return {name: drawing for name, drawing in found.items() if drawing is not None}


@pytest.fixture(scope="module")
def drawings(plan: Plan) -> dict[str, Drawing]:
    return drawings_of(plan)


def test_every_kind_of_drawing_is_made_for_the_month(drawings):
    kinds = {name.split()[0] for name in drawings}
    assert kinds == {"way", "section", "melt", "ruler", "mould", "hardness", "layout"}


def test_a_drawing_is_a_whole_document_of_its_size(drawings):
    for name, drawing in drawings.items():
        root = ElementTree.fromstring(drawing.svg)
        assert root.tag == "{http://www.w3.org/2000/svg}svg", name
        assert float(root.attrib["width"].removesuffix("mm")) == pytest.approx(drawing.width_mm)
        assert float(root.attrib["height"].removesuffix("mm")) == pytest.approx(drawing.height_mm)


def test_there_is_no_colour_but_black_white_and_grey(drawings):
    for name, drawing in drawings.items():
        for colour in HEX.findall(drawing.svg):
            parts = [
                colour[i : i + len(colour) // 3] for i in range(0, len(colour), len(colour) // 3)
            ]
            assert len(set(parts)) == 1, f"{name}: #{colour}"
        for fill in re.findall(r'(?:fill|stroke)[:=] ?"?([a-z]+)\b', drawing.svg):
            assert fill in NAMED | {"url"}, f"{name}: {fill}"


def test_a_drawing_has_words_for_whoever_cannot_see_it(drawings):
    for name, drawing in drawings.items():
        assert drawing.alt.endswith("."), name
        assert "sketch." not in drawing.alt, name


def test_a_drawing_asks_nobody_elsewhere_and_holds_no_date(drawings):
    for name, drawing in drawings.items():
        bare = drawing.svg.replace("http://www.w3.org/", "")
        assert "://" not in bare, name
        assert "<metadata" not in bare, name
        assert not re.search(r"20\d\d-\d\d-\d\dT", bare), name


def test_text_stays_text_in_the_cards_own_type(drawings):
    for name, drawing in drawings.items():
        if name.startswith(("melt", "hardness", "section", "way", "ruler")):
            assert "<text" in drawing.svg, name
        assert "DejaVu" not in drawing.svg, name


def test_the_same_answer_is_drawn_the_same(plan, drawings):
    melt_curve_again = melt_curve(plan.heats[0].melt)
    assert melt_curve_again == drawings[f"melt {plan.heats[0].id}"]
    program = (
        "from lemel.sketch import silver_copper; import hashlib;"
        "print(hashlib.sha256(silver_copper().svg.encode()).hexdigest())"
    )
    runs = {
        subprocess.run(
            [sys.executable, "-c", program],
            capture_output=True, text=True, check=True, env={"PYTHONHASHSEED": str(seed)},
        ).stdout
        for seed in (1, 2)
    }  # fmt: skip
    assert len(runs) == 1


def test_the_plotting_library_is_loaded_only_for_a_curve():
    program = (
        "import sys, lemel.sketch; assert 'matplotlib' not in sys.modules;"
        "lemel.sketch.fineness_ruler(0.925, 0.9267, 0.0007); assert 'matplotlib' not in sys.modules"
    )
    subprocess.run([sys.executable, "-c", program], check=True)


def test_a_reader_in_fahrenheit_gets_a_fahrenheit_axis(plan):
    drawn = melt_curve(plan.heats[0].melt, units=Preference(temperature="degF"))
    assert drawn is not None
    assert "°F" in drawn.svg
    liquidus_f = plan.heats[0].melt.liquidus_c * 9 / 5 + 32
    assert f">{liquidus_f:.0f}<" in drawn.svg
