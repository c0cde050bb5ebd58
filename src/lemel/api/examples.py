"""What is sent, by address: from the Quillmarsh bench, as the tests send it."""

from __future__ import annotations

from typing import Any

__all__ = ["EXAMPLES"]

EXAMPLES: dict[str, Any] = {
    "/api/lots": {
        "lots": [
            {
                "id": "S31", "owner": "shop", "main": "Ag", "form": "filings",
                "mass_g": 41.2, "scrap_class": "filings_mixed", "stated_millesimal": {"Ag": 925},
            }
        ],
        "readings": [
            {
                "id": "r-S31", "on": "S31", "method": "xrf-hand-abraded",
                "values_millesimal": {"Ag": 919}, "source": "college-gun 2 October",
            }
        ],
        "by": "maribeth",
    },
    "/api/orders": {
        "lines": [
            {
                "id": "O90.1", "order": "O90", "owner": "shop", "what": "ring", "count": 2,
                "sizes": {"size": "ISO 54", "width_mm": 4, "thickness_mm": 1.6},
                "standard": "UK Ag 925", "due_on": "2026-10-30",
            }
        ]
    },
    "/api/gates": {
        "lot": "S1", "gate": "magnet", "answer": "no", "seen": "nothing clings to the magnet"
    },
    "/api/jobs": {"as_of": "2026-10-02", "lines": ["O6.1"]},
    "/api/heats/charge": {
        "plan": "plan-0112", "heat": "H1", "before_g": {"S1": 84.8}, "taken_g": {"S1": 40.12}
    },
    "/api/heats/log": {
        "plan": "plan-0112", "heat": "H1",
        "readings": [{"id": "thermo-000000000001", "celsius": 1043.5, "at_ms": 1791187200000}],
    },
    "/api/prices": {
        "what": "fine/Ag", "amount": "0.92", "on": "2026-10-02", "source": "the refiner's sheet"
    },
    "/api/faults": {"body": "plan-0112/H1-1", "kind": "short", "left_g": 57.3},
}  # fmt: skip
