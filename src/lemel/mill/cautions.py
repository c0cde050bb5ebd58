"""The dangers of the mill, where their step is. Always after local codes and the maker's manual."""

from __future__ import annotations

from lemel.mill.build import Task
from lemel.mill.faces import Step
from lemel.values import Caution, Quantity

__all__ = ["cautions_of"]

_BY_TOOL = {
    "flats": (("mill.caution.rolls", "mill"),),
    "groove": (("mill.caution.rolls", "mill"),),
    "hole": (("mill.caution.tongs", "mill"),),
    "hammer": (("mill.caution.hammer", "mill"),),
    "anneal": (
        ("mill.caution.anneal_hot", "anneal"),
        ("mill.caution.pickle", "pickle"),
        ("mill.caution.dry_before_rolls", "mill"),
    ),
    "cut": (("mill.caution.shears", "cut"),),
    "trim": (("mill.caution.shears", "cut"),),
}


def cautions_of(steps: tuple[Step, ...], task: Task) -> tuple[Caution, ...]:
    """Each caution once, in the order of the steps that bring it."""
    seen: dict[str, Caution] = {}
    for step in steps:
        for code, at in _BY_TOOL.get(step.tool, ()):
            values = {}
            if code == "mill.caution.anneal_hot":
                values = {"never": Quantity(_never(task), "degC")}
            seen.setdefault(code, Caution(code, at, "practice", "common_practice", values))
    return tuple(seen.values())


def _never(task: Task) -> float:
    matter = task.matter
    return matter.segregated_solidus_c if task.piece.cast else matter.solidus_c
