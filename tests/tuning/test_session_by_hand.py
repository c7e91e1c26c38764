"""Speed ceilings and the solved acceleration, against the formulas written down once more.

Nothing of the package works these figures out. The bead is geometry: a rectangle with a half
circle at either side. The motor is the steady two-phase model (P. P. Acarnley, Stepping Motors,
4th ed., from memory) by the scan of `hand_chain`; its corner speed, and the acceleration at which
need meets the usable torque or speed its trusted share, are roots found by scipy's brentq. What is
needed is the push of the hotend through the gears (statics) and what rotor and gears take to speed
up (rigid bodies); pressure advance adds its time times the filament's acceleration to the speed.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import pytest
from every import every
from hand_chain import BASE, LONG, MOTOR_C, STUFF, _pull_out
from scipy.optimize import brentq

from advisor.answers.tuning.inside import AtFlow, advance_limits
from advisor.answers.tuning.lines import Lines, ceilings_of
from advisor.base import Band, Case, Fact, Origin, OriginKind, parse_unit
from advisor.catalog import load_catalog
from advisor.machine import ExtruderInputs, Machine, machine_of
from tests.facts.conftest import MACHINE
from tests.facts.test_chain_table import stated

SIZES = ((0.4, 0.1), (0.45, 0.2), (0.6, 0.3))
TRUSTED, USABLE = 0.6, 2 / 3
# rotor and gears in g cm2, advance in s, flow in mm3/s: round figures of no machine
MOVES: Mapping[str, Any] = {"rotor": 10.0, "gears": 2.0, "advance": 0.06, "flow": 6.0}
CASES: list[tuple[dict[str, Any], dict[str, Any]]] = [
    ({}, {}),
    ({}, {"advance": 0.4, "flow": 4.0}),
    ({}, {"rotor": 250.0, "advance": 0.02}),
    ({}, {"flow": 9.5, "advance": 0.03}),
    ({**LONG, **MOTOR_C}, {"rotor": 54.0, "flow": 17.0}),
    ({**LONG, **MOTOR_C}, {"rotor": 600.0, "advance": 0.01, "flow": 12.0}),
    ({"volts": 12.0}, {"advance": 0.15}),
]


def bead(width: float, height: float) -> float:
    """Section of a line in mm2."""
    return (width - height) * height + math.pi * (height / 2) ** 2


@every("flow", [1.0, 8.4, 24.0])
def test_the_ceiling_is_the_flow_over_the_section(flow: float) -> None:
    """At the typical capacity; at the cap the whole mm/s below; a flow ratio divides both."""
    case = Case("", "", Band(flow, flow, flow), round(0.8 * flow, 1))
    lines = Lines(tuple(w / 1e3 for w, _ in SIZES), tuple(h / 1e3 for _, h in SIZES), 0.95)
    rows = ceilings_of(lines, [case])
    assert len(rows) == 9
    for row in rows:
        per = bead(row.width, row.height) * 0.95
        assert row.typical == pytest.approx(flow / per, rel=1e-12)
        assert row.cap is not None
        assert row.cap * per <= round(0.8 * flow, 1) < (row.cap + 1.0) * per


def machine(changes: Mapping[str, Any], moves: Mapping[str, Any]) -> Machine:
    """A machine of the table with what its moves are made of, all of it stated."""
    facts = {
        **MACHINE,
        **stated(changes),
        "motor.usable_share": USABLE,
        "motor.rotor_inertia": moves["rotor"],
        "drive.gear_inertia": moves["gears"],
        "motion.pressure_advance": moves["advance"],
        "motion.max_accel": 5000.0,
        # the table's winding is cold, its driver a flat 0.45 ohm
        "motor.flowing_current": {**BASE, **changes}["amps"],
        "motor.hot_resistance": {**BASE, **changes}["ohm"] + 0.45,
    }
    infos = load_catalog().facts

    def made(name: str, value: Any) -> Fact:
        unit = infos[name].unit
        samples = value if isinstance(value, str) else parse_unit(unit).to_si(value)
        return Fact.of(name, unit, samples, origin=Origin(OriginKind.SHEET))

    facts_of = {name: made(name, value) for name, value in facts.items()}
    return machine_of(ExtruderInputs("extruder", facts_of), load_catalog())


def by_hand(
    changes: Mapping[str, Any], moves: Mapping[str, Any], capacity: float
) -> tuple[float, float]:
    """Where need meets the usable torque at the flow, and speed its share at the capacity, mm3/s.

    Each is an acceleration of the head times a line's section, mm3/s2: only the product counts.
    """
    m = {**BASE, **changes}
    section = math.pi * m["diameter"] ** 2 / 4  # mm2
    travel = m["distance"] / m["ratio"]  # mm of filament per motor turn
    through = 0.95 ** m["stages"]
    inertia = (moves["rotor"] + moves["gears"] / (m["ratio"] ** 2 * through)) * 1e-7  # kg m2

    def turns(product: float) -> float:
        speed = moves["flow"] / section + moves["advance"] * product / section
        return speed / travel

    def short(product: float) -> float:
        """Usable torque less what is needed, [N m]."""
        usable = USABLE * (_pull_out(turns(product), m) - m["detent"])
        push = _push(m, moves["flow"]) * travel / 1e3 / (2 * math.pi * through)
        rate = 2 * math.pi * product / section / travel  # rad/s2 at the motor
        return usable - push - inertia * rate

    corner = _corner(m)
    torque = brentq(short, 0.0, 1e7) if short(0.0) > 0.0 else 0.0
    left = TRUSTED * corner * travel - capacity / section
    return torque, max(left, 0.0) * section / moves["advance"]


def _push(m: Mapping[str, Any], flow: float) -> float:
    """Feed force in N: drag of the guide, and the nozzle's by the power law."""
    alpha, _, _, _, _, _, core, reference, factor, _, guide = STUFF[m["material"]]
    theta = (m["wall"] - core) / (m["wall"] - 25.0)
    length = m["zone"] + (m["channels"] - 1) * m["split"]
    fourier = math.log(1.601975 / theta) / 5.783186  # the first term; theta is below 0.5 here
    melts = factor * math.pi * alpha * 12.5 * (length / 12.5) ** 0.85 / fourier
    return guide + 50.0 * math.exp(-0.030 * (m["wall"] - reference)) * (flow / melts) ** 2.8


def _corner(m: Mapping[str, Any]) -> float:
    """Turns per second at which the whole current takes the whole voltage."""
    peak, ohm, henry = math.sqrt(2.0) * m["amps"], m["ohm"] + 0.45, m["mH"] * 1e-3
    constant = m["holding"] / (math.sqrt(2.0) * m["rated"])

    def over(turns: float) -> float:
        speed = 2 * math.pi * turns  # rad/s of the shaft; 50 electrical periods per turn
        return math.hypot(ohm * peak + constant * speed, 50 * speed * henry * peak) - m["volts"]

    return brentq(over, 0.0, 1000.0)


@every("changes, more", CASES)
def test_the_solved_acceleration_is_the_root(changes: dict[str, Any], more: dict[str, Any]) -> None:
    """Rounded down to 100 mm/s2; the limit named is the lower of the two roots."""
    moves = {**MOVES, **more}
    lines = Lines(tuple(w / 1e3 for w, _ in SIZES), tuple(h / 1e3 for _, h in SIZES))
    made = machine(changes, moves)
    told = advance_limits(made, lines, [AtFlow(None, made, moves["flow"] / 1e9)])
    capacity = (made.book.nominal("flow.capacity") or 0.0) * 1e9
    assert told is not None
    assert len(told.rows) == 9
    torque, speed = by_hand(changes, moves, capacity)
    for row in told.rows:
        due = min(torque, speed) / bead(row.width, row.height)
        if due > 100_000.0:
            assert row.limit is None
            continue
        assert row.limit == ("torque" if torque < speed else "speed")
        assert (row.acceleration or 0.0) == pytest.approx(due, abs=100.0 + 2e-4 * due)
        assert (row.acceleration or 0.0) <= due * (1.0 + 2e-4)


def test_both_limits_bind_somewhere() -> None:
    """The cases above would prove little if speed alone bound."""
    found = set()
    for changes, more in CASES:
        moves = {**MOVES, **more}
        capacity = (machine(changes, moves).book.nominal("flow.capacity") or 0.0) * 1e9
        torque, speed = by_hand(changes, moves, capacity)
        found.add("torque" if torque < speed else "speed")
    assert found == {"torque", "speed"}
