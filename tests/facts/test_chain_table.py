"""The whole chain through the fact graph, against an independent computation of fifteen machines.

The reference figures stand in `hand_chain`: computed apart from this code, and once more with scipy
from the closed forms.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np
import pytest
from hand_chain import COLUMNS, LONG, MOTOR_C, SOFT, TABLE

from advisor.machine.graph import FactBook

FACTS = {  # name in the table: fact
    "material": "filament.material", "wall": "hotend.temperature", "zone": "hotend.melt_length",
    "split": "hotend.split_length", "channels": "hotend.channels", "bore": "nozzle.diameter",
    "diameter": "filament.diameter", "rated": "motor.rated_current",
    "holding": "motor.holding_torque", "ohm": "motor.resistance", "mH": "motor.inductance",
    "detent": "motor.detent_torque", "amps": "motor.run_current", "ratio": "drive.gear_ratio",
    "stages": "drive.stages", "distance": "drive.rotation_distance", "volts": "supply.voltage",
}  # fmt: skip
SCALE = {"detent": 1000.0}  # N m in the table, mN m in the vocabulary


def stated(changes: Mapping[str, Any]) -> dict[str, Any]:
    """The facts of a machine of the table, in the vocabulary's units."""
    return {
        FACTS[name]: value if isinstance(value, str) else float(value) * SCALE.get(name, 1.0)
        for name, value in changes.items()
    }


@pytest.mark.parametrize(
    ("changes", "figures", "bottleneck"), [row[1:] for row in TABLE], ids=[row[0] for row in TABLE]
)
def test_the_nominal_machine_agrees_with_an_independent_computation(
    machine: Callable[..., FactBook],
    nominal: Callable[[FactBook, str], float],
    changes: Mapping[str, Any],
    figures: str,
    bottleneck: str,
) -> None:
    """Each limit of each machine agrees to 0.5 %, and the capacity with the bottleneck."""
    book = machine(stated(changes))
    names = [f"force.{n[2:]}" if n.startswith("F_") else f"flow.{n}" for n in COLUMNS]
    names = [name.replace("force.buckle", "force.buckling") for name in names]
    made = [nominal(book, name) for name in names]
    assert made == pytest.approx([float(figure) for figure in figures.split()], rel=5e-3)
    assert nominal(book, "flow.capacity") == nominal(book, f"flow.{bottleneck}")


def test_trade_facts_come_out(
    machine: Callable[..., FactBook], nominal: Callable[[FactBook, str], float]
) -> None:
    """Small gears give way on soft filament before big ones; common practice, no source."""
    small = machine(stated({**LONG, **MOTOR_C, **SOFT}))
    big = machine(stated({**LONG, **SOFT}))
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


def test_filament_enters_at_most_at_its_softening_temperature(
    machine: Callable[..., FactBook], nominal: Callable[[FactBook, str], float]
) -> None:
    """PA6 in 55 degC air enters at 55; PLA in 80 degC air at the catalogue's 60."""
    polyamide = machine({"filament.material": "pa6", "ambient.motor": 55.0})
    hot = machine({"ambient.motor": 80.0})
    assert nominal(polyamide, "hotend.inlet_temperature") == pytest.approx(55.0)
    assert nominal(hot, "hotend.inlet_temperature") == pytest.approx(60.0)


def test_beyond_the_widest_bore_with_data_only_the_band_grows(
    machine: Callable[..., FactBook], nominal: Callable[[FactBook, str], float]
) -> None:
    """1.2 mm is the widest bore of the published table: 1.8 mm melts the same, less surely."""
    known, wide = (machine({"nozzle.diameter": d}).facts["flow.melt"] for d in (1.2, 1.8))
    assert wide.number.si[0] == known.number.si[0]
    widths = [np.ptp(np.log(np.percentile(fact.number.si, [5, 95]))) for fact in (known, wide)]
    assert widths[1] > 1.2 * widths[0]


def test_a_temperature_nobody_states_may_be_colder_and_as_hot_as_the_range(
    machine: Callable[..., FactBook],
) -> None:
    """PLA: 190 to 230 degC on the spool; typical 220, 15 K colder at the low end."""
    samples = machine({"hotend.temperature": None}).facts["hotend.temperature"].number.si - 273.15
    assert samples[0] == pytest.approx(220.0)
    assert (samples.min(), samples.max()) == pytest.approx((205.0, 230.0), abs=0.1)


def test_a_stated_bite_goes_before_the_materials(
    machine: Callable[..., FactBook], nominal: Callable[[FactBook, str], float]
) -> None:
    """Flexible filament is bitten 0.25 mm deep, hard filament 0.15 mm, unless the sheet says."""
    soft = {"filament.material": "tpu-95a", "hotend.temperature": 230.0}
    assert nominal(machine(soft), "drive.bite_depth") == pytest.approx(0.25)
    assert nominal(machine(), "drive.bite_depth") == pytest.approx(0.15)
    assert nominal(machine({**soft, "drive.bite_depth": 0.1}), "drive.bite_depth") == 0.1
