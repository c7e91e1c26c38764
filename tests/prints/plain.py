"""Plain readers and a plain planner, written apart from the product to judge it.

One line, one move at a time, in ordinary Python floats, in mm and mm/s. The planner follows the
ini-style firmware's own loop (from memory): a pass forward for junctions, one pass backward that
keeps a list of moves whose cruise speed is not known yet.
"""

from __future__ import annotations

import itertools
import math
import re
from dataclasses import dataclass, field

WORD = re.compile(r"([A-Za-z])\s*([-+]?(?:\d+\.?\d*|\.\d+))")


@dataclass
class PlainLimits:
    """Machine limits in mm, mm/s, mm/s2."""

    max_velocity: float = 300.0
    max_accel: float = 3000.0
    scv: float = 5.0
    ratio: float = 0.5
    e_velocity: float = 60.0
    e_accel: float = 1500.0
    e_corner: float = 1.0
    z_velocity: float = math.inf
    z_accel: float = math.inf


@dataclass
class PlainMove:
    """A move and what is planned for it."""

    d: tuple[float, float, float]
    e: float
    speed: float
    accel: float
    scv: float
    ratio: float
    line: int = 0
    feature: str | None = None
    z: float = 0.0
    stop_before: bool = False
    # worked out
    length: float = 0.0
    cruise2: float = 0.0
    delta2: float = 0.0
    soft2: float = 0.0
    path: bool = True
    start: float = 0.0
    cruise: float = 0.0
    end: float = 0.0
    max_start2: float = 0.0
    max_soft2: float = 0.0
    r: float = 0.0
    unit: tuple[float, float, float] = field(default=(0.0, 0.0, 0.0))
    deviation: float = 0.0


def prepare(move: PlainMove, limits: PlainLimits) -> None:
    """Set the limits a move has by itself."""
    dx, dy, dz = move.d
    move.length = math.sqrt(dx * dx + dy * dy + dz * dz)
    move.deviation = move.scv**2 * (math.sqrt(2.0) - 1.0) / move.accel
    soft_accel = move.accel * (1.0 - move.ratio)
    speed = min(move.speed, limits.max_velocity)
    accel = move.accel
    if move.length < 1e-9:
        move.path, move.length = False, abs(move.e)
        accel, speed = 99999999.9, move.speed
    else:
        move.unit = (dx / move.length, dy / move.length, dz / move.length)
    move.r = move.e / move.length
    if move.e and ((not dx and not dy) or move.e < 0.0):
        speed = min(speed, limits.e_velocity / abs(move.r))
        accel = min(accel, limits.e_accel / abs(move.r))
    if move.path and dz:
        speed = min(speed, limits.z_velocity * move.length / abs(dz))
        accel = min(accel, limits.z_accel * move.length / abs(dz))
    move.accel = accel
    move.cruise2 = speed * speed
    move.delta2 = 2.0 * move.length * accel
    move.soft2 = min(2.0 * move.length * soft_accel, move.delta2)


def join(prev: PlainMove, move: PlainMove, limits: PlainLimits) -> None:
    """Set how fast a move may begin after the one before."""
    if not move.path or not prev.path or move.stop_before:
        return
    caps = [move.cruise2, prev.cruise2, prev.max_start2 + prev.delta2]
    if move.r != prev.r:
        caps.append((limits.e_corner / abs(move.r - prev.r)) ** 2)
    cos_theta = -sum(a * b for a, b in zip(move.unit, prev.unit, strict=True))
    sin_half = math.sqrt(max(0.5 * (1.0 - cos_theta), 0.0))
    cos_half = math.sqrt(max(0.5 * (1.0 + cos_theta), 0.0))
    if cos_half > 1e-6:  # else straight on
        radius = sin_half / (1.0 - sin_half)
        quarter = 0.25 * sin_half / cos_half
        caps += [radius * move.deviation * move.accel, radius * prev.deviation * prev.accel]
        caps += [move.delta2 * quarter, prev.delta2 * quarter]
    move.max_start2 = min(caps)
    move.max_soft2 = min(move.max_start2, prev.max_soft2 + prev.soft2)


def plan(moves: list[PlainMove], limits: PlainLimits) -> None:
    """Plan all moves, the head standing still before the first and after the last."""
    for move in moves:
        prepare(move, limits)
    for prev, move in itertools.pairwise(moves):
        join(prev, move, limits)
    delayed: list[tuple[PlainMove, float, float]] = []
    next_end2 = next_soft2 = peak2 = 0.0
    for move in reversed(moves):
        reachable = next_end2 + move.delta2
        start2 = min(move.max_start2, reachable)
        soft_reachable = next_soft2 + move.soft2
        soft2 = min(move.max_soft2, soft_reachable)
        if soft2 < soft_reachable:
            if soft2 + move.soft2 > next_soft2 or delayed:
                peak2 = min(move.cruise2, 0.5 * (soft2 + soft_reachable))
                least = peak2
                for other, other_start2, other_end2 in reversed(delayed):
                    least = min(least, other_start2)
                    settle(other, min(other_start2, least), least, min(other_end2, least))
                delayed.clear()
            cruise2 = min(0.5 * (start2 + reachable), move.cruise2, peak2)
            settle(move, min(start2, cruise2), cruise2, min(next_end2, cruise2))
        else:
            delayed.append((move, start2, next_end2))
        next_end2, next_soft2 = start2, soft2
    least = math.inf  # nothing can be left: the first move can always speed up from rest
    for other, other_start2, other_end2 in reversed(delayed):
        least = min(least, other_start2)
        settle(other, min(other_start2, least), least, min(other_end2, least))


def settle(move: PlainMove, start2: float, cruise2: float, end2: float) -> None:
    """Note planned speeds."""
    move.start, move.cruise, move.end = math.sqrt(start2), math.sqrt(cruise2), math.sqrt(end2)


def lasts(move: PlainMove) -> float:
    """Return the time of a planned move."""
    rise = (move.cruise**2 - move.start**2) / (2.0 * move.accel)
    fall = (move.cruise**2 - move.end**2) / (2.0 * move.accel)
    level = move.length - rise - fall
    return (
        (2.0 * rise / (move.start + move.cruise) if rise else 0.0)
        + level / move.cruise
        + (2.0 * fall / (move.cruise + move.end) if fall else 0.0)
    )


def read(text: str, limits: PlainLimits) -> list[PlainMove]:
    """Read straight moves with the common modal words; one regular expression per line."""
    moves: list[PlainMove] = []
    at: list[float | None] = [None, None, None, 0.0]
    absolute = absolute_e = True
    feed, scale = 25.0, 1.0
    speed_factor = flow_factor = 1.0
    accel, scv, ratio = limits.max_accel, limits.scv, limits.ratio
    feature: str | None = None
    stop = False
    for number, raw in enumerate(text.split("\n"), 1):
        if raw.startswith(";TYPE:"):
            feature = raw[6:].strip()
            continue
        body = raw.split(";")[0]
        words = [(c.upper(), float(v)) for c, v in WORD.findall(body)]
        if not words:
            continue
        (letter, code), *rest = words
        named = dict(rest)
        name = f"{letter}{code:g}"
        if name in ("G0", "G1"):
            if named.get("F", 0.0) > 0.0:
                feed = named["F"] * scale / 60.0
            delta, known = [0.0] * 4, True
            for axis, key in enumerate("XYZE"):
                if key not in named:
                    continue
                value = named[key] * scale
                is_absolute = absolute and (axis < 3 or absolute_e)
                if not is_absolute:
                    delta[axis] = value
                    at[axis] = None if at[axis] is None else at[axis] + value
                elif at[axis] is None:
                    at[axis], known = value, False
                else:
                    delta[axis], at[axis] = value - at[axis], value
            delta[3] *= flow_factor
            if known and any(abs(v) > 1e-9 for v in delta):
                moves.append(PlainMove((delta[0], delta[1], delta[2]), delta[3],
                                       feed * speed_factor, accel, scv, ratio, number, feature,
                                       at[2] or 0.0, stop))  # fmt: skip
                stop = False
        elif name == "G92":
            for axis, key in enumerate("XYZE"):
                if key in named:
                    at[axis] = named[key] * scale
        elif name in ("G90", "G91"):
            absolute = name == "G90"
        elif name in ("M82", "M83"):
            absolute_e = name == "M82"
        elif name in ("G20", "G21"):
            scale = 25.4 if name == "G20" else 1.0
        elif name == "M204":
            accel = named.get("S", accel)
        elif name == "M220":
            speed_factor = named["S"] / 100.0
        elif name == "M221":
            flow_factor = named["S"] / 100.0
        elif name == "M400":
            stop = True
    return moves
