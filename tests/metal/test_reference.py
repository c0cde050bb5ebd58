"""The same parameters in an independent library: pycalphad, and an earlier prototype."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from lemel.metal import enthalpy_j_g, liquid_fraction, melting, phases
from lemel.metal.equilibrium import equilibrium
from lemel.metal.gibbs import system_of
from lemel.tables import shipped
from lemel.values import Composition

HERE = Path(__file__).parent
REFERENCE = json.loads((HERE / "reference.json").read_text("utf-8"))["systems"]
PROTOTYPE = json.loads((HERE / "prototype.json").read_text("utf-8"))["rows"]


def liquid_moles(body: Composition, temp_c: float) -> float:
    """Liquid as a share of the atoms, from the mass shares that the room gives."""
    masses = shipped().table("metal_element")
    moles = {"liquid": 0.0, "solid": 0.0}
    for phase in phases(body, temp_c):
        kind = "liquid" if phase.name == "liquid" else "solid"
        per_gram = sum(w / masses[e].number("molar_mass_g") for e, w in phase.composition.parts)
        moles[kind] += phase.share * per_gram
    return moles["liquid"] / sum(moles.values())


def test_the_reference_covers_every_system_with_twenty_compositions():
    assert len(REFERENCE) >= 8
    assert all(len(rows) == 20 for rows in REFERENCE.values())


@pytest.mark.outside
@pytest.mark.parametrize("key", list(REFERENCE))
def test_an_independent_library_finds_the_same_equilibria(key):
    # Source: pycalphad (R. Otis, Z.-K. Liu, J. Open Res. Software 5 (2017) 1), dense sampling.
    for row in REFERENCE[key]:
        body = Composition.of(row["mass"])
        found = melting(body)
        assert found.liquidus_c == pytest.approx(row["liquidus_c"], abs=0.05), row["mass"]
        assert found.solidus_c == pytest.approx(row["solidus_c"], abs=0.05), row["mass"]
        for point in row["liquid"]:
            share = liquid_moles(body, point["temp_c"])
            assert share == pytest.approx(point["liquid_moles"], abs=0.002), row["mass"]
        heat = row["heat"]
        gained = enthalpy_j_g(body, heat["to_c"]) - enthalpy_j_g(body, heat["from_c"])
        assert gained == pytest.approx(heat["j_g"], abs=0.05), row["mass"]


@pytest.mark.outside
@pytest.mark.parametrize("row", PROTOTYPE, ids=[json.dumps(row["mass"]) for row in PROTOTYPE])
def test_an_earlier_prototype_found_the_same(row):
    # Source: prototype.json, solved by other code; its gas constant differs in the fifth figure.
    body = Composition.of(row["mass"])
    found = melting(body)
    assert found.liquidus_c == pytest.approx(row["liquidus_c"], abs=0.05)
    assert found.solidus_c == pytest.approx(row["solidus_c"], abs=0.05)
    for temp_c, share in row["liquid_moles"]:
        assert liquid_moles(body, temp_c) == pytest.approx(share, abs=0.003)
    temp_c, heat = row["heat_from_600_k"]
    gained = enthalpy_j_g(body, temp_c) - enthalpy_j_g(body, 600 - 273.15)
    assert gained == pytest.approx(heat, abs=0.05)
    assert liquid_fraction(body, found.liquidus_c + 1) == 1.0


def _hull(points: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Lower convex hull of (x, G) points in order of x."""
    hull: list[tuple[float, float]] = []
    for point in points:
        while len(hull) > 1 and _turns_right(hull[-2], hull[-1], point):
            hull.pop()
        hull.append(point)
    return hull


def _turns_right(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> bool:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]) <= 0


@pytest.mark.parametrize("key", ["Ag-Cu", "Cu-Zn", "Au-Ni", "Au-Cu", "Au-Pt"])
def test_no_mixture_on_a_grid_lies_below_the_state_that_is_found(key):
    # The second way: brute force over a grid of compositions of every phase.
    row = shipped().row("metal_system", key)
    system = system_of(tuple(row.cells["elements"]), tuple(row.cells["phases"]), shipped())
    for temp_k in (700.0, 1000.0, 1100.0, 1200.0, 1330.0, 1500.0):
        at = system.at(temp_k)
        points = []
        for n in range(1, 1000):
            x = [1 - n / 1000, n / 1000]
            points.append((n / 1000, min(phase.energy(x) for phase in at.values())))
        hull = _hull(points)
        for n in range(20, 1000, 49):
            x = [1 - n / 1000, n / 1000]
            state = equilibrium(system, temp_k, x)
            found = sum(p.amount * at[p.phase].energy(p.x) for p in state)
            right = next(i for i, (share, _) in enumerate(hull) if share >= x[1])
            (x0, g0), (x1, g1) = hull[max(right - 1, 0)], hull[max(right, 1)]
            below = g0 + (g1 - g0) * (x[1] - x0) / (x1 - x0)
            assert found <= below + 1e-6
            assert found > below - 5  # the grid's own coarseness, J/mol
