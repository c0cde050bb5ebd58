"""`lemel mill` as one asks it at the bench: starts, cracks, readings, refusals with a way out."""

from __future__ import annotations

import tomllib

import pytest

from lemel.demo import examples

WIRE = examples() / "mill.toml"
STARTS = examples() / "mill_starts.toml"
MEASURED = examples() / "mill_measured.toml"


@pytest.fixture
def asked(tmp_path):
    """The example with other tables in the place of its own."""

    def write(bar: str, need: str) -> object:
        text = WIRE.read_text("utf-8")
        tools = text[text.index("[[mill]]") :]
        path = tmp_path / "asked.toml"
        path.write_text(f'format = "lemel-mill 1"\n{bar}\n{need}\n{tools}', "utf-8")
        return path

    return write


def bar(section: str, length: float, mass: float, more: str = "") -> str:
    return (
        f'[bar]\nid = "bar 1"\ncomposition = {{ Ag = 925, Cu = 75 }}\nsection = "{section}"\n'
        f"length_mm = {length}\nmass_g = {mass}\n{more}"
    )


def need(section: str, more: str) -> str:
    return f'[need]\nsection = "{section}"\n{more}'


PLATE = bar("flat 5 x 40 mm", 80, 166)
WIDE = bar("flat 5 x 90 mm", 150, 690)
REFUSALS = {
    "mill.sheet.wider_than_barrel": (
        WIDE,
        need("flat 0.4 x 160 mm", "area_mm = [200, 160]"),
        "barrel is 120 mm",
        "Roll narrower sheets",
    ),
    "mill.sheet.below_least_gauge": (
        PLATE, need("flat 0.1 x 38 mm", "area_mm = [60, 38]"), "least that they still reduce",
        "roll it in a pack",
    ),
    "mill.temper.thicker_start": (
        bar("flat 1 x 40 mm", 100, 41.4, 'soft_section = "flat 1 x 40 mm"'),
        need("flat 0.9 x 36 mm", 'area_mm = [80, 36]\ntemper = "0.20 to 0.27 strain"'),
        "must be soft at 1.1 mm", "Start from 1.1 mm or thicker",
    ),
    "mill.bar.too_short": (
        bar("flat 1.5 x 20 mm", 80, 24.8, 'soft_section = "flat 1.5 x 20 mm"'),
        need("flat 1.2 x 6 mm", "length_mm = 200"), "is wanted in one piece", "longer or thicker",
    ),
    "mill.bar.too_light": (
        bar("square 6 mm", 60, 22.4), need("round 1 mm", "length_mm = 3000"), "is missing",
        "Make it of two bars",
    ),
    "mill.hole.missing": (
        bar("square 6 mm", 90, 33.6), need("round 0.42 mm", "length_mm = 1000"),
        "No hole of the drawplate", "Take the hole of",
    ),
    "mill.temper.out_of_reach": (
        PLATE, need("flat 0.9 x 38 mm", 'area_mm = [60, 38]\ntemper = "210 to 230 HV"'),
        "not made so hard", "Ask for no more than",
    ),
    "mill.bar.too_thin": (
        bar("flat 0.8 x 40 mm", 100, 33.1, 'soft_section = "flat 0.8 x 40 mm"'),
        need("flat 1 x 36 mm", "area_mm = [60, 36]"), "rolling only makes it thinner",
        "Take a bar of 1 mm or more",
    ),
}  # fmt: skip


@pytest.mark.parametrize("code", REFUSALS)
def test_a_refusal_names_the_limit_and_the_way_out(lemel, asked, code):
    start, wanted, limit, way = REFUSALS[code]
    path = asked(start, wanted)
    heard = lemel("mill", path)
    assert heard.code == 3
    words = " ".join(heard.out.split())
    assert limit in words
    assert way in words
    data = lemel("mill", path, "--json").data
    assert code in {one["code"] for one in data["objections"]}
    assert data["status"] == "infeasible"
    assert data["ways_out"]


def test_a_sheet_too_wide_for_the_rolls_is_hammered_and_the_limit_named_all_the_same(lemel, asked):
    data = lemel(
        "mill", asked(WIDE, need("flat 1 x 160 mm", "area_mm = [200, 160]")), "--json"
    ).data
    assert "hammer" in {one["tool"] for one in data["steps"]}
    note = next(o for o in data["objections"] if o["code"] == "mill.sheet.wider_than_barrel")
    assert "120" in note["text"]
    assert "Roll narrower sheets" in note["do"]


def test_of_several_bars_each_gets_a_verdict_and_the_quickest_that_does_is_taken(lemel):
    data = lemel("mill", STARTS, "--json").data
    verdicts = {one["bar"]: one for one in data["starts"]}
    assert data["start"] == "ingot 7"
    assert data["steps"][0]["tool"] == "file"
    codes = {name: {o["code"] for o in one["objections"]} for name, one in verdicts.items()}
    assert codes["remnant 1.5"] == {"mill.bar.too_short"}
    assert codes["thin strip"] == {"mill.bar.too_thin"}
    assert codes["old bangle"] == {"mill.bar.too_narrow"}
    assert codes["short end"] == {"mill.bar.too_light"}
    assert 0.4 < verdicts["short end"]["serves"] < 0.5
    assert verdicts["ingot 7"]["yield_share"] > 0.95
    words = lemel("mill", STARTS).out
    assert "taken: the quickest" in words
    assert "rolling only makes it" in words


def test_where_no_start_will_do_all_reasons_and_ways_out_are_told(lemel, tmp_path):
    text = STARTS.read_text("utf-8").replace("length_mm = 200\ntemper", "length_mm = 2000\ntemper")
    path = tmp_path / "long.toml"
    path.write_text(text, "utf-8")
    heard = lemel("mill", path, "--json")
    assert heard.code == 3
    assert heard.data["start"] is None
    assert len(heard.data["starts"]) == 5
    assert heard.data["ways_out"]
    assert "None of these" in lemel("mill", path).out


def test_what_a_bench_has_measured_is_learnt_and_planned_with(lemel, tmp_path):
    learnt = lemel("mill", MEASURED, "--json").data
    assert learnt["learnt"]["pace"]["value"] == pytest.approx(1.27, abs=0.01)
    assert learnt["learnt"]["lead"]["value"] == pytest.approx(0.755, abs=0.001)
    assert 50_000 < learnt["learnt"]["stand"]["modulus_n_mm"] < 150_000
    assert learnt["learnt"]["spread"]["readings"] == 3
    assert learnt["steps"][0]["hv"] == pytest.approx(74, abs=0.01)
    text = MEASURED.read_text("utf-8")
    path = tmp_path / "plain.toml"
    path.write_text(text[: text.index("# Width before")], "utf-8")
    plain = lemel("mill", path, "--json").data
    assert "learnt" not in plain
    assert learnt["minutes"] > 1.1 * plain["minutes"]
    words = lemel("mill", MEASURED).out
    for key in ("spread_factor =", "modulus_n_mm =", "lead_mm =", "pace ="):
        assert key in words
    assert "measure yours" in lemel("mill", path).out
    assert "measure yours" not in words


def test_the_figures_that_are_printed_are_read_as_they_stand(lemel, tmp_path):
    text = MEASURED.read_text("utf-8")
    path = tmp_path / "kept.toml"
    kept = text[: text.index("# Width before")].replace("[bar]", "pace = 1.27\n[bar]")
    path.write_text(kept, "utf-8")
    assert tomllib.loads(kept)["pace"] == 1.27
    plain = lemel("mill", path, "--json").data
    assert plain["minutes"] > 0


@pytest.mark.parametrize(
    ("readings", "named"),
    [
        ("[[measured.screw]]\nturns = 1\ngap_mm = 2\n", "measured.screw"),
        ("[[measured.width]]\nh_in_mm = 3\nwidth_in_mm = 3\nh_out_mm = 2\nwidth_out_mm = 3.2\n",
         "measured.width"),
        ("[measured]\nmill = 'another'\n", "measured.mill"),
        ("[[measured.hardness]]\nreduced_percent = 120\nhv = 100\n", "reduced_percent"),
    ],
)  # fmt: skip
def test_readings_that_teach_nothing_are_refused_by_name(lemel, tmp_path, readings, named):
    text = MEASURED.read_text("utf-8")
    path = tmp_path / "few.toml"
    path.write_text(text[: text.index("# Width before")] + readings, "utf-8")
    heard = lemel("mill", path)
    assert heard.code == 2
    assert named in heard.err


def test_a_crack_brings_what_to_cut_what_it_says_and_the_new_route_in_one_go(lemel):
    asked = ("mill", WIRE, "--crack", "cross", "--after", 7, "--place", 60, "--depth", 1)
    data = lemel(*asked, "--json").data
    crack = data["crack"]
    assert crack["kind"] == "cross"
    assert crack["offcuts"][0]["mass_g"] > 0
    assert not crack["suspect"]
    worked = [one for one in data["steps"] if one["tool"] != "file"]
    assert worked[0]["tool"] == "anneal"
    parts = crack["bar"]["mass_g"] + sum(o["mass_g"] for o in crack["offcuts"]) + crack["loss_g"]
    assert parts == pytest.approx(33.6 - 0.336, rel=1e-3)
    words = " ".join(lemel(*asked).out.split())
    for part in ("Saw the cracked piece out", "Anneal sooner", "What the crack says", "goes on",
                 "From here on"):  # fmt: skip
        assert part in words


def test_a_crack_in_the_bar_as_it_was_measured_needs_no_step(lemel, asked):
    start = bar("flat 2 x 40 mm", 120, 99.4, 'kind = "working"\nsoft_section = "flat 3 x 40 mm"')
    wanted = need("flat 0.9 x 30 mm", "area_mm = [200, 30]")
    data = lemel("mill", asked(start, wanted), "--crack", "edge", "--depth", 1, "--json").data
    assert data["crack"]["bar"]["section"]["dims_mm"][1][1] == pytest.approx(40 - 2 * 1.5)
    assert data["crack"]["suspect"]
    said = {one["code"] for one in data["crack"]["says"]}
    assert said == {"mill.crack.says.edge", "mill.crack.says.heat"}


def test_a_crack_in_metal_of_which_nobody_knows_says_nothing_sure_of_its_heat(lemel, asked):
    start = bar("flat 2 x 40 mm", 120, 99.4, 'kind = "working"')
    wanted = need("flat 0.9 x 30 mm", "area_mm = [200, 30]")
    data = lemel("mill", asked(start, wanted), "--crack", "edge", "--depth", 1, "--json").data
    assert {one["code"] for one in data["crack"]["says"]} == {"mill.crack.says.unknown"}
    assert not data["crack"]["suspect"]


def test_too_deep_a_blister_ends_the_bar_with_the_advice(lemel):
    heard = lemel("mill", WIRE, "--crack", "blister", "--after", 7, "--depth", 2, "--json")
    assert heard.code == 3
    assert heard.data["crack"]["bar"] is None
    assert heard.data["crack"]["do"][0]["code"] == "mill.crack.remelt"


@pytest.mark.parametrize(
    ("options", "named"),
    [
        (("--crack", "scratch", "--depth", 1), "--crack"),
        (("--crack", "edge"), "--depth"),
        (("--depth", 1), "--crack"),
        (("--crack", "cross", "--depth", 1), "--place"),
        (("--crack", "edge", "--after", 99, "--depth", 1), "--after"),
        (("--crack", "edge", "--after", 2.5, "--depth", 1), "--after"),
        (("--crack", "edge", "--after", 6, "--depth", 50), "--depth"),
        (("--crack", "cross", "--after", 6, "--depth", 1, "--place", 5000), "--place"),
    ],
)
def test_a_crack_that_cannot_be_is_refused_by_its_option(lemel, options, named):
    heard = lemel("mill", WIRE, *options)
    assert heard.code == 2
    assert heard.err.startswith(named)


def test_what_is_proven_is_told_for_the_grid_and_for_all_sizes(lemel):
    plain, proven = (lemel("mill", WIRE, *more, "--json").data for more in ((), ("--prove",)))
    assert plain["fewest_over"] == "settings"
    assert plain["fewest_gap"] == 0
    assert proven["fewest_over"] == "all_sizes"
    assert 0 <= proven["fewest_gap"] <= 2
    words = [" ".join(lemel("mill", WIRE, *more).out.split()) for more in ((), ("--prove",))]
    assert "--prove looks for that" in words[0]
    assert "Over all sizes whatever" in words[1]


def test_the_hardness_along_the_way_is_drawn_where_asked(lemel, tmp_path):
    path = tmp_path / "hard.svg"
    data = lemel("mill", WIRE, "--plot", path, "--json").data
    assert data["plot"] == str(path)
    assert path.read_text("utf-8").lstrip().startswith("<")
    assert lemel("mill", WIRE, "--plot", tmp_path / "hard.png").code == 2


def test_a_bar_worked_but_never_annealed_goes_on_where_it_stands(lemel, asked):
    start = bar("flat 4.4 x 40 mm", 90, 164, 'kind = "working"\ncast_section = "flat 5 x 40 mm"')
    wanted = need("flat 0.9 x 38 mm", "area_mm = [250, 38]")
    first = lemel("mill", asked(start, wanted), "--json").data["steps"][0]
    assert first["tool"] == "flats"
    unknown = start.replace('cast_section = "flat 5 x 40 mm"', "")
    assert lemel("mill", asked(unknown, wanted), "--json").data["steps"][0]["tool"] == "anneal"
