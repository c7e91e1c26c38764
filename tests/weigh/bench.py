"""A simulated bench: machines of known limits, and what weighing them would show.

It shares no code with what it tests. How delivery falls is made up of published behaviour and of
choices drawn anew for each machine, so that no fit can know it:

* slip of the drive rises with the feed force, from the usable share of the grip on (rises linearly
  with the force: Nienhaus, Spiehl, Doersam, J. Manuf. Mater. Process. 5 (2021) 53, abstract); the
  power is drawn around 1, and a trace of slip is there below;
* the feed force rises with the 2.8th power of the flow that comes out; above the grip the filament
  is ground and no more comes out;
* above the melt limit only a part of what is added still comes out;
* above the skip limit the motor loses steps and delivery collapses; above the gap's limit the
  filament folds.

A weighing has the scale's steps (two readings), a spool that is off and wanders, ooze and cut.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

AREA = math.pi / 4.0 * 1.75e-3**2
LIMITS = ("grip", "slip", "skip", "melt", "buckling", "capacity")


@dataclass(frozen=True)
class Nature:
    """What nobody knows of one machine beside its limits."""

    slip: float  # slip where the grip is lost
    power: float  # of slip over force
    beyond_melt: float  # exponent of what still comes out above the melt limit
    skipping: float  # what comes out while skipping, over the skip limit
    trace: float  # slip at the usable grip, from below


def nature(rng: np.random.Generator) -> Nature:
    """Draw what nobody knows."""
    return Nature(
        slip=rng.uniform(0.1, 0.3),
        power=rng.uniform(0.8, 1.5),
        beyond_melt=rng.uniform(0.0, 0.5),
        skipping=rng.uniform(0.6, 0.95),
        trace=rng.uniform(0.0, 0.004),
    )


def delivered(flow: float, limits: dict[str, float], being: Nature) -> tuple[float, bool]:
    """Return the flow that comes out of a commanded one, and whether the motor skips."""
    if flow > limits["buckling"]:
        return 0.3 * flow, False
    grip = max(limits["grip"], 1e-12)
    lost = max(limits["slip"], 1.02 * grip)
    low, high = 0.0, flow
    for _ in range(60):
        out = 0.5 * (low + high)
        load = (out**2.8 - grip**2.8) / (lost**2.8 - grip**2.8)
        slip = being.trace * min(out / grip, 1.0) ** 2.8
        slip += being.slip * min(max(load, 0.0), 1.0) ** being.power
        low, high = (out, high) if out < flow * (1.0 - slip) else (low, out)
    out = min(low, lost)
    if out > limits["melt"]:
        out = limits["melt"] * (out / max(limits["melt"], 1e-12)) ** being.beyond_melt
    if out > limits["skip"]:
        return being.skipping * limits["skip"], True
    return out, False


def weigh(
    flows: list[float],
    limits: dict[str, float],
    rng: np.random.Generator,
    *,
    length: float = 0.28,
    scale: float = 0.01,
    density: float = 1240.0,
) -> str:
    """Return the filled-in table of a test: flows in m3/s as they were run, one after the other."""
    being = nature(rng)
    diameter = 1.75e-3 + rng.uniform(-0.02e-3, 0.02e-3)
    density = density + rng.normal(0.0, 8.0)
    phase, pace, swing = rng.uniform(0, 2 * np.pi), rng.uniform(0.5, 1.5), rng.uniform(0, 0.006e-3)
    lines = [f"# scale: {scale:g} g", "flow [mm3/s]; length [mm]; mass [g]; skipped"]
    for number, flow in enumerate(flows):
        out, skipped = delivered(flow, limits, being)
        here = diameter + swing * np.sin(phase + pace * number) + rng.normal(0, 0.003e-3)
        mass = 1e3 * density * np.pi / 4 * here**2 * length * out / flow
        mass = max(0.0, mass * (1 + rng.normal(0, 0.003)) + rng.normal(0, 0.004))
        dish = rng.uniform(0.0, 1.0)
        shown = round((mass + dish) / scale) * scale - round(dish / scale) * scale
        word = "yes" if skipped else "no"
        lines.append(f"{flow * 1e9:.6g}; {length * 1e3:g}; {max(0.0, shown):.3f}; {word}")
    return "\n".join(lines) + "\n"
