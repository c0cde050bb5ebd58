"""The plots of one alloy say what the metal room says, and their names stand free."""

from __future__ import annotations

import importlib.util
import math
import re
import subprocess
import sys
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree

import pytest

from lemel.errors import BadInput
from lemel.metal import liquid_fraction as liquid_at
from lemel.metal import melting
from lemel.quantities import Preference
from lemel.sketch import alloy_section, cold_work, liquid_fraction, stacked
from lemel.values import Composition

OF = Composition.from_millesimal
STERLING, GOLD = OF({"Ag": 925, "Cu": 75}), OF({"Au": 750, "Ag": 125, "Cu": 125})
#: From a eutectic to a pure metal, a sheet's step, a film of lead and an undeclared rest.
ALLOYS = {
    "sterling": STERLING,
    "gold": GOLD,
    "pure": OF({"Ag": 1000}),
    "white": OF({"Au": 585, "Pd": 160, "Ag": 255}),
    "brass": OF({"Cu": 650, "Zn": 350}),
    "lead": OF({"Ag": 925, "Cu": 70, "Pb": 5}),
    "rest": Composition.of({"Ag": 0.925}, 0.075),
}
DOCS = Path(__file__).resolve().parents[2] / "docs"
_PX_PER_MM = 72 / 25.4


def texts_of(svg: str) -> list[tuple[str, float, float, str]]:
    """Words of a drawing: text, x and y in points, their style."""
    found = re.findall(
        r'<text style="([^"]*)" x="([-\d.]+)" y="([-\d.]+)"[^>]*>([^<]+)</text>', svg
    )
    assert found
    return [(text, float(x), float(y), style) for style, x, y, text in found]


def boxes_of(svg: str) -> list[tuple[str, float, float, float, float]]:
    """Words with the paper they take up, by the width of the plots' own type."""
    boxes = []
    for text, x, y, style in texts_of(svg):
        anchor = re.search(r"text-anchor: (\w+)", style)[1]
        size = float(re.search(r"font-size: ([\d.]+)px", style)[1])
        wide = 0.5 * size * len(text)
        left = x - {"start": 0.0, "middle": wide / 2, "end": wide}[anchor]
        boxes.append((text, left, left + wide, y - 7.0, y + 2.0))
    return boxes


@pytest.mark.parametrize("name", ALLOYS)
@pytest.mark.parametrize("kind", [alloy_section, liquid_fraction])
def test_no_word_lies_on_another(name, kind):
    boxes = boxes_of(kind(ALLOYS[name]).svg)
    for i, (one, left, right, top, bottom) in enumerate(boxes):
        for other, left2, right2, top2, bottom2 in boxes[i + 1 :]:
            apart = right <= left2 or right2 <= left or bottom <= top2 or bottom2 <= top
            assert apart, f"{one!r} on {other!r}"


@pytest.mark.parametrize("name", ALLOYS)
def test_every_line_of_a_section_is_named_and_nothing_is_outside_the_sheet(name):
    drawn = alloy_section(ALLOYS[name])
    words = {text for text, *_ in texts_of(drawn.svg)}
    assert {"liquidus", "solidus, worked", "solidus, as cast"} <= words
    assert all(
        left >= 0 and right <= drawn.width_mm * _PX_PER_MM
        for text, left, right, *_ in boxes_of(drawn.svg)
        if not text[0].isdigit()
    )


@pytest.mark.parametrize("kind", [alloy_section, liquid_fraction])
def test_head_and_words_for_the_blind_give_the_metal_room_s_figures(kind):
    drawn, found = kind(STERLING), melting(STERLING)
    for figure in (found.liquidus_c, found.solidus_c, found.segregated_solidus_c):
        assert f"{figure:.0f} °C" in drawn.svg
        assert f"{figure:.0f} °C" in drawn.alt
    assert f"{found.band_k:.0f} K" in drawn.svg


def test_what_melts_at_once_has_no_range():
    assert "Melts at 962 °C;" in alloy_section(ALLOYS["pure"]).svg
    assert "Melts from" in alloy_section(STERLING).svg


def test_the_three_lines_have_three_styles_and_the_band_is_hatched():
    svg = alloy_section(STERLING).svg
    assert len(set(re.findall(r"stroke-dasharray: ([\d., ]+)", svg))) == 2
    assert "<pattern" in svg


def test_a_temperature_is_a_level_with_its_figure():
    plain, at = alloy_section(STERLING), alloy_section(STERLING, at_c=850)
    assert "850 °C" not in {text for text, *_ in texts_of(plain.svg)}
    assert "850 °C" in {text for text, *_ in texts_of(at.svg)}


@pytest.mark.parametrize("wrong", [math.nan, math.inf])
def test_a_temperature_that_is_none_is_bad_input(wrong):
    with pytest.raises(BadInput) as told:
        alloy_section(STERLING, at_c=wrong)
    assert told.value.field == "at_c"


def test_a_reader_in_fahrenheit_gets_fahrenheit_but_a_band_in_kelvin():
    svg = alloy_section(STERLING, units=Preference(temperature="degF")).svg
    assert "1645 °F" in svg
    assert "°C" not in svg


def test_the_curve_of_liquid_runs_where_the_metal_room_says():
    """Read back off the drawing: the broken line at 850 degC, between the ticks of the axes."""
    svg = liquid_fraction(STERLING).svg
    ticks = {text: (x, y) for text, x, y, _ in texts_of(svg) if text.isdigit()}
    per_k = (ticks["880"][0] - ticks["800"][0]) / 80
    wanted = ticks["800"][0] + 50 * per_k
    up = (ticks["0"][1] - ticks["100"][1]) / 100
    line = next(
        re.findall(r"[ML] ([\d.]+) ([\d.]+)", path)
        for path, style in re.findall(r'<path d="([^"]+)"[^>]*style="([^"]+)"', svg)
        if "stroke-dasharray: 8" in style
    )
    points = [(float(x), float(y)) for x, y in line]
    floor = max(y for _, y in points)
    (x0, y0), (x1, y1) = next(
        (one, two) for one, two in pairwise(points) if one[0] <= wanted < two[0]
    )
    read = (floor - (y0 + (y1 - y0) * (wanted - x0) / (x1 - x0))) / up
    assert read == pytest.approx(100 * liquid_at(STERLING, 850), abs=0.5)


def test_a_sheet_holds_its_drawings_whole_and_no_name_twice():
    parts = [alloy_section(STERLING), liquid_fraction(STERLING)]
    sheet = stacked(parts)
    root = ElementTree.fromstring(sheet.svg)
    names = re.findall(r'\bid="([^"]+)"', sheet.svg)
    assert len(names) == len(set(names))
    assert set(re.findall(r'(?:url\(#|href="#)([^")]+)', sheet.svg)) <= set(names)
    assert sheet.height_mm == sum(part.height_mm for part in parts)
    assert len(root.findall("{http://www.w3.org/2000/svg}svg")) == 2
    assert root.find("{http://www.w3.org/2000/svg}title").text == sheet.alt


def test_harder_alloys_lie_higher_and_each_is_named():
    svg = cold_work((STERLING, GOLD)).svg
    at = {text: y for text, _, y, _ in texts_of(svg)}
    assert at["Au 750, Ag 125, Cu 125"] < at["Ag 925, Cu 75"]
    assert "anneal by here" in at


def test_the_same_alloy_is_drawn_the_same_in_black_and_grey():
    program = (
        "from lemel.sketch import cold_work, liquid_fraction, stacked;"
        "from lemel.values import Composition; import hashlib;"
        "body = Composition.from_millesimal({'Ag': 900, 'Au': 100});"
        "svg = stacked([cold_work([body]), liquid_fraction(body)]).svg;"
        "print(hashlib.sha256(svg.encode()).hexdigest())"
    )
    runs = {
        subprocess.run(
            [sys.executable, "-c", program],
            capture_output=True, text=True, check=True, env={"PYTHONHASHSEED": str(seed)},
        ).stdout
        for seed in (1, 2)
    }  # fmt: skip
    assert len(runs) == 1
    for drawn in (alloy_section(STERLING, at_c=850), liquid_fraction(GOLD)):
        for colour in re.findall(r"#([0-9a-f]{6})\b", drawn.svg):
            assert len({colour[i : i + 2] for i in (0, 2, 4)}) == 1


def _apart(svg: str) -> tuple[str, list[float]]:
    """An SVG's words and its numbers, apart."""
    number = r"-?\d+\.\d+"
    return re.sub(number, "#", svg), [float(one) for one in re.findall(number, svg)]


def test_the_plots_of_the_page_are_those_that_its_script_makes():
    spec = importlib.util.spec_from_file_location("metal_plots", DOCS / "metal_plots.py")
    script = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(script)
    page = (DOCS / "metal.md").read_text("utf-8")
    made = {name: stacked([drawing]).svg for name, drawing in script.plots()}
    assert set(made) == {path.name for path in DOCS.glob("metal_*.svg")}
    for name, svg in made.items():
        kept_words, kept = _apart((DOCS / name).read_text("utf-8"))
        words, numbers = _apart(svg)
        assert words == kept_words, f"{name}: run docs/metal_plots.py"
        # Another processor's last bit may turn a last digit.
        assert numbers == pytest.approx(kept, abs=2e-3), f"{name}: run docs/metal_plots.py"
        assert f"]({name})" in page
