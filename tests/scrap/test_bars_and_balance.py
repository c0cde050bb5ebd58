"""Bars of own heats, what lies beside the main metal, density, colours."""

from __future__ import annotations

import numpy as np
import pytest

from lemel import metal
from lemel.errors import BadInput
from lemel.scrap import (
    AssayedHeat,
    ScrapProblem,
    believe,
    colour_additions,
    colour_window,
    colours_of,
    density_of,
    fineness_from_density,
    may_join,
    report,
    same_colour,
)
from lemel.tables import shipped
from lemel.values import Composition, Lot, Reading


def gold(**parts: float) -> Composition:
    return Composition.of(parts)


class TestBars:
    def test_a_bar_is_its_heat_and_moves_with_what_is_left_of_its_lots(
        self, silver_lot, covariance
    ):
        lots = (
            silver_lot("A", scrap_class="maker_marked"),
            silver_lot("B", scrap_class="own_offcut"),
            silver_lot("bar", None, form="bar", scrap_class="own_melt", parents=("H",)),
        )
        heat = AssayedHeat("H", (("A", 50.0), ("B", 49.0)), 0.0, 99.0)
        answer = believe(ScrapProblem(lots, (), (heat,)))
        cov, share = covariance(answer), np.array([50 / 99, 49 / 99])
        assert answer.beliefs.own_sd[2] == 0.0
        assert cov[2, 2] == pytest.approx(share @ cov[:2, :2] @ share, rel=1e-9)
        assert cov[2, :2] == pytest.approx(cov[:2, :2] @ share, rel=1e-9)
        assert answer.heats["H"].sd == pytest.approx(answer.beliefs.sd("bar"), rel=1e-9)

    def test_an_assay_of_the_bar_teaches_its_parents(self, silver_lot, read):
        lots = (
            silver_lot("A", scrap_class="maker_marked"),
            silver_lot("bar", None, form="bar", scrap_class="own_melt", parents=("H",)),
        )
        heat = AssayedHeat("H", (("A", 60.0),), 39.96, 100.0)
        before = believe(ScrapProblem(lots, (), (heat,)))
        dip = read("dip", "bar", "silver-volhard", 949.0)
        after = believe(ScrapProblem(lots, (dip,), (heat,)))
        assert after.beliefs.sd("A") < before.beliefs.sd("A")
        assert after.beliefs.mean[0].fineness("Ag") < before.beliefs.mean[0].fineness("Ag")
        assert report(after, "bar").mean == pytest.approx(949.0, abs=0.3)
        drilled = believe(
            ScrapProblem(
                lots, (read("dip", "bar", "silver-volhard", 949.0, sample="drill"),), (heat,)
            )
        )
        assert drilled.beliefs.sd("bar") > after.beliefs.sd("bar")

    def test_a_bar_melted_again_is_taken_apart_into_its_first_lots(self, silver_lot, covariance):
        lots = (
            silver_lot("A", scrap_class="maker_marked"),
            silver_lot("bar", None, form="bar", scrap_class="own_melt", parents=("H1",)),
            silver_lot("bar2", None, form="bar", scrap_class="own_melt", parents=("H2",)),
        )
        heats = (
            AssayedHeat("H2", (("bar", 50.0),), 0.0, 50.0),
            AssayedHeat("H1", (("A", 50.0),), 0.0, 50.0),
        )
        answer = believe(ScrapProblem(lots, (), heats))
        assert answer.beliefs.mean[2] == answer.beliefs.mean[0]
        cov = covariance(answer)
        assert cov[2, 0] == pytest.approx(cov[0, 0], rel=1e-9)

    def test_a_heat_cannot_eat_its_own_bar(self, silver_lot):
        lots = (silver_lot("bar", None, form="bar", scrap_class="own_melt", parents=("H",)),)
        heat = AssayedHeat("H", (("bar", 50.0),), 0.0, 50.0)
        with pytest.raises(BadInput):
            believe(ScrapProblem(lots, (), (heat,)))


class TestBeside:
    def test_the_balance_follows_what_was_read_then_what_is_stated_then_the_colour(self):
        stated = Composition.from_millesimal({"Au": 750, "Ag": 125, "Cu": 125})
        lot = Lot("G", "ada", "Au", "offcut", 5, scrap_class="own_offcut", stated=stated)
        plain = believe(ScrapProblem((lot,), ())).beliefs.mean[0]
        assert plain.share("Ag") == pytest.approx(plain.share("Cu"))
        seen = Reading("x", "G", "xrf-bench", {"Au": 0.75, "Ag": 0.05, "Cu": 0.20})
        read = believe(ScrapProblem((lot,), (seen,))).beliefs.mean[0]
        assert read.share("Cu") / read.share("Ag") == pytest.approx(4)
        rose = Lot(
            "R", "ada", "Au", "offcut", 5, scrap_class="own_offcut", colour="rose",
            stated=Composition.from_millesimal({"Au": 750}, rest=True),
        )  # fmt: skip
        body = believe(ScrapProblem((rose,), ())).beliefs.mean[0]
        assert body.share("Cu") > 2 * body.share("Ag")
        assert sum(share for _, share in body.parts) == pytest.approx(1)

    def test_solder_brings_zinc_and_unanswered_questions_bring_lead_and_cadmium(self, silver_lot):
        pot = silver_lot(
            "P", form="hollowware", scrap_class="old_hollowware", solder_share=(0.02, 0.007)
        )
        other = believe(ScrapProblem((pot,), ())).beliefs.other[0]
        assert other["Zn"][0] == pytest.approx(0.02 * 0.12)
        assert other["Cd"][2] > 0
        assert other["Pb"][2] > 0
        clean = silver_lot(
            "P", form="hollowware", scrap_class="old_hollowware", solder_share=(0.02, 0.007),
            flags={"soft_solder": "no", "cadmium_solder": "no"},
        )  # fmt: skip
        other = believe(ScrapProblem((clean,), ())).beliefs.other[0]
        assert "Cd" not in other
        assert "Pb" not in other

    def test_filings_give_less_metal_than_grain(self, silver_lot):
        lots = (
            silver_lot("F", form="filings", scrap_class="filings_clean"),
            silver_lot("M", form="filings", scrap_class="filings_mixed"),
            silver_lot("G", form="grain", scrap_class="new_stock"),
        )
        yields = believe(ScrapProblem(lots, ())).beliefs.yield_fraction
        assert yields[1][0] < yields[0][0] < yields[2][0]

    def test_an_unopened_weighted_piece_counts_as_an_eighth_of_its_mass(self, silver_lot):
        stick = silver_lot(
            "S6", form="hollowware", scrap_class="old_hollowware",
            flags={"filled_or_weighted": "yes"},
        )  # fmt: skip
        assert believe(ScrapProblem((stick,), ())).beliefs.yield_fraction[0] == (0.12, 0.06)


class TestDensity:
    #: T. K. Rose, The Metallurgy of Gold, table XIV: gold (millesimal) and density of gold-silver.
    ROSE = ((1000, 19.26), (879, 17.54), (750, 16.03), (500, 13.60), (250, 11.78), (0, 10.45))

    @pytest.mark.outside
    def test_roses_gold_silver_densities_come_back_within_his_scatter(self):
        errors = [
            fineness_from_density(rho, "Au", {"Ag": 1}, shipped()) * 1000 - fine
            for fine, rho in self.ROSE
        ]
        assert max(abs(e) for e in errors) < 15
        inner = errors[1:-1]
        assert (sum(e * e for e in inner) / len(inner)) ** 0.5 < 10

    @pytest.mark.outside
    def test_the_reciprocal_rule_gives_the_printed_1333(self):
        """583 Au, 104 Ag, 313 Cu from 19.32, 10.49, 8.96: 13.33 (a metals data page)."""
        tables = shipped().with_overrides(
            {
                "metal_density": {
                    "Au": {"solid_20c_g_cm3": 19.32},
                    "Ag": {"solid_20c_g_cm3": 10.49},
                    "Cu": {"solid_20c_g_cm3": 8.96},
                }
            }
        )
        assert density_of({"Au": 583, "Ag": 104, "Cu": 313}, tables) == pytest.approx(
            13.33, abs=0.005
        )
        all_silver = fineness_from_density(13.33, "Au", {"Ag": 1}, tables)
        all_copper = fineness_from_density(13.33, "Au", {"Cu": 1}, tables)
        assert (all_silver * 1000, all_copper * 1000) == pytest.approx((466, 611), abs=1)

    def test_a_density_reading_is_fused_weakly(self, silver_lot):
        lot = silver_lot("A", None)
        reading = Reading("d", "A", "density-silver", density_g_cm3=10.36)
        found = report(believe(ScrapProblem((lot,), (reading,))), "A")
        assert found.sd > 40
        assert 850 < found.readings[0].fineness < 960


class TestColour:
    @pytest.mark.outside
    @pytest.mark.parametrize(
        ("body", "colour"),
        [  # B. D. Fahlman, Materials Chemistry, 2nd ed., 2011, table 3.4
            (gold(Au=750, Ag=130, Cu=120), "yellow"),
            (gold(Au=750, Ag=150, Cu=100), "yellow"),
            (gold(Au=583, Ag=40, Cu=312, Zn=64), "yellow"),
            (gold(Au=417, Ag=117, Cu=408, Zn=58.3), "yellow"),
            (gold(Au=750, Ag=50, Cu=200), "rose"),
            (gold(Au=583, Ag=21, Cu=396), "rose"),
            (gold(Au=417, Ag=28, Cu=555), "rose"),
            (gold(Au=750, Ag=150, Pd=100), "white_pd"),
            (gold(Au=583, Ag=322, Pd=95), "white_pd"),
            # G. D. Hiscox (ed.), Twentieth Century Formulas, 1907
            (gold(Au=750, Ag=250), "green"),
            (gold(Au=750, Ag=125, Cu=125), "yellow"),
            # N. E. Woldman, R. C. Gibbons, Engineering Alloys, 5th ed.
            (gold(Au=750, Cu=250), "red"),
            (gold(Au=916, Ag=42, Cu=42), "yellow"),
        ],
    )
    def test_published_alloys_fall_into_the_window_of_their_colour(self, body, colour):
        assert colour in colours_of(body)

    def test_the_middle_of_a_window_has_its_colour(self):
        for fine in (0.375, 0.585, 0.750):
            for colour in ("yellow", "rose", "red"):
                beside = colour_additions(colour, fine)
                body = gold(Au=fine, **{e: (1 - fine) * s for e, s in beside.items()})
                assert colour in colours_of(body)

    def test_nickel_white_never_joins_yellow(self):
        lot = Lot(
            "N", "ada", "Au", "offcut", 5, colour="yellow",
            stated=gold(Au=750, Cu=100, Ni=100, Zn=50),
        )  # fmt: skip
        (stop,) = may_join(lot, "yellow")
        assert (stop.code, stop.grade) == ("scrap.families_apart", "stop")

    def test_each_colour_keeps_to_itself_and_fine_gold_joins_all(self):
        rose = Lot("R", "ada", "Au", "offcut", 5, colour="rose", stated=gold(Au=75, Cu=25))
        assert may_join(rose, "rose") == ()
        assert may_join(rose, "yellow")[0].grade == "stop"
        fine = Lot("F", "ada", "Au", "grain", 5, stated=gold(Au=999, Ag=1))
        assert may_join(fine, "rose") == ()
        assert may_join(fine, "white_pd") == ()
        unknown = Lot("U", "ada", "Au", "jewellery", 5, stated=gold(Au=585, Ag=200, Cu=215))
        assert may_join(unknown, "yellow")[0].grade == "ask"

    def test_one_table_says_which_families_meet(self):
        """The scrap room's answer for every pair of colours is the metal room's."""
        colours = ("yellow", "rose", "red", "green", "white_pd", "white_ni")
        for one in colours:
            lot = Lot("L", "ada", "Au", "offcut", 5, colour=one, stated=gold(Au=75, Cu=25))
            for wanted in colours:
                assert (may_join(lot, wanted) == ()) is metal.may_meet(one, wanted)
        laid = shipped().with_overrides({"metal_family": {"rose": {"meets": "rose yellow"}}})
        rose = Lot("R", "ada", "Au", "offcut", 5, colour="rose", stated=gold(Au=75, Cu=25))
        assert may_join(rose, "yellow", tables=laid) == ()

    def test_pieces_of_a_pair_from_two_heats_are_asked_about(self):
        one, other = gold(Au=750, Ag=125, Cu=125), gold(Au=750, Ag=110, Cu=140)
        assert same_colour(one, one, "O8") == ()
        assert same_colour(one, other, "O8")[0].code == "scrap.pair_apart"

    def test_the_window_of_no_colour_is_empty(self):
        assert colour_window("none", 0.75) == {}
        assert colour_window("yellow", 0.75)["Ag"] == pytest.approx((0.1, 0.2))


class TestBadInput:
    def test_lots_of_two_metals_are_refused(self, silver_lot):
        other = Lot("G", "ada", "Au", "offcut", 5.0, scrap_class="own_offcut")
        with pytest.raises(BadInput, match="one main metal"):
            believe(ScrapProblem((silver_lot("A", scrap_class="own_offcut"), other), ()))

    @pytest.mark.parametrize(
        ("change", "field"),
        [
            ({"on": "nobody"}, "readings.r.on"),
            ({"method": "guess"}, "method"),
            ({"method": "touch-gold"}, "method"),
            ({"values": {"Cu": 0.075}}, "readings.r.values"),
        ],
    )
    def test_readings_that_do_not_fit_are_refused_by_name(self, silver_lot, change, field):
        given = {"id": "r", "on": "A", "method": "xrf-bench", "values": {"Ag": 0.9}, **change}
        lot = silver_lot("A", scrap_class="own_offcut")
        with pytest.raises(BadInput) as fault:
            believe(ScrapProblem((lot,), (Reading(**given),)))
        assert fault.value.field == field

    def test_an_empty_drawer_two_bags_of_one_name_and_an_unknown_class_are_refused(
        self, silver_lot
    ):
        with pytest.raises(BadInput, match="at least one lot"):
            believe(ScrapProblem((), ()))
        twin = silver_lot("A", scrap_class="own_offcut")
        with pytest.raises(BadInput, match="each id once"):
            believe(ScrapProblem((twin, twin), ()))
        with pytest.raises(BadInput, match="scrap_class"):
            believe(ScrapProblem((silver_lot("A", scrap_class="own_ofcut"),), ()))
