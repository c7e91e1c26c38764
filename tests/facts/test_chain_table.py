"""The whole chain through the fact graph, against an independent computation of ten machines.

The reference figures were computed apart from this code with scipy from the closed forms
(conduction into a cylinder: Carslaw and Jaeger, Conduction of Heat in Solids, ch. 7; pull-out
torque: Acarnley, Stepping Motors; Johnson and Euler columns: any strength-of-materials text).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import pytest

from advisor.facts.graph import FactBook

COLUMNS = (
    "flow.melt",
    "flow.heater",
    "flow.torque",
    "flow.skip",
    "force.grip",
    "flow.grip",
    "flow.slip",
    "force.buckling",
    "flow.buckling",
    "flow.capacity",
)
LONG = {"hotend.melt_length": 19.6, "hotend.split_length": 4.9, "hotend.channels": 3.0}
MOTOR_C = {
    "motor.rated_current": 1.68,
    "motor.holding_torque": 0.4,
    "motor.resistance": 1.65,
    "motor.inductance": 3.2,
    "motor.detent_torque": 18.0,
    "motor.run_current": 0.95,
    "drive.gear_ratio": 50 / 17,
    "drive.stages": 1.0,
    "drive.rotation_distance": 22.7,
}
MIDDLE = {"drive.gear_ratio": 7.5, "drive.rotation_distance": 37.2}
SOFT = {"filament.material": "pla-soft"}
ROWS: tuple[tuple[str, Mapping[str, Any], str], ...] = (
    ("standard zone", {}, "11.142 76.369 9.796 11.492 76.468 9.681 12.690 141.322 16.149 9.681"),
    ("split nozzle", LONG,
     "26.207 76.369 23.040 27.029 76.468 22.771 29.847 141.322 37.982 22.771"),
    ("middle gears", {**LONG, **MIDDLE},
     "26.207 76.369 23.037 27.025 67.958 21.700 28.536 141.322 37.982 21.700"),
    ("long motor, small gears", {**LONG, **MOTOR_C},
     "26.207 76.369 33.912 39.392 53.086 19.561 25.940 141.322 37.982 19.561"),
    ("the same, soft PLA", {**LONG, **MOTOR_C, **SOFT},
     "26.544 79.624 34.348 39.898 35.391 16.495 22.350 94.396 33.307 16.495"),
    ("big gears, soft PLA", {**LONG, **SOFT},
     "26.544 79.624 23.337 27.377 50.979 19.468 25.860 94.396 33.307 19.468"),
    ("PETG", {"filament.material": "petg", "hotend.temperature": 240.0},
     "13.954 71.212 12.268 14.392 61.175 11.061 14.593 112.579 18.647 11.061"),
    ("TPU 95A", {"filament.material": "tpu-95a", "hotend.temperature": 230.0},
     "14.361 76.271 12.626 14.811 11.470 3.830 7.105 17.605 9.892 3.830"),
    ("0.2 mm nozzle", {"nozzle.diameter": 0.2},
     "11.142 76.369 7.548 9.774 76.468 7.387 11.225 141.322 15.139 7.387"),
    ("2.85 mm filament", {"filament.diameter": 2.85},
     "11.142 76.369 6.915 8.112 97.585 7.532 9.819 379.769 16.224 6.915"),
)  # fmt: skip


@pytest.mark.parametrize(
    ("changes", "figures"), [row[1:] for row in ROWS], ids=[r[0] for r in ROWS]
)
def test_the_nominal_machine_agrees_with_an_independent_computation(
    machine: Callable[..., FactBook],
    nominal: Callable[[FactBook, str], float],
    changes: Mapping[str, Any],
    figures: str,
) -> None:
    """Each limit of each machine agrees to 0.5 %."""
    book = machine(changes)
    made = [nominal(book, name) for name in COLUMNS]
    assert made == pytest.approx([float(figure) for figure in figures.split()], rel=5e-3)


def test_trade_facts_come_out(
    machine: Callable[..., FactBook], nominal: Callable[[FactBook, str], float]
) -> None:
    """Small gears give way on soft filament before big ones; common practice, no source."""
    small = machine({**LONG, **MOTOR_C, **SOFT})
    big = machine({**LONG, **SOFT})
    assert nominal(small, "flow.grip") < nominal(big, "flow.grip")
    assert nominal(small, "flow.grip") < nominal(small, "flow.torque")


def test_a_nozzle_below_the_core_temperature_melts_nothing(
    machine: Callable[..., FactBook], nominal: Callable[[FactBook, str], float]
) -> None:
    """PLA at 140 degC has a core that never flows: every flow limit through the hotend is 0."""
    book = machine({"hotend.temperature": 140.0})
    assert nominal(book, "flow.melt") == 0.0
    assert nominal(book, "flow.capacity") == 0.0


def test_no_credit_above_the_materials_range(
    machine: Callable[..., FactBook], nominal: Callable[[FactBook, str], float]
) -> None:
    """PLA at 300 degC melts no more than at 240 degC, its range plus 10 K."""
    hot, hottest = (machine({"hotend.temperature": t}) for t in (240.0, 300.0))
    assert nominal(hot, "flow.melt") == nominal(hottest, "flow.melt")
