"""One reading or stamp as a row: what it says, how far off it may be, whose error it shares."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from lemel.errors import BadInput
from lemel.scrap.balance import beside_main
from lemel.scrap.density import fineness_from_density
from lemel.scrap.lots import Kind
from lemel.scrap.methods import Method, figure, method
from lemel.tables import Tables
from lemel.values import Lot, Reading

__all__ = ["COMMON", "Statement", "from_reading", "from_stated"]

#: The least own sd of any evidence (mass fraction): nobody reads better than this.
LEAST_OWN_SD = 1e-6
#: The part of the classes' biases that all classes of old metal share.
COMMON = "scrap:common"


@dataclass(frozen=True, slots=True)
class Statement:
    """One piece of evidence about a body: value = truth + loads . z + error of variance var.

    `value` is what was said, mended by the method's shift. `sets_prior`: a statement such
    as a stamp, which stands in for a prior. `whole`: it speaks of the whole melt of the
    body, solder included. `source` names whose error it shares.
    """

    id: str
    on: str
    method: Method
    said: float
    value: float
    var: float
    loads: Mapping[str, float]
    sets_prior: bool
    whole: bool
    source: str


def from_reading(
    reading: Reading,
    how: Method,
    *,
    lot: Lot | None,
    kind: Kind | None,
    main: str,
    use: str | None,
    melted: bool,
    tables: Tables,
) -> Statement:
    """A reading on a lot, or on a heat (`lot` None), as a statement.

    `use` is the heat that the lot went into, if any; `melted`: the body came out of a heat,
    so a stamp sets no prior.
    """
    said = _said(reading, lot, main, tables)
    own = how.sd_own if reading.sd_own is None else reading.sd_own
    common = how.sd_common if reading.sd_shared is None else reading.sd_shared
    sets_prior = how.kind == "says" and not melted
    drilled = figure("drill_sd", tables) if reading.sample == "drill" and main == "Ag" else 0.0
    bare = Statement(
        id=reading.id,
        on=reading.on,
        method=how,
        said=said,
        value=said + how.shift,
        var=own**2 + drilled**2,
        loads=_common_loads(how, common, reading.source, -1.0 if how.kind == "says" else 1.0),
        sets_prior=sets_prior,
        whole=melted or how.sees == "whole",
        source=reading.source,
    )
    return _not_exact(_with_class(bare, kind, use, tables) if sets_prior and kind else bare)


def from_stated(lot: Lot, kind: Kind, main: str, use: str | None, tables: Tables) -> Statement:
    """What the lot itself says (stamp, invoice, owner), by the way its class speaks."""
    how = method(kind.says, main, tables)
    if lot.stated is None:
        raise BadInput(f"lots.{lot.id}.stated", None, "a stated alloy", "State it or read it.")
    said = lot.stated.share(main)
    bare = Statement(
        id=f"{lot.id}:stated",
        on=lot.id,
        method=how,
        said=said,
        value=said + how.shift,
        var=how.sd_own**2,
        loads=_common_loads(how, how.sd_common, "", -1.0),
        sets_prior=True,
        whole=how.sees == "whole",
        source="",
    )
    return _not_exact(_with_class(bare, kind, use, tables))


def _not_exact(s: Statement) -> Statement:
    return replace(s, var=max(s.var, LEAST_OWN_SD**2))


def _said(reading: Reading, lot: Lot | None, main: str, tables: Tables) -> float:
    if main in reading.values:
        return reading.values[main]
    if reading.density_g_cm3 is None:
        raise BadInput(
            f"readings.{reading.id}.values", sorted(reading.values), f"a share of {main}",
            f"Write how much {main} was read.",
        )  # fmt: skip
    if reading.method == "density-binary":
        beside = {"Ag": 1.0} if main == "Au" else {"Cu": 1.0}
        return fineness_from_density(reading.density_g_cm3, main, beside, tables)
    if reading.method == "density-gold":
        ends = [
            fineness_from_density(reading.density_g_cm3, main, {e: 1.0}, tables)
            for e in ("Ag", "Cu")
        ]
        return sum(ends) / 2
    return fineness_from_density(
        reading.density_g_cm3, main, beside_main(lot, main, tables), tables
    )


def _common_loads(how: Method, common: float, source: str, sign: float) -> dict[str, float]:
    """The shared error in two parts: of the method everywhere, of the instrument that day.

    Readings without a named source are taken to share one, the cautious way.
    """
    loads = {}
    if common > 0 and how.method_share > 0:
        loads[f"method:{how.code}"] = sign * common * how.method_share**0.5
    if common > 0 and how.method_share < 1:
        name = source or f"unnamed {how.code}"
        loads[f"source:{name}"] = sign * common * (1 - how.method_share) ** 0.5
    return loads


def _with_class(bare: Statement, kind: Kind, use: str | None, tables: Tables) -> Statement:
    """The statement of a lot of a class: the class's bias, its spread, the lot's own spread.

    The class bias is learnt from heats, but never better than the drift from one use of
    the class to the next; the lots of one heat share theirs, those in the drawer theirs.
    What makes one class of old metal poorer than its word (wear, solder, a loose trade)
    does not spare the others: a share of the variance is common to all classes that are
    not the shop's own or new metal.
    """
    if not bare.method.class_applies:
        return bare
    drift = min(kind.bias_sd, figure("drift_sd", tables))
    learnt = kind.bias_sd**2 - drift**2
    common = 0.0 if kind.owned else figure("class_common_share", tables)
    loads = dict(bare.loads)
    if learnt > 0:
        alone = (learnt * (1 - common)) ** 0.5
        loads |= {f"class:{kind.scrap_class}": -alone} if alone > 0 else {}
        loads |= {COMMON: -((learnt * common) ** 0.5)} if common > 0 else {}
    if drift > 0:
        loads[f"drift:{kind.scrap_class}:{use or 'drawer'}"] = -drift
    return replace(bare, value=bare.value + kind.bias, var=bare.var + kind.own_sd**2, loads=loads)
