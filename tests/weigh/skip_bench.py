"""A bench on which skip tests are run: it shares no code with what plans or reads them.

A true machine is a handful of numbers. Its driver holds whole steps, each a little off, of a full
scale that is off too; its rotor loses torque where full steps come at its own rate; its magnets
are warm; whoever listens is late, and now and then writes something else down. What the firmware
makes of a current is written here anew, from the drivers' datasheets (in rules/sources.yaml:
driver-two-range, driver-global-scaler, driver-reference).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

Chip = Callable[[float], tuple[float, int]]
"""RMS current and step, 0 to 31, that a chip is set to for a current that is asked of it."""

_ROOT_TWO = math.sqrt(2.0)


def two_range(asked: float, resistor: float = 0.110) -> tuple[float, int]:
    """A chip with a sense resistor; the fine range, 0.18 V, as far as it goes."""
    loop = _ROOT_TWO * (resistor + 0.02)
    step = min(31, max(0, math.floor(32 * asked * loop / 0.18 - 1 + 0.5)))
    return (step + 1) / 32 * 0.18 / loop, step


def scaled(asked: float, resistor: float = 0.075) -> tuple[float, int]:
    """A chip with a global scaler, 32 to 256, and a step where that is not enough."""
    peak = _ROOT_TWO * asked * resistor / 0.325
    scaler = min(256, max(32, math.floor(256 * peak + 0.5)))
    step = min(31, max(0, math.floor(32 * 256 * peak / scaler - 1 + 0.5)))
    return scaler / 256 * (step + 1) / 32 * 0.325 / resistor / _ROOT_TWO, step


@dataclass(frozen=True)
class Machine:
    """A true machine, in SI units; ``step_errors`` are in steps, ``swing`` a share of torque."""

    constant: float
    detent: float
    efficiency: float
    travel: float
    area: float
    drag: float
    push: float
    push_flow: float
    exponent: float
    full_scale: float  # of the driver, real over stated
    inertia: float
    slip: float
    warmth: float
    swing: float
    step_errors: Mapping[int, float]

    def torque(self, chip: Chip, asked: float, flow: float) -> float:
        """What the motor gives at the filament, less what detent and drag take [N m]."""
        current, step = chip(asked)
        current *= self.full_scale * (1.0 + self.step_errors.get(step, 0.0) / (step + 1))
        constant = self.constant * (1.0 - 0.001 * self.warmth)
        peak = constant * _ROOT_TWO * current
        own = math.sqrt(50 * peak / self.inertia) / (2.0 * math.pi)
        rate = flow / self.area / self.travel * 200
        lost = self.swing / (1.0 + ((rate / own - 1.0) / 0.08) ** 2)
        return peak * (1.0 - lost) - self.detent

    def needs(self, flow: float) -> float:
        """What the push through the hot end asks of the motor [N m]."""
        force = self.drag + self.push * (flow / self.push_flow) ** self.exponent
        return force * self.travel / (2.0 * math.pi * self.efficiency)

    def clicks(self, chip: Chip, asked: float, flow: float, law: float) -> bool:
        """Whether the motor skips at a flow; the law of the push may be a little off there."""
        return self.needs(flow * law) > self.torque(chip, asked, flow)


@dataclass(frozen=True)
class Bench:
    """How a test is run and written down."""

    late: float = 0.03  # clicks are noticed up to so much too late
    law: float = 0.02  # by which the push may be off at each current
    again: float = 0.01  # from run to run
    wrong: float = 0.02  # share of flows that are written down wrong
    unsure: float = 0.15


def run(
    machine: Machine, chip: Chip, ramps: Mapping[float, Sequence[float]], head: str,
    rng: np.random.Generator, bench: Bench | None = None,
) -> str:  # fmt: skip
    """Return the table of a test, filled in; flows of the ramps in mm3/s, by lowered current."""
    lines = [head.rstrip("\n")] if head else []
    lines.append(
        "step; approach; current [A]; reported [A]; last_good [mm3/s]; first_click [mm3/s]; "
        "noticed; note"
    )
    for number, (asked, ramp) in enumerate(ramps.items(), 1):
        rows = list(_approaches(machine, chip, asked, ramp, rng, bench or Bench()))
        lines += [f"{number}; {i}; {asked:.2f}; ; {row}; " for i, row in enumerate(rows, 1)]
        if any("slip" in row for row in rows):
            break
    return "\n".join(lines) + "\n"


def _approaches(
    machine: Machine, chip: Chip, asked: float, ramp: Sequence[float],
    rng: np.random.Generator, bench: Bench,
) -> Iterator[str]:  # fmt: skip
    law = 1.0 + bench.law * rng.standard_normal()
    for _ in range(3):
        now = law * (1.0 + bench.again * rng.standard_normal())
        late = 1.0 + bench.late * rng.random()
        good, row = 0.5 * ramp[0], ""
        for flow in ramp:
            if flow * 1e-9 > machine.slip:
                yield f"{good:.2f}; ; slip"
                return
            if machine.clicks(chip, asked, flow / late * 1e-9, now):
                wrong = rng.random() < bench.wrong
                told = flow * (1.1 if wrong else 1.0)
                noticed = "unsure" if rng.random() < bench.unsure else "seen"
                row = f"{good:.2f}; {told:.2f}; {noticed}"
                break
            good = flow
        yield row or f"{good:.2f}; ; none"
