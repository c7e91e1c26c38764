"""From the settings of the profiles to facts and features, by the tables of the dialect.

Widths, heights and speeds are only put side by side here; what flow they ask for is worked out
where the formulas are.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

from advisor.base import Event, Fact, State
from advisor.data import Row
from advisor.inputs.profile.dialects import Dialects, FactKeys, FeatureKeys, ProfileDialect
from advisor.inputs.profile.door import plain
from advisor.inputs.profile.parents import OpenParent, Resolved
from advisor.inputs.profile.pool import PresetPool, Value, stated
from advisor.inputs.profile.records import Feature
from advisor.inputs.profile.start_code import said_advance

__all__ = ["Gathered", "facts_of", "features_of", "missing_parents", "missing_parts"]

_MATERIAL = "filament.material"
_OWN = "the profile's "  # begins the titles of the profile's facts
_SHOWN = 6  # what a missing parent lacks, in a sentence
_PICKS: Mapping[str, Callable[[PresetPool, tuple[str, ...]], Value]] = {
    "first": lambda pool, keys: pool.first(keys),
    "smallest": lambda pool, keys: pool.extreme(keys, largest=False),
    "largest": lambda pool, keys: pool.extreme(keys, largest=True),
}
_ASKING = ("print", "filament")


@dataclass(slots=True)
class Gathered:
    """The features of one dialect's profiles, and those left open."""

    features: list[Feature]
    open: list[tuple[str, OpenParent]]
    unreadable: bool = False


def facts_of(pool: PresetPool, materials: Mapping[str, Row]) -> dict[str, Fact]:
    """Return the facts that the pool's dialect has keys for, known or not."""
    facts = {entry.name: _fact(pool, entry, materials) for entry in pool.dialect.facts}
    said = said_advance(pool)
    if said is not None and not facts[said.name].known:
        facts[said.name] = said
    return facts


def _fact(pool: PresetPool, entry: FactKeys, materials: Mapping[str, Row]) -> Fact:
    value = _PICKS[entry.pick](pool, entry.keys)
    if entry.switch:
        value = _switched(pool.value(entry.switch), value)
    if not stated(value):
        return Fact(entry.name, None, value.state, value.origin)
    read = value.si
    if entry.name == _MATERIAL:
        read = _material(pool, value, materials)
    return Fact.of(entry.name, entry.unit, read, origin=value.origin)


def _switched(switch: Value, value: Value) -> Value:
    """Return `value` if its switch is on; a switch that nobody states is off."""
    if switch.state is State.KNOWN and switch.si is True:
        return value
    if switch.state in (State.KNOWN, State.MISSING):
        return Value(State.MISSING, None, switch.setting)
    return switch


def _material(pool: PresetPool, value: Value, materials: Mapping[str, Row]) -> str:
    """Return our name of a material, or the profile's own text if we have none."""
    text = str(value.si).strip()
    word = "".join(char for char in text.upper() if char not in " -_")
    entry = materials.get(word)
    assert value.setting is not None
    if entry is None:
        fields = {"material": plain(text)}
        pool.events.append(Event("profile-material-unknown", value.setting.at, fields, _MATERIAL))
        return text
    ours = str(entry["material"])
    if not entry.get("sure", True):
        fields = {"material": plain(text), "taken": ours}
        pool.events.append(Event("profile-material-assumed", value.setting.at, fields, _MATERIAL))
    return ours


def features_of(pool: PresetPool) -> Gathered:
    """Return the features with a known speed, and the names of those a parent may state."""
    gathered = Gathered([], [])
    for keys in pool.dialect.features:
        speed = pool.first(keys.parts["speed"])
        if stated(speed):
            gathered.features.append(_feature(pool, keys, speed))
        elif speed.state is State.UNKNOWN and speed.parent is not None:
            gathered.open.append((keys.name, speed.parent))
        gathered.unreadable |= speed.state is State.UNREADABLE
    return gathered


def _feature(pool: PresetPool, keys: FeatureKeys, speed: Value) -> Feature:
    parts = {"speed": speed}
    for part in ("width", "height", "acceleration"):
        parts[part] = pool.first(keys.parts[part])
    ratios = [pool.value(key) for key in keys.parts["flow"]]
    unknown = {part for part, value in parts.items() if value.parent is not None}
    if any(ratio.state is State.UNKNOWN for ratio in ratios):
        unknown.add("flow_ratio")
    origins = {part: value.origin for part, value in parts.items() if stated(value)}
    known = [ratio for ratio in ratios if ratio.number is not None]
    if known:
        origins["flow_ratio"] = known[0].origin
    return Feature(
        name=keys.name,
        title=keys.title,
        speed=speed.number or 0.0,
        width=parts["width"].number,
        height=parts["height"].number,
        acceleration=parts["acceleration"].number,
        flow_ratio=math.prod((ratio.number or 0.0 for ratio in known), start=1.0),
        round=keys.round,
        unknown=frozenset(unknown),
        origins=origins,
    )


def missing_parents(
    members: Iterable[Resolved],
    facts: Mapping[str, Fact],
    open_features: Iterable[tuple[str, OpenParent]],
    dialects: Dialects,
) -> list[Event]:
    """Return an event for each parent that was not found, with what may stand in it."""
    lacking = [name for name, fact in facts.items() if fact.state is State.UNKNOWN]
    speeds = [f"{name.replace('-', ' ')} speed" for name, _ in open_features]
    events: dict[tuple[str, str], Event] = {}
    for member in members:
        for parent in member.open:
            kinds = member.kinds
            names = [name for name in lacking if _belongs(member.dialect, name, kinds)]
            words = [dialects.titles[name].removeprefix(_OWN) for name in names]
            words += speeds if "print" in kinds else []
            fields = {
                "profile": parent.child.name,
                "parent": parent.name,
                "lacking": _listed(words),
            }
            at = parent.setting.at if parent.setting else parent.child.at
            first = names[0] if names else None
            key = (parent.child.file + parent.child.name, parent.name)
            events.setdefault(key, Event("profile-parent-missing", at, fields, first))
    return list(events.values())


def _belongs(dialect: ProfileDialect, fact: str, kinds: frozenset[str]) -> bool:
    keys = next((entry.keys for entry in dialect.facts if entry.name == fact), ())
    return any(dialect.settings[key].of in kinds for key in keys)


def _listed(words: list[str]) -> str:
    more = f" and {len(words) - _SHOWN} more" if len(words) > _SHOWN else ""
    return (", ".join(words[:_SHOWN]) + more) or "nothing we need"


def missing_parts(members: list[Resolved]) -> list[Event]:
    """Return an event where only a print or only a filament profile was given."""
    kinds = frozenset[str]().union(*(member.kinds for member in members))
    if not members:
        return []
    at = members[0].preset.at
    return [
        Event("profile-part-missing", at, {"part": part}) for part in _ASKING if part not in kinds
    ]
