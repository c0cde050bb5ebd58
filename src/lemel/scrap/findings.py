"""What the evidence itself asks for before a lot may be trusted in a heat."""

from __future__ import annotations

from collections.abc import Mapping

from lemel.scrap.evidence import Evidence
from lemel.scrap.faces import Health
from lemel.scrap.lots import perhaps_cast
from lemel.scrap.methods import figure, may_prove
from lemel.scrap.sift import Clash, Sifted
from lemel.tables import Tables
from lemel.values import Caution, Objection, Quantity, Saying, SayingValue

__all__ = ["cautions", "findings", "ill_health", "share_limits", "state_of_health"]

#: A test finds a plated or filled piece out if it does so more often than not.
FINDS_OUT = 0.5


def findings(
    evidence: Evidence,
    sifted: Sifted,
    doubt: Mapping[str, float],
    limits: Mapping[str, tuple[float, str]],
    tables: Tables,
) -> tuple[Objection, ...]:
    """All objections that the evidence raises, by lot id and code."""
    found = [o for clash in sifted.aside for o in _from_clash(evidence, clash)]
    found += [*evidence.asked, *_weak_proofs(evidence, tables)]
    found += _below_mark(sifted)
    most = figure("doubt_most", tables)
    standing = {s.id for s in sifted.used}
    for name in evidence.lots:
        if name in evidence.bars:
            continue
        found += _untested(evidence, standing, name)
        found += _doubtful(evidence, name, doubt[name], most)
        if evidence.kinds[name].solder_assumed:
            share, spread = evidence.kinds[name].solder
            found.append(
                Objection(
                    "scrap.solder_assumed", name, "note",
                    {"lot": name, "share": _percent(share), "spread": _percent(spread)},
                    Saying("scrap.do.state_solder", {"lot": name}),
                )
            )  # fmt: skip
        if name in limits and limits[name][1] != "casting":  # the gates tell that one
            share, why = limits[name]
            found.append(
                Objection(
                    f"scrap.share_limit.{why}", name, "note",
                    {"lot": name, "share": _percent(share)},
                    Saying("scrap.do.test_for_more", {"lot": name}),
                )
            )  # fmt: skip
    return tuple(sorted(found, key=lambda o: (o.about, o.code, str(o.values.get("reading", "")))))


def ill_health(looked_back: Health | None) -> tuple[Objection, ...]:
    """A word of warning where the last heats lay farther off than the errors allow."""
    if looked_back is None or looked_back.verdict != "overconfident":
        return ()
    values = {"heats": len(looked_back.z), "square": round(looked_back.mean_square, 2)}
    return (
        Objection(
            "scrap.overconfident",
            looked_back.z[-1][0],
            "note",
            values,
            Saying("scrap.do.widen", {}),
        ),
    )


def state_of_health(looked_back: Health | None) -> tuple[Saying, ...]:
    """One sentence on how honest the spreads were; nothing without assayed heats."""
    if looked_back is None:
        return ()
    values = {"heats": len(looked_back.z), "square": round(looked_back.mean_square, 2)}
    return (Saying(f"scrap.health.{looked_back.verdict}", values),)


def share_limits(
    evidence: Evidence, sifted: Sifted, tables: Tables
) -> dict[str, tuple[float, str]]:
    """Lots whose evidence bears only a small share of a heat: (most share, why)."""
    found: dict[str, tuple[float, str]] = {}
    standing = {s.id for s in sifted.used}
    for name, lot in evidence.lots.items():
        if name in evidence.bars:
            continue
        used = [s for s in evidence.on(name) if s.id in standing]
        limits: list[tuple[float, str]] = []
        if not any(not s.sets_prior and s.method.standing >= 2 for s in used):
            words = [s for s in used if s.sets_prior]
            best = max(words, key=lambda s: s.method.standing, default=None)
            if any(s.method.code == "touch-gold" for s in used):
                limits.append((figure("touch_share_most", tables), "touch"))
            elif best is not None and best.method.share_most is not None:
                limits.append((best.method.share_most, "word"))
        bought_cast = perhaps_cast(lot) and not evidence.kinds[name].owned
        if lot.made_for == "casting" or bought_cast:
            limits.append((figure("cast_share_most", tables), "casting"))
        if limits:
            found[name] = min(limits)
    return found


def cautions(evidence: Evidence) -> tuple[Caution, ...]:
    """What may hurt when these lots are melted, at the step where it does."""
    found: list[Caution] = []
    for name, lot in evidence.lots.items():
        if lot.form == "filings":
            found.append(Caution("scrap.caution.filings", "charge", values={"lot": name}))
        solder = evidence.kinds[name].solder != (0.0, 0.0)
        if solder and lot.flags.get("cadmium_solder", "unknown") != "no":
            found.append(
                Caution("scrap.caution.old_solder", "melt", "read", "hse_eis31", {"lot": name})
            )
        if lot.form in ("hollowware", "jewellery"):
            found.append(
                Caution("scrap.caution.hollow", "charge", "practice", "hse_molten", {"lot": name})
            )
    return tuple(found)


def _from_clash(evidence: Evidence, clash: Clash) -> list[Objection]:
    s = clash.statement
    values: dict[str, SayingValue] = {
        "reading": s.id,
        "method": s.method.code,
        "fineness": _fineness(s.said),
        "expected": _fineness(clash.expected),
        "sds": Quantity(round(clash.sds, 2), "1"),
    }
    if clash.why == "unfit":
        remedy = Saying("scrap.do.other_method", {"lot": s.on})
        return [Objection("scrap.method_unfit", s.on, "note", {"lot": s.on, **values}, remedy)]
    if s.on in evidence.heats:
        lots = [lot for lot, _ in evidence.heats[s.on].on]
        return [
            Objection(
                "scrap.heat_surprise", lot, "ask", {"lot": lot, "heat": s.on, **values},
                Saying("scrap.do.assay_remainder", {"lot": lot, "heat": s.on}),
            )
            for lot in lots
        ]  # fmt: skip
    if s.sets_prior:
        code, do = "scrap.stamp_aside", "scrap.do.withdraw_stamp"
    elif clash.why == "prior":
        code, do = "scrap.reading_aside", "scrap.do.cut_and_test"
    else:
        code, do = "scrap.readings_contradict", "scrap.do.read_again"
    return [Objection(code, s.on, "ask", {"lot": s.on, **values}, Saying(do, {"lot": s.on}))]


def _weak_proofs(evidence: Evidence, tables: Tables) -> list[Objection]:
    """Readings on a heat that teach, but prove nothing to a third party."""
    found = []
    for s in evidence.statements:
        if s.on in evidence.heats or s.on in evidence.bars:
            sample = evidence.readings[s.id].sample
            proves = may_prove(s.method.code, evidence.main, sample=sample, tables=tables)
            if proves != "heat":
                values: dict[str, SayingValue] = {
                    "heat": s.on,
                    "reading": s.id,
                    "method": s.method.code,
                }
                remedy = Saying("scrap.do.dip_and_assay", {"heat": s.on})
                found.append(Objection("scrap.proof_weak", s.on, "note", values, remedy))
    return found


def _below_mark(sifted: Sifted) -> list[Objection]:
    """Marks that promise a least fineness which the metal, as believed, does not have.

    The floor of a mark is law for honest goods, not knowledge: it never lifts a belief.
    """
    believed = sifted.posterior.part_beliefs()
    found = []
    for s in sifted.used:
        if not s.sets_prior or s.method.floor is None or s.on not in believed:
            continue
        (mean, sd), least = believed[s.on], s.said + s.method.floor
        if least - mean > sd:
            values: dict[str, SayingValue] = {
                "lot": s.on, "method": s.method.code,
                "least": _fineness(least), "believed": _fineness(mean),
            }  # fmt: skip
            remedy = Saying("scrap.do.cut_and_test", {"lot": s.on})
            found.append(Objection("scrap.below_mark", s.on, "note", values, remedy))
    return found


def _untested(evidence: Evidence, standing: set[str], name: str) -> list[Objection]:
    said = evidence.on(name)
    remedy = Saying("scrap.do.test", {"lot": name})
    if not said:
        return [Objection("scrap.nothing_known", name, "ask", {"lot": name}, remedy)]
    tested = any(
        not s.sets_prior and s.method.finds_plate >= FINDS_OUT and s.id in standing for s in said
    )
    words = [s for s in said if s.sets_prior]
    if words and all(s.method.test_first for s in words) and not tested:
        asked = {"lot": name, "method": words[0].method.code}
        return [Objection("scrap.test_first", name, "ask", asked, remedy)]
    return []


def _doubtful(evidence: Evidence, name: str, doubt: float, most: float) -> list[Objection]:
    """A lot that says nothing, or whose readings have raised the doubt, stays out until tested."""
    before = min((s.method.doubt for s in evidence.on(name) if s.sets_prior), default=0.0)
    if doubt <= most or doubt <= before:
        return []
    values: dict[str, SayingValue] = {"lot": name, "doubt": _percent(doubt)}
    return [
        Objection(
            "scrap.doubtful", name, "ask", values, Saying("scrap.do.cut_and_test", {"lot": name})
        )
    ]


def _fineness(share: float) -> Quantity:
    return Quantity(share * 1000, "millesimal")


def _percent(share: float) -> Quantity:
    return Quantity(share * 100, "percent")
