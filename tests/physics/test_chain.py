"""The whole chain, from motor to nozzle, against an independent computation of fifteen machines.

Built here from the physics functions alone, with the material and machine numbers written out in
`hand_chain`, which computes the same without them. Agreement asked for: 0.5 %.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np
import pytest
from hand_chain import BASE, COLUMNS, LONG, MIDDLE, MOTOR_C, STUFF, TABLE, hand_chain
from hypothesis import given, settings, strategies as st
from tiers import examples

from advisor.physics import drive, grip, limits, melt, motor

ZERO = 273.15
CAPACITY = ("torque", "grip", "buckling", "melt", "heater")


def hotend(case: Mapping[str, Any]) -> tuple[float, float, dict[str, float]]:
    """Melt limit, heater limit, and the arguments of the force law."""
    diffusivity, density, heat, crystals, _, _, core, reference, factor, _, guide = STUFF[
        case["material"]
    ]
    area = drive.filament_area(case["diameter"] * 1e-3)
    temperatures = {"wall_temperature": case["wall"] + ZERO, "inlet_temperature": 25.0 + ZERO}
    bores = {"bore": case["bore"] * 1e-3, "reference_bore": 0.4e-3}
    length = melt.effective_melt_length(
        case["zone"] * 1e-3, split_length=case["split"] * 1e-3, channels=case["channels"]
    )
    melts = melt.melt_flow(
        diffusivity=diffusivity * 1e-6,
        melt_length=melt.heated_length(length, reference_length=12.5e-3, exponent=0.85),
        critical_fourier=melt.critical_fourier(
            core_temperature=core + ZERO,
            widest_bore=1.2e-3,
            bore_exponent=0.65,
            **bores,
            **temperatures,
        ),
        correction=factor,
    )
    heats = melt.heater_flow(
        heater_power=50.0,
        heat_loss=15.0,
        heat_per_volume=melt.heat_per_volume(
            density=density, specific_heat=heat, melting_enthalpy=crystals, **temperatures
        ),
    )
    law = {
        "guide_force": guide,
        "reference_force": melt.reference_force(
            50.0,
            filament_area=area,
            reference_area=drive.filament_area(1.75e-3),
            wall_temperature=case["wall"] + ZERO,
            reference_temperature=reference + ZERO,
            sensitivity=0.030,
        ),
        "reference_flow": melt.reference_flow(melts, exponent=1.9, **bores),
        "exponent": 2.8,
        "bracket": 400e-9,
    }
    return melts, heats, law


def machine(case: Mapping[str, Any]) -> dict[str, float]:
    return {
        "filament_area": drive.filament_area(case["diameter"] * 1e-3),
        "gear_ratio": case["ratio"],
        "efficiency": drive.train_efficiency(0.95, stages=case["stages"]),
        "rotation_distance": case["distance"] * 1e-3,
        "current_rms": case["amps"],
        "torque_constant": motor.torque_constant(
            holding_torque=case["holding"], rated_current=case["rated"], phases_on=2
        ),
        "resistance": case["ohm"] + 0.45,
        "inductance": case["mH"] * 1e-3,
        "pole_pairs": 50.0,
        "voltage": case["volts"],
        "detent_torque": case["detent"],
    }


def forces(case: Mapping[str, Any]) -> tuple[float, float]:
    """Grip and buckling force."""
    *_, strength, modulus, _, _, _, bite, _ = STUFF[case["material"]]
    holds = grip.grip_force(
        driven_gears=2,
        fill=0.5,
        shear_strength=0.66 * strength * 1e6,
        engagement=bite * 1e-3,
        gear_radius=drive.drive_radius(case["distance"] * 1e-3),
        filament_radius=case["diameter"] * 0.5e-3,
        correction=0.8,
    )
    folds = grip.buckling_force(
        modulus=modulus * 1e6,
        yield_strength=strength * 1e6,
        diameter=case["diameter"] * 1e-3,
        free_length=4e-3,
        end_factor=0.7,
    )
    return holds, folds


def chain(**changes: object) -> dict[str, float]:
    """Every limit in mm3/s and the two forces in N."""
    case = {**BASE, **changes}
    melts, heats, law = hotend(case)
    holds, folds = forces(case)
    at = limits.flow_where_force_is
    flows = {
        "melt": melts,
        "heater": heats,
        "torque": limits.torque_flow(usable_share=2 / 3, **machine(case), **law).flow,
        "skip": limits.torque_flow(usable_share=1.0, **machine(case), **law).flow,
        "grip": at(0.7 * holds, **law).flow,
        "slip": at(holds, **law).flow,
        "buckling": at(folds + law["guide_force"], **law).flow,
    }
    return {name: flow * 1e9 for name, flow in flows.items()} | {
        "F_grip": holds,
        "F_buckle": folds,
    }


@pytest.mark.parametrize(
    ("changes", "expected", "bottleneck"), [row[1:] for row in TABLE], ids=[row[0] for row in TABLE]
)
def test_chain(changes, expected, bottleneck):
    """Seven limits, two forces and the bottleneck of each machine, two ways."""
    found, by_hand = chain(**changes), hand_chain(changes)

    figures = [float(text) for text in expected.split()]
    assert [float(found[name]) for name in COLUMNS] == pytest.approx(figures, rel=5e-3)
    assert [by_hand[name] for name in COLUMNS] == pytest.approx(figures, rel=5e-3)
    capacity, place = limits.lowest([found[name] for name in CAPACITY])
    assert CAPACITY[int(place)] == bottleneck
    assert capacity == found[bottleneck]


@settings(deadline=None, max_examples=examples(10, 60, 60))
@given(
    st.sampled_from(sorted(STUFF)),
    st.integers(-15, 10),
    st.floats(8.0, 52.0),
    st.floats(0.15, 1.2),
    st.sampled_from([1.75, 2.85]),
    st.floats(0.2, 1.6),
    st.floats(9.0, 36.0),
)
def test_chain_of_any_machine(material, hotter, zone, bore, diameter, amps, volts):
    """Machines nobody picked, beyond the corner speed too: both computations agree to 0.5 %."""
    changes = {
        "material": material, "wall": STUFF[material][7] + hotter, "zone": zone, "bore": bore,
        "diameter": diameter, "amps": amps, "volts": volts,
    }  # fmt: skip
    found, by_hand = chain(**changes), hand_chain(changes)

    assert [float(found[n]) for n in COLUMNS] == pytest.approx(
        [by_hand[n] for n in COLUMNS], rel=5e-3
    )


@pytest.mark.parametrize(
    ("changes", "limit", "flow"),
    [
        (LONG, "skip", 24.0),
        ({**LONG, **MIDDLE}, "skip", 24.0),
        ({**LONG, **MOTOR_C}, "grip", 20.0),
        ({}, "melt", 11.0),
        ({"material": "tpu-95a", "wall": 230}, "grip", 5.5),
        ({"material": "tpu-95a", "wall": 230, **MOTOR_C}, "grip", 5.5),
        ({"bore": 0.2}, "skip", 3.0),
    ],
)
def test_chain_against_the_trade(changes, limit, flow):
    """Common practice, no source: within a sixth of what such machines are said to do.

    A geared pancake on big twin gears skips at about 24 mm3/s through a split nozzle, and on
    mid-size gears at the same; small twin gears on a full-size motor give out at about 20; a
    12 mm zone melts 10 to 12 through 0.4 mm; TPU 95A prints at 3 to 8 on twin gears; about 3 come
    through a 0.2 mm bore whatever the drive.
    """
    assert chain(**changes)[limit] == pytest.approx(flow, rel=1 / 6)


def test_small_gears_lose_more_on_soft_filament_than_big_ones():
    """Common practice, no source: soft filament costs grip, bigger gears hold it better."""
    gears = {**LONG, **MOTOR_C}
    small = chain(**gears)["grip"], chain(**gears, material="pla-soft")["grip"]
    big = chain(**LONG)["grip"], chain(**LONG, material="pla-soft")["grip"]

    assert small[1] < small[0]
    assert small[1] < big[1] < big[0]


@pytest.mark.parametrize("wall", [20.0, 145.0])
def test_a_cold_hotend_passes_nothing(wall):
    """At or below the core's temperature every limit of the hotend's resistance is 0."""
    found = chain(wall=wall)

    flows = [found[name] for name in ("melt", "torque", "skip", "grip", "slip", "buckling")]
    assert flows == [0.0] * 6
    assert np.isfinite(found["heater"])


@pytest.mark.parametrize(
    ("turn", "flow", "speed", "force"),
    [(0.09, 24.0, 2.013, 52.4), (0.10, 24.0, 2.013, 58.9), (0.14, 24.0, 2.013, 84.7)],
)
def test_stall_force_of_a_geared_pancake(turn, flow, speed, force):
    """Holding torque 0.09-0.14 N m at 0.566 A, 9.5:1, 47.1 mm, efficiency 0.9, less detent."""
    case = {**machine(BASE)} | {"efficiency": 0.9}
    case["torque_constant"] = motor.torque_constant(
        holding_torque=turn, rated_current=1.0, phases_on=2
    )
    feed = drive.filament_speed(flow * 1e-9, filament_area=case["filament_area"])

    found = limits.motor_force(flow * 1e-9, usable_share=1.0, **case)

    turns = feed / drive.travel_per_motor_turn(gear_ratio=9.5, rotation_distance=47.1e-3)
    assert turns == pytest.approx(speed, abs=6e-4)
    assert found == pytest.approx(force, abs=0.06)
    assert math.isclose(feed, 9.978e-3, rel_tol=1e-4)
