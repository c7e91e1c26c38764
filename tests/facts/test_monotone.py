"""More of what helps never gives less: the whole chain, every sample of the ensemble."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings, strategies as st
from tiers import examples, spread, wide

from advisor.machine.graph import FactBook

Machine = Callable[..., FactBook]

RISES = (  # input, its range in trade units, what never falls with it
    ("motor.run_current", (0.1, 0.9), ("flow.torque", "flow.skip", "force.stall")),
    ("motor.holding_torque", (0.05, 0.5), ("flow.torque", "flow.skip")),
    ("motor.rated_current", (0.6, 2.0), ("motor.derated_current",)),
    ("hotend.melt_length", (5.0, 60.0), ("flow.melt", "flow.capacity", "flow.grip")),
    ("hotend.heater_power", (20.0, 100.0), ("flow.heater",)),
    ("hotend.temperature", (150.0, 235.0), ("flow.melt",)),
    ("drive.rotation_distance", (20.0, 50.0), ("force.grip", "flow.grip", "flow.slip")),
    ("nozzle.diameter", (0.2, 1.2), ("flow.melt", "flow.torque")),
    ("drive.driven_gears", (1.0, 2.0), ("force.grip", "flow.grip")),
)
FALLS = (
    ("ambient.motor", (15.0, 110.0), ("motor.derated_current", "motor.current_for_winding")),
    ("drive.free_gap", (1.0, 30.0), ("force.buckling", "flow.buckling")),
    ("hotend.heat_loss", (5.0, 20.0), ("flow.heater",)),
    ("drive.rotation_distance", (20.0, 50.0), ("force.motor", "flow.torque")),
)
CASES = [(*row, 1.0) for row in RISES] + [(*row, -1.0) for row in FALLS]


@wide
@pytest.mark.parametrize(
    ("name", "ends", "watched", "sign"),
    spread(list(CASES), 4),
    ids=lambda part: f"{part:+.0f}" if isinstance(part, float) else str(part),
)
@settings(
    max_examples=examples(5, 12, 12),
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(data=st.data())
def test_the_chain_is_monotone(
    machine: Machine,
    name: str,
    ends: tuple[float, float],
    watched: tuple[str, ...],
    sign: float,
    data: Any,
) -> None:
    """With all else equal, in every sample and not only in the nominal one."""
    low = data.draw(st.floats(*ends))
    high = data.draw(st.floats(low, ends[1]))
    if name == "drive.driven_gears":
        low, high = 1.0, 2.0
    before, after = machine({name: low}), machine({name: high})
    for fact in watched:
        change = np.asarray(after.facts[fact].number.si) - np.asarray(before.facts[fact].number.si)
        scale = np.abs(np.asarray(before.facts[fact].number.si)) + 1e-12
        worst = float(np.min(sign * np.where(np.isfinite(change), change, 0.0) / scale))
        assert worst > -1e-9, f"{fact} with {name} from {low:g} to {high:g}"
