"""The one objection to a weight that no step explains, for acts outside a plan."""

from __future__ import annotations

from lemel.values import Objection, Quantity, SayingValue

__all__ = ["off"]


def off(step: str, body: str, loss_mg: int, allowed_mg: float, answered: bool = False) -> Objection:
    """A loss or a gain that is asked about; a note where it was answered for."""
    values: dict[str, SayingValue] = {
        "step": f"{step} of {body}",
        "body": body,
        "amount": Quantity(abs(loss_mg) / 1000, "g"),
        "allowed": Quantity(allowed_mg / 1000, "g"),
    }
    code = "book.step.gain" if loss_mg < 0 else "book.step.loss"
    return Objection(code, body, "note" if answered else "stop", values)
