"""`lemel convert` and `lemel gauge`."""

from __future__ import annotations

from typing import Any

import click

from lemel.cli.answer import Told
from lemel.cli.run import verb
from lemel.errors import BadInput
from lemel.quantities import from_gauge, parse_amount, to_gauge, unit

__all__ = ["convert", "gauge"]


@verb("convert")
@click.argument("amount", nargs=-1, required=True, metavar="AMOUNT UNIT TO")
def convert(amount: tuple[str, ...]) -> Told:
    """AMOUNT with its unit, then the unit that is wanted: `lemel convert 2 ozt g`.

    K is a temperature difference and degC a temperature; the two do not convert.
    """
    if len(amount) < 2:
        raise BadInput(
            "AMOUNT", " ".join(amount), "an amount and a unit", "Write `lemel convert 2 ozt g`."
        )
    *given, wanted = amount
    source = parse_amount(" ".join(given))
    target = unit(wanted)
    value = source.to(wanted)
    payload = {
        "value": float(value),
        "exact": str(value),
        "unit": target.key,
        "from": {"value": str(source.value), "unit": source.unit},
    }
    return Told(payload, lambda paper: paper.line(f"{_digits(str(value))} {target.symbol}"))


def _digits(exact: str) -> str:
    """An exact value to ten figures, as many as any balance could use."""
    return f"{float(exact):.10g}"


@verb("gauge")
@click.argument("size", metavar="SIZE")
@click.option("--system", metavar="AWG|SWG", help="AWG (Brown & Sharpe) or SWG.")
def gauge(size: str, system: str | None) -> Told:
    """SIZE is a gauge number (18, 4/0), or a thickness with its unit (1.2mm)."""
    if any(letter.isalpha() for letter in size):
        thickness = float(parse_amount(size).to("mm"))
        found = to_gauge(thickness, system)
    else:
        found = from_gauge(size, system)
    payload: dict[str, Any] = {
        "value": found.mm,
        "unit": "mm",
        "gauge": found.gauge,
        "system": found.system,
        "off_mm": found.off_mm,
        "source": found.source,
        "trust": found.trust,
    }
    off = f"; what was asked lies {found.off_mm:+.3f} mm from it" if found.off_mm else ""
    return Told(
        payload,
        lambda paper: paper.line(f"{found.system} {found.gauge} is {found.mm:.4f} mm{off}."),
    )
