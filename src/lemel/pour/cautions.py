"""What can hurt at the pour, each at its step. Local codes and the makers' manuals come first."""

from __future__ import annotations

from lemel.tables import Tables, shipped
from lemel.values import Caution, Mould, Quantity, Saying

__all__ = ["cautions", "rehearsal"]


def cautions(
    mould: Mould | None, dry_c: float, tables: Tables | None = None
) -> tuple[Caution, ...]:
    """The cautions of this pour, in the order in which they are needed."""
    rows = (tables or shipped()).rows("pour_caution")
    return tuple(
        Caution(
            row.text("code"),
            row.text("at"),
            row.trust,
            row.source,
            {"dry": Quantity(dry_c, "degC")} if row.text("code") == "pour.care.mould_dry" else {},
        )
        for row in rows
        if row.text("when") == "always" or (mould is not None and _applies(row.text("when"), mould))
    )


def _applies(when: str, mould: Mould) -> bool:
    return when == "mould" or (when == "oil" and "oil" in mould.coating)


def rehearsal(mould: Mould | None) -> tuple[Saying, ...]:
    """What is walked through cold before the fire is lit."""
    if mould is None:
        return (Saying("pour.rehearse.dish"), Saying("pour.rehearse.people"))
    return tuple(
        Saying(code, {"mould": mould.id} if code == "pour.rehearse.mould" else {})
        for code in (
            "pour.rehearse.path", "pour.rehearse.mould", "pour.rehearse.tongs",
            "pour.rehearse.tilt", "pour.rehearse.sand", "pour.rehearse.people",
        )
    )  # fmt: skip
