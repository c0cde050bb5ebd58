"""The fire: which pot, how it is charged, how it is set, what is lost, when it is cold.

Comes in: a `Charge` with the heat at which it must be poured, furnace, pot and torch. Goes out:
`MeltPlan` with fillings, setpoint band, steps, two curves, energy, loss and cautions.
May ask: metal (melting range, heat, density, vapour), tables, values.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from lemel.melt.bath import Bath, bath_of, heat_to_pour_j
from lemel.melt.charging import Heap, Place, fills_by_volume, heap_of, order_of
from lemel.melt.choose import choose_pot, crucible_faults, pot_family, pot_holds_g
from lemel.melt.day import DayHeat, DayPlan, DayProblem, by_family, plan_day
from lemel.melt.day_hands import DayEntry
from lemel.melt.dry import proved_dry
from lemel.melt.events import AddMetal, Event, LidOpen, PourOut, PowerOff, SetTo, simulate
from lemel.melt.faces import (
    ChargeFill,
    MeltCurve,
    MeltPlan,
    MeltProblem,
    MeltStep,
    PotChoice,
)
from lemel.melt.fills import FillPlan, FillRules, fill_rules, greedy_fills, plan_fills
from lemel.melt.forwards import do
from lemel.melt.hands import Act, Timing, in_turn
from lemel.melt.learn import HeatRecord, LossBelief, LossesLearnt, learn_losses
from lemel.melt.life import Inspection, after_melt, between_owners, inspect_pot
from lemel.melt.log import (
    LOG_EVENTS,
    LOG_FORMAT,
    LogLine,
    LogReading,
    MeltLog,
    log_lines,
    read_log,
)
from lemel.melt.loss import LossParts, MeltLoss, expected_loss, fineness_after, loss_parts
from lemel.melt.model import FurnaceModel, furnace_model, parameter_names
from lemel.melt.pot_heat import PotHeat, graphite_j_gk, pot_heat
from lemel.melt.run import Ledger, Run, Trace
from lemel.melt.setpoint import setpoint_band_c
from lemel.melt.torch import TorchMelt, torch_limit_g, torch_melt

if TYPE_CHECKING:
    from lemel.melt.batch import BatchRun, columns_of
    from lemel.melt.fit import Calibration, CalibrationProblem, calibrate
    from lemel.melt.foretell import Band, Prediction, predict
    from lemel.melt.live import LiveAnswer, LiveHeat, start_live

__all__ = [
    "Act", "AddMetal", "Band", "BatchRun", "Bath", "Calibration", "CalibrationProblem",
    "ChargeFill", "DayEntry", "DayHeat", "DayPlan", "DayProblem", "Event", "FillPlan",
    "FillRules", "FurnaceModel", "Heap", "HeatRecord", "Inspection", "LOG_EVENTS", "LOG_FORMAT",
    "Ledger", "LidOpen", "LiveAnswer", "LiveHeat", "LogLine", "LogReading", "LossBelief",
    "LossParts", "LossesLearnt", "MeltCurve", "MeltLog", "MeltLoss", "MeltPlan", "MeltProblem",
    "MeltStep", "Place", "PotChoice", "PotHeat", "PourOut", "PowerOff", "Prediction", "Run",
    "SetTo", "Timing", "TorchMelt", "Trace", "after_melt", "bath_of", "between_owners",
    "by_family", "calibrate", "choose_pot", "columns_of", "crucible_faults", "do",
    "expected_loss", "fill_rules", "fills_by_volume", "fineness_after", "furnace_model",
    "graphite_j_gk", "greedy_fills", "heap_of", "heat_to_pour_j", "in_turn", "inspect_pot",
    "learn_losses", "log_lines", "loss_parts", "order_of", "parameter_names", "plan_day",
    "plan_fills", "pot_family", "pot_heat", "pot_holds_g", "predict", "proved_dry", "read_log",
    "setpoint_band_c", "simulate", "start_live", "torch_limit_g", "torch_melt",
]  # fmt: skip

#: Names that need numpy, and the module that has them: loaded when first asked for.
_LATER = {
    "BatchRun": "batch",
    "columns_of": "batch",
    "Calibration": "fit",
    "CalibrationProblem": "fit",
    "calibrate": "fit",
    "LiveAnswer": "live",
    "LiveHeat": "live",
    "start_live": "live",
    "Band": "foretell",
    "Prediction": "foretell",
    "predict": "foretell",
}


def __getattr__(name: str) -> Any:
    if name not in _LATER:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from importlib import import_module

    module = import_module(f"lemel.melt.{_LATER[name]}")
    for own in [own for own, home in _LATER.items() if home == _LATER[name]]:
        globals()[own] = getattr(module, own)
    return globals()[name]
