"""A simulated bench: machines of known limits, and what weighing them would show.

It shares no code with what it tests. How delivery falls is made up of published behaviour and of
choices drawn anew for each machine, so that no fit can know it:

* slip of the drive grows with the feed force from the first millimetre on (linearly: Nienhaus,
  Spiehl, Doersam, J. Manuf. Mater. Process. 5 (2021) 53, abstract), so that some per cent are
  missing before anything is lost for good: the droop at the knee;
* from the usable share of the grip on it grows faster, with a power that is drawn around 1; above
  the grip the filament is ground and no more comes out;
* the feed force rises with a power of the flow that comes out, drawn for each machine;
* above the melt limit only a part of what is added still comes out;
* above the skip limit the motor loses steps and delivery collapses; above the gap's limit the
  filament folds.

A weighing has the scale's steps (two readings), a spool that is off and wanders, ooze and cut,
and, where asked for, one mass that is misread.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

AREA = math.pi / 4.0 * 1.75e-3**2
LIMITS = ("grip", "slip", "skip", "melt", "buckling", "capacity")
FIRST = {"grip": "slip", "melt": "melt", "skip": "skip", "buckling": "fold"}  # what is lost first


@dataclass(frozen=True)
class Nature:
    """What nobody knows of one machine beside its limits."""

    slip: float  # slip where the grip is lost
    power: float  # of slip over force
    beyond_melt: float  # exponent of what still comes out above the melt limit
    skipping: float  # what comes out while skipping, over the skip limit
    droop: float = 0.0  # slip at the knee, from below
    force: float = 2.8  # power of the flow with which the feed force rises


@dataclass(frozen=True)
class Kind:
    """From what the natures of the machines are drawn: even between two ends."""

    droop: tuple[float, float] = (0.0, 0.004)
    force: tuple[float, float] = (1.4, 3.2)
    slip: tuple[float, float] = (0.1, 0.3)
    power: tuple[float, float] = (0.8, 1.5)
    beyond_melt: tuple[float, float] = (0.0, 0.5)


OFF_THE_PRIOR = Kind(
    droop=(0.05, 0.08), force=(0.8, 1.2), slip=(0.25, 0.5), power=(0.6, 1.0), beyond_melt=(0.4, 0.7)
)


def drooping(droop: float) -> Kind:
    """Return machines whose delivery droops by so much at the knee."""
    return Kind(droop=(droop, droop))


def nature(rng: np.random.Generator, kind: Kind | None = None) -> Nature:
    """Draw what nobody knows."""
    kind = kind or Kind()
    return Nature(
        slip=rng.uniform(*kind.slip),
        power=rng.uniform(*kind.power),
        beyond_melt=rng.uniform(*kind.beyond_melt),
        skipping=rng.uniform(0.6, 0.95),
        droop=rng.uniform(*kind.droop),
        force=rng.uniform(*kind.force),
    )


def first_limit(limits: dict[str, float]) -> str:
    """Return the name of the limit at which delivery begins to fall."""
    return min(FIRST, key=lambda name: limits[name])


def knee(limits: dict[str, float], being: Nature) -> float:
    """Return the commanded flow at which delivery begins to fall; limits are of what comes out."""
    return limits[first_limit(limits)] / (1.0 - being.droop)


def delivered(flow: float, limits: dict[str, float], being: Nature) -> tuple[float, bool]:
    """Return the flow that comes out of a commanded one, and whether the motor skips."""
    if flow * (1.0 - being.droop) > limits["buckling"]:
        return 0.3 * min(flow, limits["buckling"], limits["slip"]), False
    first = max(limits[first_limit(limits)], 1e-12)
    grip, rise = max(limits["grip"], 1e-12), being.force
    lost = max(limits["slip"], 1.02 * grip)
    low, high = 0.0, flow
    for _ in range(60):
        out = 0.5 * (low + high)
        load = (out**rise - grip**rise) / (lost**rise - grip**rise)
        slip = being.droop * min(out / first, 1.5) ** rise
        slip += being.slip * min(max(load, 0.0), 1.0) ** being.power
        low, high = (out, high) if out < flow * (1.0 - slip) else (low, out)
    out = min(low, lost)
    if out > limits["melt"]:
        out = limits["melt"] * (out / max(limits["melt"], 1e-12)) ** being.beyond_melt
    if out > limits["skip"]:
        return being.skipping * limits["skip"], True
    return out, False


@dataclass(frozen=True)
class Misread:
    """One mass that is misread: by how much, as a share of itself; never the slow run's."""

    least: float = 0.06
    most: float = 0.3


@dataclass(frozen=True)
class Shared:
    """What two tests on one evening share: the spool's diameter and density, the scale's gain."""

    diameter: float  # m
    density: float  # kg/m3
    gain: float = 1.0


def evening(rng: np.random.Generator, density: float = 1240.0) -> Shared:
    """Draw what two tests share."""
    diameter = 1.75e-3 + rng.uniform(-0.02e-3, 0.02e-3)
    return Shared(diameter, density + rng.normal(0.0, 8.0), 1.0 + rng.normal(0.0, 0.01))


def weigh(
    flows: list[float],
    limits: dict[str, float],
    rng: np.random.Generator,
    *,
    length: float = 0.28,
    scale: float = 0.01,
    density: float = 1240.0,
    being: Nature | None = None,
    misread: Misread | None = None,
    shared: Shared | None = None,
    feed: float = 1.0,
    head: str = "",
) -> str:
    """Return the filled-in table of a test: flows in m3/s as they were run, one after the other.

    `feed` is what the drive feeds of what is commanded: the table has what was commanded.
    """
    being = being or nature(rng)
    diameter = 1.75e-3 + rng.uniform(-0.02e-3, 0.02e-3)
    density = density + rng.normal(0.0, 8.0)
    if shared is not None:
        diameter, density = shared.diameter, shared.density
    phase, pace, swing = rng.uniform(0, 2 * np.pi), rng.uniform(0.5, 1.5), rng.uniform(0, 0.006e-3)
    masses, skips = [], []
    for number, flow in enumerate(flows):
        out, skipped = delivered(flow * feed, limits, being)
        here = diameter + swing * np.sin(phase + pace * number) + rng.normal(0, 0.003e-3)
        mass = 1e3 * density * np.pi / 4 * here**2 * length * out / flow
        mass *= 1.0 if shared is None else shared.gain
        mass = max(0.0, mass * (1 + rng.normal(0, 0.003)) + rng.normal(0, 0.004))
        dish = rng.uniform(0.0, 1.0)
        shown = round((mass + dish) / scale) * scale - round(dish / scale) * scale
        masses.append(max(0.0, shown))
        skips.append(skipped)
    if misread is not None:
        place = misread_place(flows, rng)
        masses[place] *= 1.0 + rng.choice([-1, 1]) * rng.uniform(misread.least, misread.most)
    lines = [
        *head.splitlines(),
        f"# scale: {scale:g} g",
        "flow [mm3/s]; length [mm]; mass [g]; skipped",
    ]
    for flow, mass, skipped in zip(flows, masses, skips, strict=True):
        word = "yes" if skipped else "no"
        lines.append(f"{flow * 1e9:.6g}; {length * 1e3:g}; {mass:.3f}; {word}")
    return "\n".join(lines) + "\n"


def misread_place(flows: Sequence[float], rng: np.random.Generator) -> int:
    """Return which of the runs is misread: any but the slowest flow's and the fastest's."""
    inner = [n for n, flow in enumerate(flows) if min(flows) < flow < max(flows)]
    return int(rng.choice(inner))
