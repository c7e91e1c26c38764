"""The dialects of slicer profiles as frozen records, and which of them a profile is in.

All keys come from rules/dialects/profile_*.yaml; a dialect is chosen by the keys that occur.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Callable, Iterable, Mapping

from advisor.base import Unit, frozen, parse_unit
from advisor.data import Range, Row, artifact

__all__ = [
    "ARTIFACTS",
    "Dialects",
    "FactKeys",
    "FeatureKeys",
    "Known",
    "ProfileDialect",
    "load_dialects",
]

_PARTS = ("width", "height", "speed", "acceleration", "flow")
_SECTION_WEIGHT = 2  # a marking section counts as much as two keys


@frozen
class Known:
    """What is known of one key: kind of profile, unit, and the meaning of special values."""

    key: str
    of: str
    unit: Unit
    range: Range | None
    type: str
    unset: frozenset[float]
    percent_of: tuple[str, ...]
    percent_of_largest: bool
    negative_percent: bool
    modes: bool
    also: tuple[str, ...]


@frozen
class FeatureKeys:
    """Where a feature's width, height, speed, acceleration and flow ratio stand."""

    name: str
    title: str
    round: bool
    parts: Mapping[str, tuple[str, ...]]


@frozen
class FactKeys:
    """Where a fact stands: keys, which of them counts, the switch that makes it live."""

    name: str
    unit: str
    keys: tuple[str, ...]
    pick: str
    switch: str | None


@frozen
class ProfileDialect:
    """One dialect."""

    name: str
    title: str
    containers: frozenset[str]
    sections: frozenset[str]
    names: tuple[str, ...]
    parents: tuple[str, ...]
    kind: Row | None
    abstract: Row | None
    part: str | None
    absent_follows: bool
    settings: Mapping[str, Known]
    features: tuple[FeatureKeys, ...]
    facts: tuple[FactKeys, ...]
    start_keys: tuple[str, ...]
    advance_words: re.Pattern[str] | None
    spellings: Mapping[str, str]  # every spelling of a key to the key

    def rank(self, keys: Iterable[str], sections: Iterable[str], container: str) -> tuple[int, int]:
        """How well it fits: keys and marking sections met, then whether the container fits."""
        met = sum(key in self.spellings for key in keys)
        marks = sum(section in self.sections for section in sections)
        return met + _SECTION_WEIGHT * marks, int(container in self.containers)


@frozen
class Dialects:
    """All dialects and what they share."""

    all: tuple[ProfileDialect, ...]
    preset_sections: Mapping[str, str]
    active_section: str
    materials: Mapping[str, Row]
    feature_order: tuple[str, ...]
    units: Mapping[str, str]  # fact name to trade unit
    titles: Mapping[str, str]  # fact name to how it reads in a sentence
    known_keys: frozenset[str]
    wanted_keys: frozenset[str]  # those, and the keys of names, parents and kinds

    def choose(
        self, keys: Iterable[str], sections: Iterable[str], container: str
    ) -> ProfileDialect:
        """Return the dialect that fits best; the first of equals."""
        keys, sections = tuple(keys), tuple(sections)
        return max(self.all, key=lambda dialect: dialect.rank(keys, sections, container))


def _build() -> Row:
    from advisor.inputs.profile.dialect_data import build_dialects

    return build_dialects()


ARTIFACTS: dict[str, Callable[[], object]] = {"profile-dialects": _build}


@functools.cache
def load_dialects() -> Dialects:
    """Return the dialects, from the compiled data or from the YAML files."""
    data = artifact("profile-dialects", _build)
    words = data["words"]
    units = {name: fact["unit"] for name, fact in data["facts"].items()}
    dialects = tuple(_dialect(raw, units) for raw in data["dialects"])
    return Dialects(
        all=dialects,
        preset_sections=words["preset_sections"],
        active_section=words["active_section"],
        materials=words["materials"],
        feature_order=tuple(words["features"]),
        units=units,
        titles={name: fact["title"] for name, fact in data["facts"].items()},
        known_keys=frozenset(key for dialect in dialects for key in dialect.spellings),
        wanted_keys=frozenset(words["preset_sections"]).union(*map(_meaningful, dialects)),
    )


def _dialect(raw: Row, units: Mapping[str, str]) -> ProfileDialect:
    settings = {key: _known(key, item) for key, item in raw["settings"].items()}
    start = raw["start_code"] or {"keys": [], "advance": []}
    words = "|".join(re.escape(word) for word in start["advance"])
    return ProfileDialect(
        name=raw["dialect"],
        title=raw["title"],
        containers=frozenset(raw["containers"]),
        sections=frozenset(raw["sections"]),
        names=tuple(raw["names"]),
        parents=tuple(raw["parents"]),
        kind=raw["kind"],
        abstract=raw["abstract"],
        part=raw["part"]["key"] if raw["part"] else None,
        absent_follows=raw["absent_follows"],
        settings=settings,
        features=tuple(_feature(item) for item in raw["features"]),
        facts=tuple(_fact(name, item, units) for name, item in raw["facts"].items()),
        start_keys=tuple(start["keys"]),
        advance_words=re.compile(rf"\b(?:{words})\b") if words else None,
        spellings={name: key for key, item in settings.items() for name in (key, *item.also)},
    )


def _meaningful(dialect: ProfileDialect) -> set[str]:
    """Return every key that the dialect gives a meaning."""
    specs = [spec["key"] for spec in (dialect.kind, dialect.abstract) if spec]
    part = [dialect.part] if dialect.part else []
    return {*dialect.spellings, *dialect.names, *dialect.parents, *specs, *part}


def _known(key: str, raw: Row) -> Known:
    return Known(
        key=key,
        of=raw["of"],
        unit=parse_unit(raw["unit"]),
        range=Range(*raw["range"]) if raw["range"] else None,
        type=raw["type"],
        unset=frozenset(raw["unset"]),
        percent_of=tuple(raw["percent_of"]),
        percent_of_largest=raw["percent_of_largest"],
        negative_percent=raw["negative_percent"],
        modes=raw["modes"],
        also=tuple(raw["also"]),
    )


def _feature(raw: Row) -> FeatureKeys:
    parts = {part: tuple(raw[part]) for part in _PARTS}
    return FeatureKeys(raw["name"], raw["title"], raw["round"], parts)


def _fact(name: str, raw: Row, units: Mapping[str, str]) -> FactKeys:
    return FactKeys(name, units[name], tuple(raw["keys"]), raw["pick"], raw["switch"])
