"""Everything about one alloy on one page: the answer behind `lemel alloy`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from lemel.metal.dangers import hazards
from lemel.metal.faces import PhaseShare
from lemel.metal.fineness import standards_met
from lemel.metal.heat import heat_to_pour_j_g
from lemel.metal.properties import density_g_cm3, liquid_density_g_cm3
from lemel.metal.ranges import liquid_fraction, melting, phases
from lemel.metal.vapour import vapour_pa
from lemel.tables import Tables, shipped
from lemel.values import Caution, Composition, Saying, Standard

__all__ = ["AlloyReport", "alloy_report"]


@dataclass(frozen=True, slots=True)
class AlloyReport:
    """What is known of one alloy. Field names are the keys of the JSON answer.

    `liquid_fraction` and `phases` are None unless a temperature was asked. `standards` are
    the highest met in each jurisdiction if this composition were proven.
    """

    composition: Composition
    liquidus_c: float
    solidus_c: float
    segregated_solidus_c: float
    freezing_range_k: float
    safe_solidus_c: float
    band_k: float
    grade: str
    model: str
    at_c: float | None
    liquid_fraction: float | None
    phases: tuple[PhaseShare, ...] | None
    density_20c_g_cm3: float
    density_liquid_g_cm3: float
    pour_c: float
    heat_to_pour_j_per_g: float
    vapour_pa: Mapping[str, float]
    main: str
    fineness: float
    standards: tuple[Standard, ...]
    cautions: tuple[Caution, ...]
    notes: tuple[Saying, ...]
    sources: tuple[str, ...]


def alloy_report(
    body: Composition,
    *,
    at_c: float | None = None,
    on: date | None = None,
    form: str = "grain",
    tables: Tables | None = None,
) -> AlloyReport:
    """The whole page for one composition; `at_c` adds phases at that temperature."""
    tables = tables or shipped()
    range_ = melting(body, tables=tables)
    superheat = tables.row("metal_work_rule", "pour_superheat_k").number("value")
    pour_c = range_.liquidus_c + superheat
    main = body.main()
    return AlloyReport(
        composition=body,
        liquidus_c=range_.liquidus_c,
        solidus_c=range_.solidus_c,
        segregated_solidus_c=range_.segregated_solidus_c,
        freezing_range_k=range_.freezing_range_k,
        safe_solidus_c=range_.safe_solidus_c,
        band_k=range_.band_k,
        grade=range_.grade,
        model=range_.model,
        at_c=at_c,
        liquid_fraction=None if at_c is None else liquid_fraction(body, at_c, tables=tables),
        phases=None if at_c is None else phases(body, at_c, tables=tables),
        density_20c_g_cm3=density_g_cm3(body, tables=tables),
        density_liquid_g_cm3=liquid_density_g_cm3(body, range_.liquidus_c, tables=tables),
        pour_c=pour_c,
        heat_to_pour_j_per_g=heat_to_pour_j_g(body, pour_c, tables=tables),
        vapour_pa=vapour_pa(body, pour_c, tables=tables),
        main=main,
        fineness=body.fineness(main),
        standards=standards_met(main, body.share(main), on, tables=tables),
        cautions=hazards(body, form, tables=tables),
        notes=range_.notes,
        sources=range_.sources,
    )
