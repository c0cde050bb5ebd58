"""`lemel alloy`: what one alloy is."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import click

from lemel.cli.answer import Told, millesimal
from lemel.cli.given import NUMBER, composition
from lemel.cli.plots import put_alloy_plot, writable
from lemel.cli.run import verb
from lemel.metal import AlloyReport, alloy_report

if TYPE_CHECKING:
    from lemel.cli.paper import Paper

__all__ = ["alloy"]


@verb("alloy")
@click.argument("parts", nargs=-1, required=True, metavar="ELEMENT=PARTS...")
@click.option("--at", "at_c", type=NUMBER, metavar="T_C", help="Phases at this degC.")
@click.option("--balance", metavar="ELEMENT", help="This element takes what is missing to 1000.")
@click.option("--rest", is_flag=True, help="Leave what is missing to 1000 undeclared.")
@click.option("--plot", metavar="FILE.svg", help="Draw the section and the liquid share there.")
def alloy(
    parts: tuple[str, ...], at_c: float | None, balance: str | None, rest: bool, plot: str | None
) -> Told:
    """Millesimal parts of each element: `lemel alloy Ag=925 Cu=75 --at 850`."""
    body = composition(parts, balance, rest)
    wanted = writable(plot) if plot is not None else None
    found = alloy_report(body, at_c=at_c)
    payload = _payload(found)
    if wanted is not None:
        payload["plot"] = put_alloy_plot(body, at_c, wanted)

    def show(paper: Paper) -> None:
        _show(found, paper)
        if wanted is not None:
            paper.line(f"Section and liquid share are drawn in {payload['plot']}.")

    return Told(payload, show)


def _payload(found: AlloyReport) -> dict[str, Any]:
    from lemel.cli.answer import plain

    payload: dict[str, Any] = plain(found)
    payload["fineness"] = {"metal": found.main, "value": found.fineness}
    payload["standards"] = {
        place: [{"id": one.id, "least": one.least * 1000, "trust": one.trust} for one in met]
        for place, met in _by_place(found).items()
    }
    if found.phases is None:
        for key in ("at_c", "liquid_fraction", "phases"):
            payload.pop(key)
    payload.pop("main")
    return payload


def _by_place(found: AlloyReport) -> Mapping[str, list[Any]]:
    places: dict[str, list[Any]] = {}
    for one in found.standards:
        places.setdefault(one.jurisdiction, []).append(one)
    return places


def _met(found: AlloyReport) -> str:
    """The standards met, those that nobody re-read marked so that they do not pass for law."""
    if not found.standards:
        return "It meets no standard that we list."
    unread = {one.id for one in found.standards if one.trust in ("memory", "unverified")}
    met = ", ".join(f"{one.id}*" if one.id in unread else one.id for one in found.standards)
    note = " (* listed from memory: ask your assay office)" if unread else ""
    return f"If proven it meets: {met}.{note}"


def _show(found: AlloyReport, paper: Paper) -> None:
    parts = ", ".join(f"{e} {share:.4g}" for e, share in millesimal(found.composition).items())
    paper.line(f"{parts}: {found.main} {found.fineness:.1f}")
    rows = [
        ("liquidus", f"{found.liquidus_c:.0f} °C"),
        ("solidus, worked metal", f"{found.solidus_c:.0f} °C"),
        ("solidus, as cast", f"{found.segregated_solidus_c:.0f} °C"),
        ("freezing range", f"{found.freezing_range_k:.0f} K"),
        ("off by at most", f"{found.band_k:.0f} K (grade {found.grade})"),
        ("pour at about", f"{found.pour_c:.0f} °C"),
        ("heat to pour", f"{found.heat_to_pour_j_per_g:.0f} J/g"),
        ("density at 20 °C", f"{found.density_20c_g_cm3:.2f} g/cm³"),
        ("density, liquid", f"{found.density_liquid_g_cm3:.2f} g/cm³"),
    ]
    rows += [
        (f"vapour of {element} at pour", f"{pressure:.2g} Pa")
        for element, pressure in found.vapour_pa.items()
    ]
    paper.facts(rows)
    if found.phases is not None:
        paper.head(f"At {found.at_c:g} °C: {100 * (found.liquid_fraction or 0):.0f} % liquid")
        paper.table(
            ("phase", "share", "made of"),
            [
                (
                    one.name,
                    f"{100 * one.share:.1f} %",
                    " ".join(f"{e} {v:.0f}" for e, v in millesimal(one.composition).items()),
                )
                for one in found.phases
            ],
            words_last=True,
        )
    paper.line(_met(found))
    paper.sayings("Notes", found.notes)
    paper.sayings("Mind", found.cautions)
