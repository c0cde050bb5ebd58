"""Reference equilibria of the shipped parameters, computed by an independent library.

`python benchmarks/reference_metal.py` writes `tests/metal/reference.json`: twenty seeded
compositions of each system with liquidus, solidus, liquid shares and enthalpies from
pycalphad (R. Otis, Z.-K. Liu, J. Open Res. Software 5 (2017) 1), fed with the same
parameters and the same gas constant. Its default sampling returns metastable states here,
so it samples densely. Takes some ten minutes.
"""

from __future__ import annotations

import json
import random
import sys
import warnings
from pathlib import Path
from typing import Any

from lemel.tables import Tables, shipped

PLACE = Path(__file__).parents[1] / "tests" / "metal" / "reference.json"
SYSTEMS = (
    "Ag-Cu", "Ag-Au", "Au-Cu", "Ag-Au-Cu", "Cu-Zn", "Ag-Zn", "Ag-Cu-Zn", "Au-Ni", "Cu-Ni",
    "Au-Cu-Ni", "Au-Pt",
)  # fmt: skip
SEED, COUNT, SAMPLING = 20261, 20, 20_000
CLOSE_K = 0.004
POWERS = ("", "*T", "*T*LN(T)", "*T**2", "*T**3", "*T**(-1)", "*T**7", "*T**(-9)")
ZERO_C = 273.15


def database(key: str, tables: Tables) -> str:
    """The system's rows as a thermodynamic database text."""
    row = tables.row("metal_system", key)
    elements, phases = row.cells["elements"], row.cells["phases"]
    lines = ["ELEMENT VA VACUUM 0 0 0 !"]
    for element in elements:
        mass = tables.row("metal_element", element).number("molar_mass_g")
        lines.append(f"ELEMENT {element.upper()} FCC {mass} 0 0 !")
    for phase in phases:
        name = phase.upper()
        lines.append(f"PHASE {name} % 1 1.0 !")
        lines.append(f"CONSTITUENT {name} : {','.join(e.upper() for e in elements)} : !")
        for element in elements:
            pieces = tables.row("metal_unary", f"{element}.{phase}").cells["branches"]
            text = f"PARAMETER G({name},{element.upper()};0) 200.0 "
            for n, piece in enumerate(pieces):
                terms = "".join(
                    f"{c:+.16G}{p}" for c, p in zip(piece["coefficients"], POWERS, strict=True) if c
                )
                end = "N" if n == len(pieces) - 1 else "Y"
                text += f"{terms}; {piece['below_k'] if end == 'Y' else 6000.0} {end} "
            lines.append(text + "!")
        for n, one in enumerate(elements):
            for two in elements[n + 1 :]:
                rows = tables.row("metal_excess", f"{one}-{two}.{phase}").cells["terms"]
                for order, (a, b, c) in enumerate(rows):
                    lines.append(
                        f"PARAMETER L({name},{one.upper()},{two.upper()};{order}) 200.0 "
                        f"{a:+.16G}{b:+.16G}*T{c:+.16G}*T*LN(T); 6000.0 N !"
                    )
    return "\n".join(lines)


class Oracle:
    """One system in pycalphad: phases and enthalpy at a temperature."""

    def __init__(
        self, key: str, tables: Tables, sampling: int = SAMPLING, *, prepared: bool = True
    ) -> None:
        from pycalphad import Database, Model, variables
        from pycalphad.codegen.phase_record_factory import PhaseRecordFactory
        from symengine import RealDouble

        gas = tables.row("metal_constant", "gas_j_molk").number("value")
        variables.R = RealDouble(gas)
        row = tables.row("metal_system", key)
        self.elements: list[str] = row.cells["elements"]
        self.masses = [tables.row("metal_element", e).number("molar_mass_g") for e in self.elements]
        self.names = [e.upper() for e in self.elements]
        self.phases = [p.upper() for p in row.cells["phases"]]
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            self.db = Database.from_string(database(key, tables), fmt="tdb")
        self.components = [*self.names, "VA"]
        self.variables = variables
        self.sampling, self.prepared = sampling, prepared
        self.models = {p: Model(self.db, self.components, p) for p in self.phases}
        self.records = PhaseRecordFactory(
            self.db, self.components, {variables.T, variables.P, variables.N}, self.models
        )

    def state(self, x: list[float], temp_k: float) -> tuple[dict[str, float], float]:
        """Amounts by phase (moles) and enthalpy, J/mol of atoms."""
        from pycalphad import equilibrium

        if not self.prepared:
            return self._plainly(x, temp_k)
        v = self.variables
        conditions = {v.T: temp_k, v.P: 101325, v.N: 1}
        conditions |= {v.X(name): share for name, share in zip(self.names[1:], x[1:], strict=True)}
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            found = equilibrium(
                self.db, self.components, self.phases, conditions, output="HM",
                model=self.models, phase_records=self.records,
                calc_opts={"pdens": self.sampling},
            )  # fmt: skip
        amounts: dict[str, float] = {}
        names = found.Phase.values.ravel()
        for name, amount in zip(names, found.NP.values.ravel(), strict=True):
            if name:
                amounts[str(name)] = amounts.get(str(name), 0.0) + float(amount)
        return amounts, float(found.HM.values.ravel()[0])

    def _plainly(self, x: list[float], temp_k: float) -> tuple[dict[str, float], float]:
        """The call as a user first writes it: everything by default, built anew."""
        from pycalphad import equilibrium

        v = self.variables
        conditions = {v.T: temp_k, v.P: 101325, v.N: 1}
        conditions |= {v.X(name): share for name, share in zip(self.names[1:], x[1:], strict=True)}
        found = equilibrium(self.db, self.components, self.phases, conditions)
        amounts: dict[str, float] = {}
        for name, amount in zip(found.Phase.values.ravel(), found.NP.values.ravel(), strict=True):
            if name:
                amounts[str(name)] = amounts.get(str(name), 0.0) + float(amount)
        return amounts, 0.0

    def liquid(self, x: list[float], temp_k: float) -> float:
        """Moles of liquid per mole."""
        return self.state(x, temp_k)[0].get("LIQUID", 0.0)

    def bisect(self, x: list[float], above: float, close_k: float = CLOSE_K) -> float:
        """Temperature at which the liquid share rises past `above` (a hair inside 0 or 1)."""
        low, high = 650.0, 2050.0
        while high - low > close_k:
            middle = (low + high) / 2
            if self.liquid(x, middle) > above:
                high = middle
            else:
                low = middle
        return (low + high) / 2


def samples(key: str, tables: Tables, count: int = COUNT) -> list[dict[str, float]]:
    """Seeded compositions (mass fractions) inside the system's limits."""
    row = tables.row("metal_system", key)
    elements, limits = row.cells["elements"], row.cells["limits"]
    dice = random.Random(f"{SEED} {key}")
    found: list[dict[str, float]] = []
    while len(found) < count:
        raw = [dice.expovariate(1) + 0.002 for _ in elements]
        shares = {e: round(r / sum(raw), 4) for e, r in zip(elements, raw, strict=True)}
        shares[elements[0]] = round(1 - sum(shares[e] for e in elements[1:]), 4)
        if all(shares[e] <= 0.9 * most for e, most in limits.items()) and min(shares.values()) > 0:
            found.append(shares)
    return found


def reference(oracle: Oracle, shares: dict[str, float]) -> dict[str, Any]:
    """What the oracle says of one composition."""
    moles = [shares[e] / m for e, m in zip(oracle.elements, oracle.masses, strict=True)]
    total = sum(moles)
    x = [n / total for n in moles]
    grams = sum(v * m for v, m in zip(x, oracle.masses, strict=True))
    top = oracle.bisect(x, 1 - 1e-7)
    bottom = oracle.bisect(x, 1e-7)
    shares_at = []
    if top - bottom > 1:
        for cut in (0.2, 0.5, 0.8):
            temp_k = bottom + cut * (top - bottom)
            share = oracle.liquid(x, temp_k)
            shares_at.append({"temp_c": round(temp_k - ZERO_C, 6), "liquid_moles": round(share, 6)})
    cold, hot = bottom - 100, top + 75
    heat = (oracle.state(x, hot)[1] - oracle.state(x, cold)[1]) / grams
    return {
        "mass": shares,
        "liquidus_c": round(top - ZERO_C, 4),
        "solidus_c": round(bottom - ZERO_C, 4),
        "liquid": shares_at,
        "heat": {
            "from_c": round(cold - ZERO_C, 6),
            "to_c": round(hot - ZERO_C, 6),
            "j_g": round(heat, 6),
        },
    }


def written(told: dict[str, Any]) -> str:
    """JSON with one composition a line."""
    systems = ",\n".join(
        f"  {json.dumps(key)}: [\n" + ",\n".join(f"   {json.dumps(row)}" for row in rows) + "\n  ]"
        for key, rows in told["systems"].items()
    )
    head = "".join(
        f" {json.dumps(k)}: {json.dumps(v)},\n" for k, v in told.items() if k != "systems"
    )
    return "{\n" + head + ' "systems": {\n' + systems + "\n }\n}\n"


def main() -> None:
    tables = shipped()
    answers: dict[str, list[dict[str, Any]]] = {}
    for key in SYSTEMS:
        oracle = Oracle(key, tables)
        answers[key] = [reference(oracle, shares) for shares in samples(key, tables)]
        sys.stderr.write(f"{key}: {len(answers[key])} compositions\n")
    import pycalphad

    told = {
        "made_by": f"benchmarks/reference_metal.py with pycalphad {pycalphad.__version__}",
        "sampling": SAMPLING,
        "systems": answers,
    }
    PLACE.write_text(written(told), encoding="utf-8")


if __name__ == "__main__":
    main()
