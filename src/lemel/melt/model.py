"""The furnace as six states: its parameters, from the table, the kit list or a calibration."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from functools import cache

from lemel.errors import BadInput
from lemel.melt.pot_heat import PotHeat, pot_heat
from lemel.tables import Tables, shipped
from lemel.values import Crucible, Figure, Furnace

__all__ = ["FurnaceModel", "furnace_model", "parameter_names"]


@dataclass(frozen=True, slots=True)
class FurnaceModel:
    """Numbers of one furnace with one pot; see the table `melt_furnace` for what each is.

    States: element, pot, charge (by enthalpy), inner and outer lining shell, display.
    """

    power_w: float
    element_j_k: float
    pot_g: float
    radiation_mm2: float
    gas_w_k: float
    element_lining_w_k: float
    lining_inner_j_k: float
    lining_w_k: float
    lining_outer_j_k: float
    outside_w_k: float
    solid_w_k: float
    liquid_w_k: float
    lid_area_mm2: float
    lid_emissivity: float
    lid_h_w_m2k: float
    lid_on_w_k: float
    display_weight: float
    display_lag_s: float
    hysteresis_k: float
    charge_radiation_mm2: float
    full_contact_g: float
    pot: PotHeat

    def with_values(self, values: Mapping[str, float]) -> FurnaceModel:
        """The same furnace with some parameters replaced."""
        return replace(self, **values)  # type: ignore[arg-type]

    def values(self) -> dict[str, float]:
        """Every numeric parameter by its name."""
        return {name: getattr(self, name) for name in parameter_names()}


@cache
def parameter_names() -> tuple[str, ...]:
    """Names of the numeric parameters, in the order of the model."""
    return tuple(f.name for f in fields(FurnaceModel) if f.name != "pot")


def furnace_model(
    furnace: Furnace, crucible: Crucible | None = None, *, tables: Tables | None = None
) -> FurnaceModel:
    """The model of a furnace with a pot.

    The table describes a bench furnace of 1.3 kW; one of another power is taken as built in
    proportion (heat capacities, areas and conductances scale with the power, so that the
    heating curve keeps its shape), until a log says better. The furnace's own `parameters`
    replace single figures; the pot's weighed mass replaces the table's.
    """
    tables = tables or shipped()
    rows = tables.table("melt_furnace")
    size = furnace.power_w / rows["power_w"].number("value")
    values = {
        name: row.number("value") * (size if row.text("scales") == "yes" else 1.0)
        for name, row in rows.items()
    }
    values["power_w"] = furnace.power_w
    if crucible is not None:
        values["pot_g"] = crucible.mass_g
    values |= _own(furnace.parameters)
    material = crucible.material if crucible is not None else "graphite"
    return FurnaceModel(**values, pot=pot_heat(material, tables))


def _own(parameters: Mapping[str, Figure]) -> dict[str, float]:
    known = set(parameter_names())
    for name, figure in parameters.items():
        if name not in known:
            raise BadInput(
                f"parameters.{name}", figure.value, ", ".join(sorted(known)), "Name a parameter."
            )
        if not figure.value > 0:
            raise BadInput(f"parameters.{name}", figure.value, "more than 0", "Check the figure.")
    return {name: figure.value for name, figure in parameters.items()}
