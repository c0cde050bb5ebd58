"""What the tables know of a lot before any reading: its class, form, solder and yield."""

from __future__ import annotations

from dataclasses import dataclass

from lemel.errors import BadInput
from lemel.scrap.methods import MILLESIMAL, figure
from lemel.tables import Row, Tables
from lemel.values import Lot

__all__ = [
    "Kind", "is_plated", "kind_of", "perhaps_cast", "scrap_classes", "solder_fineness", "yield_of",
]  # fmt: skip

#: A band quoted as (low, high) is taken as four standard deviations wide.
BAND_SDS = 4
#: A lot with more solder than this is solder.
MOST_SOLDER = 0.5


@dataclass(frozen=True, slots=True)
class Kind:
    """A lot's class of scrap and form as the tables describe them; shares as fractions.

    `says` is the evidence code of what such a lot says of itself; the class lies `bias`
    above its word, uncertain by `bias_sd` for the whole class and `own_sd` for each lot.
    `solder` is (mean, sd) by mass, `solder_assumed` where the lot did not say.
    `yield_fraction` (mean, sd) is grams of metal out per gram in, and `yield_key` the form
    or class whose yield that is ("": the lot's own); `dirt` the part of a gram that is no
    metal. `article`: a made thing that somebody may want whole.
    """

    scrap_class: str
    says: str
    bias: float
    bias_sd: float
    own_sd: float
    solder: tuple[float, float]
    solder_assumed: bool
    yield_fraction: tuple[float, float]
    dirt: float
    bought: bool
    owned: bool
    article: bool
    yield_key: str = ""


def scrap_classes(tables: Tables) -> tuple[str, ...]:
    """The classes of scrap there are."""
    return tuple(tables.table("scrap_classes"))


def kind_of(lot: Lot, tables: Tables) -> Kind:
    """Class and form of a lot; BadInput for a class that no table lists.

    A lot without a class takes that of its form; a house's own classes are laid over the
    table `scrap_classes`.
    """
    form = tables.row("scrap_forms", lot.form)
    name = lot.scrap_class or form.text("class")
    classes = tables.table("scrap_classes")
    if name not in classes:
        raise BadInput(
            f"lots.{lot.id}.scrap_class", name, ", ".join(classes),
            "Write one of the classes, or lay your own over the table scrap_classes.",
        )  # fmt: skip
    row = classes[name]
    solder, assumed = _solder(lot, row, form, tables)
    yield_key, yield_fraction = _yield(lot, name, tables)
    return Kind(
        scrap_class=name,
        says=row.text("says"),
        bias=row.number("bias") * MILLESIMAL,
        bias_sd=row.number("bias_sd") * MILLESIMAL,
        own_sd=row.number("own_sd") * MILLESIMAL,
        solder=solder,
        solder_assumed=assumed,
        yield_fraction=yield_fraction,
        yield_key=yield_key,
        dirt=form.number("dirt") / 100,
        bought=row.text("bought") == "yes",
        owned=row.text("owned") == "yes",
        article=form.text("article") == "yes",
    )


def is_plated(lot: Lot) -> bool:
    """Plated or filled metal by what was seen of it."""
    return lot.flags.get("plated") == "yes" or "plated" in lot.barred


def perhaps_cast(lot: Lot) -> bool:
    """Cast metal of which nobody has said whether its grain was made for casting."""
    return lot.made_for == "unknown" and lot.form in ("casting", "sprue")


def solder_fineness(main: str, piece: float, tables: Tables) -> tuple[float, float]:
    """Mean and sd of the main metal's share in the solder of a piece of share `piece`."""
    row = tables.row("scrap_solders", main)
    below = row.number_or("below_piece", -1.0)
    if below >= 0:
        return max(0.0, piece - below * MILLESIMAL), row.number("below_sd") * MILLESIMAL
    return row.number("fineness") * MILLESIMAL, row.number("fineness_sd") * MILLESIMAL


def _solder(lot: Lot, row: Row, form: Row, tables: Tables) -> tuple[tuple[float, float], bool]:
    share, spread = lot.solder_share
    if lot.form == "solder":
        return (0.0, 0.0), False
    if share > MOST_SOLDER:
        raise BadInput(
            f"lots.{lot.id}.solder_share", share, f"0 to {MOST_SOLDER:g}",
            "Enter what is mostly solder as form solder, with the solder's own fineness.",
        )  # fmt: skip
    if spread > 0:
        return (share, spread), False
    if share > 0:
        return (share, share * figure("solder_sd_relative", tables)), False
    share = row.number_or("solder", form.number("solder"))
    spread = row.number_or("solder_sd", form.number("solder_sd"))
    return (share, spread), share > 0


def yield_of(form: str, scrap_class: str, tables: Tables) -> tuple[str, tuple[float, float]]:
    """Whose yield it is ("class:..." where the class sets one, else "form:..."), mean and sd.

    BadInput for a form or class that no table lists.
    """
    forms, classes = tables.table("scrap_forms"), tables.table("scrap_classes")
    if form not in forms:
        raise BadInput("form", form, ", ".join(forms), "Write one of the forms.")
    name = scrap_class or forms[form].text("class")
    if name not in classes:
        raise BadInput("scrap_class", name, ", ".join(classes), "Write one of the classes.")
    by_class = classes[name].number_or("yield_fraction", 0.0)
    if by_class:
        return f"class:{name}", (by_class, classes[name].number("yield_sd"))
    row = forms[form]
    band = row.number("loss_hi") - row.number("loss_lo")
    return f"form:{form}", (1 - row.number("loss") / 100, band / BAND_SDS / 100)


def _yield(lot: Lot, name: str, tables: Tables) -> tuple[str, tuple[float, float]]:
    if lot.flags.get("filled_or_weighted") == "yes":
        return "", (figure("weighted_metal", tables), figure("weighted_metal_sd", tables))
    return yield_of(lot.form, name, tables)
