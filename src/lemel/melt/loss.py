"""What does not come out of the pot: by form of scrap, as a band, and as its parts."""

from __future__ import annotations

import math
from dataclasses import dataclass

from lemel import metal
from lemel.errors import BadInput
from lemel.melt.figures import figure, form_row
from lemel.melt.rates import KELVIN
from lemel.tables import Tables, shipped
from lemel.values import Charge

__all__ = ["LossParts", "MeltLoss", "expected_loss", "fineness_after", "loss_parts"]

GAS_J_MOL_K = 8.314462618
ZINC_G_MOL = 65.38
COPPER_G_MOL = 63.546


@dataclass(frozen=True, slots=True)
class MeltLoss:
    """Expected loss of a charge in g, its band, and the part of it that never was metal."""

    expected_g: float
    low_g: float
    high_g: float
    dirt_g: float
    by_body: tuple[tuple[str, float], ...]


def expected_loss(charge: Charge, tables: Tables | None = None) -> MeltLoss:
    """Loss by form; lots of one form err together, forms independently.

    Source: table `melt_form`, common practice, to be replaced by the house's own heats
    (`learn_losses`).
    """
    by_body: dict[str, float] = {}
    forms: dict[str, float] = {}
    for line in charge.lines:
        percent = form_row(line.form, tables).number("loss_percent")
        by_body[line.body] = by_body.get(line.body, 0.0) + line.mass_g * percent / 100
        forms[line.form] = forms.get(line.form, 0.0) + line.mass_g
    expected = dirt = below = above = 0.0
    for form, mass_g in forms.items():
        row = form_row(form, tables)
        middle = row.number("loss_percent")
        expected += mass_g * middle / 100
        dirt += mass_g * row.number("dirt_percent") / 100
        below += (mass_g * (middle - row.number("loss_lo")) / 100) ** 2
        above += (mass_g * (row.number("loss_hi") - middle) / 100) ** 2
    return MeltLoss(
        expected,
        max(0.0, expected - math.sqrt(below)),
        expected + math.sqrt(above),
        dirt,
        tuple(by_body.items()),
    )


@dataclass(frozen=True, slots=True)
class LossParts:
    """The loss from its causes, g, and what it does to the fineness of the main metal.

    `fineness` after the melt as a fraction: for the account only. A rise by burnt copper is
    never credited to a blend, which keeps the lots' own lower bounds.
    """

    dirt_g: float
    oxide_g: float
    zinc_g: float
    held_g: float
    poured_g: float
    fineness: float

    @property
    def lost_g(self) -> float:
        """All that is neither poured nor held."""
        return self.dirt_g + self.oxide_g + self.zinc_g


def loss_parts(
    charge: Charge,
    *,
    bath_c: float,
    minutes: float,
    pool_cm2: float,
    cover: str = "lid",
    tables: Tables | None = None,
) -> LossParts:
    """Dirt by form, oxide and zinc by the pool's surface, entrapment by form.

    Zinc leaves through a gas film: k A p / (R T) per second with the pressure over this alloy
    from the metal room; copper oxidises at most as fast as oxygen comes, times the cover's
    share. `cover` is bare, flux or lid. Coefficients are estimates within a factor of two;
    unchecked: no printed example.
    """
    tables = tables or shipped()
    if cover not in tables.table("melt_cover"):
        raise BadInput("cover", cover, ", ".join(tables.table("melt_cover")), "Choose one.")
    row = tables.row("melt_cover", cover)
    body, mass_g = charge.composition_mean, charge.mass_g
    film = figure("transfer_m_s", tables) * pool_cm2 * 1e-4 * 60 * minutes
    pressure_pa = metal.vapour_pa(body, bath_c, tables=tables).get("Zn", 0.0)
    zinc_mol = film * row.number("transfer_share") * pressure_pa
    zinc_g = ZINC_G_MOL * zinc_mol / (GAS_J_MOL_K * (bath_c + KELVIN))
    # First order in what is left, so that a long hold never takes more than there is.
    there_g = mass_g * body.share("Zn")
    zinc_g = there_g * -math.expm1(-zinc_g / there_g) if there_g > 0 else 0.0
    oxygen_mol = film * figure("oxygen_mol_m3", tables)
    oxide_g = min(
        4 * COPPER_G_MOL * oxygen_mol * row.number("oxide_share"), mass_g * body.share("Cu")
    )
    dirt_g = sum(
        line.mass_g * form_row(line.form, tables).number("dirt_percent") / 100
        for line in charge.lines
    )
    filings_g = sum(line.mass_g for line in charge.lines if line.form == "filings")
    held_g = figure("entrapped_share", tables) * mass_g
    held_g += figure("entrapped_filings", tables) * filings_g
    if cover == "flux":
        held_g += figure("glaze_g", tables)
    clean_g = mass_g - dirt_g
    poured_g = clean_g - oxide_g - zinc_g - held_g
    fineness = fineness_after(
        clean_g, body.share(body.main()), burnt_g=oxide_g + zinc_g, held_g=held_g
    )
    return LossParts(dirt_g, oxide_g, zinc_g, held_g, poured_g, fineness)


def fineness_after(
    mass_g: float, fineness: float, *, burnt_g: float = 0.0, held_g: float = 0.0
) -> float:
    """Fineness (fraction) of what is poured when base metal burns off and some bath is held back.

    300 g of sterling, 0.3 g of copper burnt, 0.15 g in the glaze:

    >>> round(1000 * fineness_after(300, 0.925, burnt_g=0.3, held_g=0.15), 1)
    925.9
    """
    return (mass_g * fineness - held_g * fineness) / (mass_g - burnt_g - held_g)
