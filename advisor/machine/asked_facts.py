"""What the slicer profile and the macros of a config ask of the extruder, as facts.

The flow of a profile's features is worked out here. Of macros, what was drawn back and is pushed
again is no flow, nor is a prime of a few millimetres. A fast push that goes on slowly is a load
through a path that is still cold, and one that is drawn back again shapes the tip of a filament
that is taken out.
"""

from __future__ import annotations

import dataclasses
import itertools
import math
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING

import numpy as np

from advisor.base import Fact, Number, Origin, OriginKind, State, Trace
from advisor.catalog import Catalog
from advisor.inputs import MacroMove, Macros, MacroSetting
from advisor.physics import motion

if TYPE_CHECKING:
    from advisor.inputs import Feature, ProfileSet

__all__ = ["feature_flow", "macro_facts", "one_family", "profile_facts", "set_facts"]

NOTHING: Mapping[str, Fact] = MappingProxyType({})
_FLOW = "demand.feature_flow"
_LETTERS = re.compile(r"[a-z]+")
_ALL_LONG = 0.040  # m: a push of this length is longer than any melt zone; more ranks no higher
_SLOWS = 0.5  # share of the speed at which a load goes on when the filament is there
# by name: unit, the fact that is set, and whether it counts only where the extruder is named
_SET = {
    "macro.run_current": ("A rms", "motor.run_current", True),
    "macro.temperature": ("degC", "macro.temperature", False),
    "macro.flow_factor": ("%", "macro.flow_factor", False),
    "macro.pressure_advance": ("s", "motion.pressure_advance", False),
    "macro.rotation_distance": ("mm", "drive.rotation_distance", False),
}


def profile_facts(
    profiles: ProfileSet | None, catalog: Catalog, stated: Mapping[str, Fact] = NOTHING
) -> Mapping[str, Fact]:
    """Return the facts a set of profiles states, with the largest flow of their features.

    A material the catalogue does not know is not handed on: it says nothing of the filament. Nor is
    one whose kind the profile leaves open ("TPU") where `stated`, what is said beside it, names a
    kind of the same family.
    """
    if profiles is None:
        return {}
    facts = {name: fact for name, fact in profiles.facts.items() if name in catalog.facts}
    material = facts.get("filament.material")
    if material is not None and material.known and material.text not in catalog.materials:
        facts["filament.material"] = dataclasses.replace(material, state=State.MISSING, value=None)
    elif material is not None and _is_open(profiles) and _fits(material, stated):
        del facts["filament.material"]
    elif material is not None and material.known:
        facts["profile.material"] = dataclasses.replace(material, name="profile.material")
    temperature = facts.get("profile.temperature")
    if temperature is not None and temperature.known:
        facts["hotend.temperature"] = dataclasses.replace(temperature, name="hotend.temperature")
    facts.update(_line(profiles.features))
    largest = _largest_setting(profiles.features)
    if largest is not None:
        facts[_FLOW] = largest
    return facts


def one_family(one: str, other: str) -> bool:
    """Whether two names of materials are kinds of one plastic: their letters are the same.

    >>> one_family("tpu-95a", "tpu-85a"), one_family("pa6", "pa12"), one_family("pla", "petg")
    (True, True, False)
    """
    first, second = (_LETTERS.match(name) for name in (one, other))
    return first is not None and second is not None and first[0] == second[0]


def _is_open(profiles: ProfileSet) -> bool:
    return any(event.kind == "profile-material-assumed" for event in profiles.events)


def _fits(material: Fact, stated: Mapping[str, Fact]) -> bool:
    said = stated.get("filament.material")
    return said is not None and one_family(said.text or "", material.text or "")


def feature_flow(feature: Feature) -> float | None:
    """Return the flow a feature asks for, [m3/s]; None where its width or height is open."""
    if feature.width is None or feature.height is None:
        return None
    if feature.round:
        area = np.pi / 4.0 * feature.width * feature.height
        return float(feature.speed * area * feature.flow_ratio)
    flow = motion.line_flow(
        feature.speed, width=feature.width, height=feature.height, flow_ratio=feature.flow_ratio
    )
    return float(flow)


def _largest_setting(features: tuple[Feature, ...]) -> Fact | None:
    flows = [(flow, f) for f in features if (flow := feature_flow(f)) is not None]
    if not flows:
        return None
    flow, feature = max(flows, key=lambda pair: pair[0])
    speed = feature.origins.get("speed")
    return Fact(
        _FLOW,
        Number(flow, "mm3/s"),
        origin=dataclasses.replace(speed, text=None) if speed else Origin(OriginKind.PROFILE),
        trace=Trace(formula=f"speed x line cross-section of the {feature.title}"),
    )


def _line(features: tuple[Feature, ...]) -> dict[str, Fact]:
    """Return the sizes of the line that takes most filament at the acceleration it is printed at.

    A line whose acceleration is open counts with the largest that the profile states. A free
    thread is no line.
    """
    lines = [one for one in features if not one.round and one.width and one.height]
    if not lines:
        return {}
    most = max((one.acceleration or 0.0 for one in lines), default=0.0) or 1.0
    line = max(lines, key=lambda one: _section(one) * (one.acceleration or most))
    sizes = {"width": line.width, "height": line.height}
    return {
        name: Fact(
            name,
            Number(size, "mm"),
            origin=line.origins.get(part, Origin(OriginKind.PROFILE)),
            trace=Trace(formula=f"{part} of the {line.title}"),
        )
        for part, size in sizes.items()
        if size is not None and (name := f"motion.line_{part}")
    }


def _section(line: Feature) -> float:
    return float(motion.bead_area(width=line.width or 0.0, height=line.height or 0.0))


@dataclass(slots=True)
class _Push:
    """Pushes of one speed in a row: what is new of them [m], at the first one's place."""

    move: MacroMove
    speed: float
    length: float
    drawn: float = 0.0  # [m] of filament drawn back after it in its macro, at most


def set_facts(
    settings: Iterable[MacroSetting],
    extruder: str,
    *,
    alone: bool,
    rotation_distance: float | None = None,
) -> Mapping[str, Fact]:
    """Return the current, temperature, flow factor and such that macros and start code set for one.

    Of current, temperature and pressure advance the largest; of flow factor and rotation distance
    the one that is farthest from what holds without it.

    Parameters
    ----------
    settings : iterable of MacroSetting
        What macros, and the start code of profiles, set.
    extruder : str
        The name of its section.
    alone : bool
        Whether it is the only one, so that a command without a name means it.
    rotation_distance : float, optional
        What the config states, [m].

    Notes
    -----
    Only what stands there as a number counts: a default may never be used.
    """
    mine = [one for one in settings if one.literal and not one.kept
            and (one.extruder == extruder or (one.extruder is None and alone))]  # fmt: skip
    usual = {"macro.flow_factor": 1.0, "drive.rotation_distance": rotation_distance}
    found = (
        _farthest(
            name,
            unit,
            [one for one in mine if one.fact == fact and (one.extruder or not named)],
            usual.get(fact),
        )
        for name, (unit, fact, named) in _SET.items()
    )
    return {fact.name: fact for fact in found if fact is not None}


def _farthest(
    name: str, unit: str, settings: Iterable[MacroSetting], usual: float | None
) -> Fact | None:
    """Return the largest, or that farthest from what is usual, as a factor."""

    def rank(one: MacroSetting) -> float:
        return one.value if not usual else abs(math.log(one.value / usual))

    best = max(settings, key=rank, default=None)
    if best is None:
        return None
    kind = OriginKind.PROFILE if best.profile else OriginKind.CONFIG
    who = f"The profile's {best.macro}" if best.profile else f"The macro {best.macro}"
    return Fact(name, Number(best.value, unit), origin=Origin(kind, at=best.at, text=who))


def macro_facts(macros: Macros) -> Mapping[str, Fact]:
    """Return the hardest push, the fastest, the longest and the thickest move of filament."""
    known = [move for move in macros.moves if move.speed is not None and move.length is not None]
    sized = [move for move in macros.moves if move.length is not None]
    found = (
        *_hardest(known),
        _largest("macro.fastest_speed", "mm/s", known, lambda move: move.speed or 0.0),
        _largest("macro.distance", "mm", sized, lambda move: abs(move.length or 0.0)),
        *_thickest(macros.lines),
    )
    return {fact.name: fact for fact in found if fact is not None}


def _hardest(known: Iterable[MacroMove]) -> Iterator[Fact | None]:
    """Yield speed and length of the push that asks most of the melt zone."""
    by_macro = itertools.groupby(known, key=lambda move: (move.macro, move.at.file))
    pushes = [push for _, moves in by_macro for push in _asking(list(_runs(moves)))]
    best = max(pushes, key=lambda one: one.speed * min(one.length, _ALL_LONG), default=None)
    if best is not None:
        yield _fact("macro.push_speed", "mm/s", best.speed, best.move)
        yield _fact("macro.push_length", "mm", best.length, best.move)


def _runs(moves: Iterable[MacroMove]) -> Iterator[_Push | None]:
    """Yield the pushes of one macro, those of one speed in a row as one; None at a retract."""
    drawn, run = 0.0, None
    moves = list(moves)
    for at, move in enumerate(moves):
        length = move.length or 0.0
        if length < 0.0 or not move.sure:
            yield run
            yield None
            drawn, run = drawn - min(length, 0.0), None
            continue
        new, drawn = max(length - drawn, 0.0), max(drawn - length, 0.0)
        if run is not None and run.speed == move.speed:
            run.length += new
        elif new > 0.0:
            yield run
            run = _Push(move, move.speed or 0.0, new, _drawn_after(moves[at + 1 :]))
    yield run


def _drawn_after(moves: Iterable[MacroMove]) -> float:
    """Return how far behind a push the filament is drawn by what follows, [m]."""
    behind = itertools.accumulate((move.length or 0.0 for move in moves), initial=0.0)
    return -min(behind)


def _asking(runs: list[_Push | None]) -> Iterator[_Push]:
    """Yield the pushes that are no load and shape no tip.

    A load goes on slowly once the filament is there; a tip is drawn back as far as it was pushed.
    """
    joined = [
        run for at, run in enumerate(runs) if run is not None or (at and runs[at - 1] is not None)
    ]
    for run, after in itertools.zip_longest(joined, joined[1:]):
        if run is None or run.drawn >= run.length:
            continue
        if not (after is not None and after.speed <= _SLOWS * run.speed):
            yield run


def _thickest(lines: Iterable[MacroMove]) -> Iterator[Fact | None]:
    """Yield length and filament a length of the line that lays down most for its path."""
    told = [move for move in lines if move.path and (move.length or 0.0) > 0.0]
    best = max(told, key=lambda move: (move.length or 0.0) / (move.path or 1.0), default=None)
    if best is not None:
        length = best.length or 0.0
        yield _fact("macro.line_filament", "mm", length, best)
        yield _fact("macro.line_share", "-", length / (best.path or 1.0), best)


def _largest(
    name: str, unit: str, moves: Iterable[MacroMove], measure: Callable[[MacroMove], float]
) -> Fact | None:
    best = max(moves, key=measure, default=None)
    return None if best is None else _fact(name, unit, measure(best), best)


def _fact(name: str, unit: str, value: float, move: MacroMove) -> Fact:
    origin = Origin(OriginKind.CONFIG, at=move.at, text=move.macro)
    return Fact(name, Number(value, unit), origin=origin)
