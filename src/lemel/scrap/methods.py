"""Ways of knowing a fineness, as the tables describe them. Shares are mass fractions here."""

from __future__ import annotations

from dataclasses import dataclass

from lemel.errors import BadInput
from lemel.tables import Row, Tables, shipped

__all__ = ["MILLESIMAL", "Method", "figure", "may_prove", "method", "method_codes", "method_sd"]

MILLESIMAL = 1e-3


@dataclass(frozen=True, slots=True)
class Method:
    """One evidence code: what it says is off by `shift`, a shared error and an error of its own.

    true = said + shift + shared + own. `kind` "says": a statement that sets the prior of a
    lot; "reads": a measurement. `method_share` is the part of the shared variance that
    stays with the method from instrument to instrument; the rest belongs to the
    instrument on its day. `sees` "part": the metal beside the solder; "whole": all of
    it. `standing` ranks evidence that contradicts (4 an assay, 0 hearsay).
    """

    code: str
    kind: str
    metals: frozenset[str]
    shift: float
    sd_common: float
    sd_own: float
    method_share: float
    floor: float | None
    class_applies: bool
    sees: str
    finds_plate: float
    standing: int
    doubt: float
    proves: str
    not_colours: frozenset[str]
    test_first: bool
    share_most: float | None


def method_codes(tables: Tables | None = None) -> tuple[str, ...]:
    """The evidence codes there are, without their rows for one metal."""
    return tuple(key for key in (tables or shipped()).table("scrap_methods") if "/" not in key)


def method(code: str, main: str, tables: Tables) -> Method:
    """The evidence code for one main metal; BadInput for an unknown code or a wrong metal."""
    table = tables.table("scrap_methods")
    row = table.get(f"{code}/{main}") or table.get(code)
    if row is None:
        raise BadInput(
            "method", code, ", ".join(method_codes(tables)), "Write one of the evidence codes."
        )
    metals = frozenset(row.text("metals").split())
    if metals != {"any"} and main not in metals:
        raise BadInput(
            "method", code, f"a method for {main}", f"{code} is for {' and '.join(sorted(metals))}."
        )
    return _from_row(code, metals, row)


def may_prove(
    code: str, main: str, *, colour: str = "none", sample: str = "", tables: Tables | None = None
) -> str:
    """What a reading by this method may stand for: "heat", "lot", "sort" or "nothing".

    "heat": a promise to others, on metal dipped or granulated from the stirred melt; a
    drilling or the surface of a cast bar stands for a "lot" only, since such bars differ
    within themselves. "lot": one lot in a blend. "sort": tells classes of metal apart.
    BadInput for an unknown method or a wrong metal.
    """
    how = method(code, main, tables or shipped())
    if colour in how.not_colours:
        return "nothing"
    if how.proves == "heat" and sample in ("drill", "surface"):
        return "lot"
    return how.proves


def method_sd(code: str, main: str, *, tables: Tables | None = None) -> tuple[float, float]:
    """Own and shared sd of a reading by this method, mass fractions.

    The shared part is common to all readings by one instrument on its day; a single reading
    is off by both together. BadInput for an unknown method or a wrong metal.

    >>> method_sd("xrf-hand-abraded", "Ag")
    (0.004, 0.003)
    """
    how = method(code, main, tables or shipped())
    return how.sd_own, how.sd_common


def _from_row(code: str, metals: frozenset[str], row: Row) -> Method:
    shift, sd_own = _one_normal(row)
    floor = row.cells.get("floor", "")
    most = row.cells.get("share_most", "")
    return Method(
        code=code,
        kind=row.text("kind"),
        metals=metals,
        shift=shift * MILLESIMAL,
        sd_common=row.number("sd_common") * MILLESIMAL,
        sd_own=sd_own * MILLESIMAL,
        method_share=row.number_or("method_share", 0.0),
        floor=None if floor in ("", None) else float(floor) * MILLESIMAL,
        class_applies=row.text("class_applies") == "yes",
        sees=row.text("sees"),
        finds_plate=row.number_or("finds_plate", 0.0),
        standing=int(row.number("standing")),
        doubt=row.number_or("doubt", 0.0),
        proves=row.text("proves"),
        not_colours=frozenset(row.text("not_colours").split()),
        test_first=row.text("test_first") == "yes",
        share_most=None if most in ("", None) else float(most),
    )


def _one_normal(row: Row) -> tuple[float, float]:
    """Shift and own sd of the row; a two-part mixture becomes the normal with its moments.

    A stamp that is sometimes plainly wrong is a mixture of a good and a bad part. One
    normal with the same mean and variance keeps the fusion exact and in one batch.
    """
    shift, sd = row.number("shift"), row.number("sd_own")
    share = row.number_or("mix_share", 0.0)
    if share == 0:
        return shift, sd
    other, other_sd = row.number("mix_shift"), row.number("mix_sd")
    mean = (1 - share) * shift + share * other
    var = (1 - share) * (sd**2 + (shift - mean) ** 2) + share * (other_sd**2 + (other - mean) ** 2)
    return mean, float(var**0.5)


def figure(key: str, tables: Tables) -> float:
    """A single figure of the room; millesimal ones as mass fractions."""
    row = tables.row("scrap_figures", key)
    scale = MILLESIMAL if row.text("unit") == "millesimal" else 1.0
    return row.number("value") * scale
