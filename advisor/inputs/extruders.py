"""Reads a config tree into facts: one set for each extruder, one for the machine.

What a config states has its place; what it does not state has the place where it would stand,
and the firmware's default is handed on unevaluated. Nothing is assumed here.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from advisor.base import EXTRUDERS, Event, Fact, Origin, OriginKind, Span, State, Text, frozen
from advisor.catalog import Catalog, load_catalog
from advisor.inputs.dialect import Default, Dialect, Key, Role
from advisor.inputs.discovery import Discovery, Found, Oddity, discover, driver_role, misspelt
from advisor.inputs.settings import missing_fact, read_setting

if TYPE_CHECKING:
    from advisor.config import Setting, Tree

__all__ = ["SWALLOWED", "ConfigFacts", "ExtruderFacts", "read_config", "relevant"]

SWALLOWED = ("swallowed-line", "swallowed-header")
_SETTING = re.compile(r"\s*([^:=\s]+)\s*[:=]")
_HEADER = re.compile(r"\[([^\]]+)\]")
Places = Mapping[str, tuple[Mapping[str, Key], str | None]]  # section: its keys and extruder


@frozen
class ExtruderFacts:
    """What a config states of one extruder.

    ``facts`` holds every fact of the dialect, missing and unreadable ones too; ``defaults``
    what the firmware applies to missing ones. ``section``, ``driver`` and ``partner`` are the
    names of its sections.
    """

    name: str
    section: str
    header: Span | None
    facts: Mapping[str, Fact]
    defaults: Mapping[str, Default]
    driver: str | None = None
    chip: str | None = None
    partner: str | None = None


@frozen
class ConfigFacts:
    """What a config states: its extruders, the machine, and what was noticed."""

    extruders: tuple[ExtruderFacts, ...]
    machine: Mapping[str, Fact]
    machine_defaults: Mapping[str, Default]
    events: tuple[Event, ...]
    incomplete: bool = False


def relevant(tree: Tree, dialect: Dialect, found: Discovery) -> list[Event]:
    """Return the reader's events; those on a setting only where it is one of the dialect's."""
    places: dict[str, tuple[Mapping[str, Key], str | None]] = {}
    driver = driver_role(dialect)
    for role, section in found.machine.items():
        places[section] = dialect.roles[role].keys, None
    for one in found.extruders:
        places[one.section] = one.role.keys, one.name
        if one.driver is not None:
            places[one.driver] = driver.keys, one.name
    twice = (event for section, (keys, _) in places.items()
             for event in tree.duplicates(section, keys))  # fmt: skip
    kept = (_placed(event, places, dialect) for event in (*tree.events, *twice))
    return [event for event in kept if event is not None]


def _placed(event: Event, places: Places, dialect: Dialect) -> Event | None:
    """Return an event with its fact and extruder, or None where it concerns no key of ours."""
    section, name = event.fields.get("section"), event.fields.get("key")
    if section is None or name is None:
        return event
    if event.kind == "swallowed-header":
        header = _HEADER.match(event.fields.get("text", ""))
        words = " ".join(header[1].split()) if header else ""
        if any(role.match(words) for role in dialect.roles.values()):
            return replace(event, extruder=places.get(section, ({}, None))[1])
    if section not in places:
        return None
    keys, extruder = places[section]
    names = [name]
    if event.kind in SWALLOWED and (found := _SETTING.match(event.fields.get("text", ""))):
        names.append(found[1].lower())
    key = next((keys[one] for one in reversed(names) if one in keys), None)
    return replace(event, fact=key.fact, extruder=extruder) if key is not None else None


def read_config(tree: Tree, dialect: Dialect, *, catalog: Catalog | None = None) -> ConfigFacts:
    """Return what a config states.

    Parameters
    ----------
    tree : Tree
        The config with its includes.
    dialect : Dialect
        Which sections and keys state which facts.
    catalog : Catalog, optional
        The vocabulary, and the driver chips' own defaults.

    Notes
    -----
    Kinds of events: ``value-no-number`` (why), ``value-not-whole``, ``value-no-flag``,
    ``value-out-of-range``, ``value-beyond-any-machine`` (limit), ``malformed-ratio`` (why), each
    with section, key, text;
    ``replaced-setting`` (key, other), ``section-wrong-case`` (section, right),
    ``driver-without-extruder`` (section, owner), ``two-drivers`` (section, other),
    ``driver-unknown`` (section, chip), ``driver-word-unknown`` (section, word, extruder),
    ``partner-missing`` (section, partner), ``misspelt-setting`` (section, key, right). The
    reader's events on settings are kept where they concern a key of the dialect.
    """
    reader = _ExtruderReader(tree, dialect, catalog or load_catalog())
    found = discover(tree.section_names, dialect)
    found = replace(
        found, extruders=tuple(x for x in found.extruders if not _follows_none(x, tree))
    )
    every, found = found, replace(found, extruders=found.extruders[:EXTRUDERS])
    machine = reader.machine(found)
    extruders = tuple(reader.extruder(one, found) for one in found.extruders)
    reader.oddities(found.oddities)
    reader.too_many(every)
    events = (*relevant(tree, dialect, found), *misspelt(tree, dialect, found), *reader.events)
    order = sorted(events, key=lambda event: (event.at.file, event.at.line, event.at.column))
    return ConfigFacts(extruders, machine.facts, machine.defaults, tuple(order), tree.incomplete)


@dataclass(slots=True)
class _Stated:
    facts: dict[str, Fact] = field(default_factory=dict)
    defaults: dict[str, Default] = field(default_factory=dict)


class _ExtruderReader:
    """Reads the sections of one tree and gathers events."""

    def __init__(self, tree: Tree, dialect: Dialect, catalog: Catalog) -> None:
        self.tree = tree
        self.dialect = dialect
        self.catalog = catalog
        self.events: list[Event] = []
        self.swallowed = {
            (event.fields.get("section"), event.fields.get("key"))
            for event in tree.events
            if event.kind in SWALLOWED
        }

    def too_many(self, every: Discovery) -> None:
        """Note that there are more extruders than are worked out."""
        left = every.extruders[EXTRUDERS:]
        at = self.tree.header(left[0].section) if left else None
        if at is not None:
            fields = {"count": str(len(every.extruders)), "most": str(EXTRUDERS)}
            self.events.append(Event("too-many-extruders", at, fields))

    def machine(self, found: Discovery) -> _Stated:
        """Return what the machine's sections state."""
        stated = _Stated()
        for role in self.dialect.roles.values():
            if role.scope == "machine":
                self.section(stated, role, found.machine.get(role.name), None)
        return stated

    def extruder(self, one: Found, found: Discovery) -> ExtruderFacts:
        """Return what the sections of one extruder state."""
        stated = _Stated()
        partner = self.partner(one, found)
        own = {name: key for name, key in one.role.keys.items()
               if one.role.partner is None or key.own}  # fmt: skip
        self.section(stated, replace(one.role, keys=own), one.section, one.name)
        if one.role.partner is not None:
            others = {name: key for name, key in one.role.keys.items() if not key.own}
            self.section(stated, replace(one.role, keys=others), partner, one.name, quiet=True)
        home = self.tree.header(one.section)
        self.chip(stated, one, home)
        driver = driver_role(self.dialect)
        self.section(stated, driver, one.driver, one.name, chip=one.chip, home=home)
        self.retuned(stated, one, driver)
        names = one.driver, one.chip, partner
        return ExtruderFacts(one.name, one.section, home, stated.facts, stated.defaults, *names)

    def section(
        self,
        stated: _Stated,
        role: Role,
        section: str | None,
        extruder: str | None,
        *,
        chip: str | None = None,
        home: Span | None = None,
        quiet: bool = False,
    ) -> None:
        """Read the keys of a role; a section that is not there has no defaults."""
        at = self.tree.header(section) if section is not None else home
        for key in role.keys.values():
            setting = self.tree.find(section, key.name) if section is not None else None
            if setting is not None:
                self.stated(stated, key, setting, extruder, at, quiet=quiet)
            else:
                self.absent(stated, key, at)
                default = self.default(key, chip) if section is not None else None
                if default is not None:
                    stated.defaults.setdefault(key.fact, default)
                    self.no_stages(stated, key, default)
        self.old_style(stated, role, section, extruder, quiet=quiet)
        for name in [n for n in stated.defaults if n in stated.facts and _settled(stated.facts[n])]:
            del stated.defaults[name]

    def stated(
        self,
        stated: _Stated,
        key: Key,
        setting: Setting,
        extruder: str | None,
        home: Span | None,
        *,
        quiet: bool,
    ) -> None:
        """Add what a setting states; the first section that states a fact has it."""
        reading = read_setting(key, setting, catalog=self.catalog, home=home, extruder=extruder)
        for fact in reading.facts:
            if fact.name not in stated.facts or not _settled(stated.facts[fact.name]):
                stated.facts[fact.name] = fact
        event = reading.event
        if event is None or quiet or (setting.section, setting.key) in self.swallowed:
            return
        self.events.append(event)

    def absent(self, stated: _Stated, key: Key, home: Span | None) -> None:
        """Note that a key is not there."""
        for name in (key.fact, key.stages):
            if name is not None and name not in stated.facts:
                stated.facts[name] = missing_fact(
                    name,
                    setting=key.name,
                    catalog=self.catalog,
                    home=home,
                    incomplete=self.tree.incomplete and not key.seldom,
                )

    def default(self, key: Key, chip: str | None) -> Default | None:
        """Return what the firmware applies; the number of the chip's entry where it says so."""
        default = key.default
        if default is None or default.catalogue is None:
            return default
        entry = self.catalog.category(default.catalogue).get(chip or "")
        number = entry.numbers.get(key.fact) if entry is not None else None
        if number is None:
            return None
        return Default(
            key.fact, key.name, number.typical, source=number.source, status=number.status
        )

    def retuned(self, stated: _Stated, one: Found, driver: Role) -> None:
        """Hold for unknown what an add-on sets in the driver of a motor it names."""
        if not any(self.retunes(section, one.name) for section in self.tree.section_names):
            return
        for name in self.dialect.retuned:
            fact = stated.facts[driver.keys[name].fact]
            stated.facts[fact.name] = Fact(fact.name, state=State.UNKNOWN, home=fact.home)
            stated.defaults.pop(fact.name, None)

    def retunes(self, section: str, extruder: str) -> bool:
        """Whether a section is an add-on's that sets the registers of this extruder's driver."""
        word, _, owner = " ".join(section.split()).partition(" ")
        key = self.dialect.retuned_by
        return bool(key) and owner == extruder != word and self.tree.find(section, key) is not None

    def no_stages(self, stated: _Stated, key: Key, default: Default) -> None:
        """A default gear ratio has no gear stages: it stands for no gears at all."""
        if key.stages is not None:
            stated.defaults.setdefault(key.stages, replace(default, fact=key.stages, value=0.0))

    def old_style(
        self, stated: _Stated, role: Role, section: str | None, extruder: str | None, *, quiet: bool
    ) -> None:
        """Let an old-style key stand in for others, and give what it says of another fact."""
        for key in role.keys.values():
            if section is None or self.tree.find(section, key.name) is None:
                continue
            for name in key.replaces:
                other = role.keys[name]
                for fact in (other.fact, other.stages):
                    stated.defaults.pop(fact or "", None)
                if self.tree.find(section, name) is not None and not quiet:
                    self.replaced(section, key, name, extruder)
            if key.gives is not None and not _settled(stated.facts[key.gives.fact]):
                stated.defaults[key.gives.fact] = key.gives

    def replaced(self, section: str, key: Key, name: str, extruder: str | None) -> None:
        setting = self.tree.find(section, key.name)
        if setting is not None:
            fields = {"section": section, "key": key.name, "other": name}
            at = setting.value_span
            self.events.append(Event("replaced-setting", at, fields, key.fact, extruder))

    def chip(self, stated: _Stated, one: Found, home: Span | None) -> None:
        """State the driver chip, which is the word of its section."""
        at = self.tree.header(one.driver) if one.driver is not None else None
        if one.chip is None and (odd := self.chip_like(one)) is not None:
            fact = self.chip_of_unknown_word(one, odd)
        elif one.chip is None or at is None:
            state = State.UNKNOWN if self.tree.incomplete else State.MISSING
            fact = Fact("driver.chip", state=state, home=home)
        else:
            origin = Origin(OriginKind.CONFIG, at=at, text=one.chip)
            fact = Fact("driver.chip", Text(one.chip), origin=origin, home=at)
            if one.chip not in self.catalog.drivers:
                fields = {"section": one.driver or "", "chip": one.chip}
                event = Event("driver-unknown", at, fields, "driver.chip", one.name)
                self.events.append(event)
        stated.facts["driver.chip"] = fact

    def chip_like(self, one: Found) -> str | None:
        """Return a section that is a driver's by its settings, and by its first word is none."""
        driver = driver_role(self.dialect)
        for section in self.tree.section_names:
            word, _, owner = " ".join(section.split()).partition(" ")
            plain = f"{word.lower()} {owner}"
            if owner == one.name and driver.match(plain) is None and self.has_any(section, driver):
                return section
        return None

    def has_any(self, section: str, role: Role) -> bool:
        """Whether a section holds a setting that is of this role alone."""
        others = [one.keys for one in self.dialect.roles.values() if one.keys is not role.keys]
        own = [name for name in role.keys if not any(name in keys for keys in others)]
        return any(self.tree.find(section, name) is not None for name in own)

    def chip_of_unknown_word(self, one: Found, section: str) -> Fact:
        """Tell that a driver section was not read; the chip is then not missing, but not known."""
        at = self.tree.header(section)
        fields = {"section": section, "word": section.split(maxsplit=1)[0], "extruder": one.name}
        if at is not None:
            self.events.append(Event("driver-word-unknown", at, fields, "driver.chip", one.name))
        origin = Origin(OriginKind.CONFIG, at=at, text=section)
        return Fact("driver.chip", state=State.UNREADABLE, origin=origin, home=at)

    def partner(self, one: Found, found: Discovery) -> str | None:
        """Return the section that an extruder takes its other keys from."""
        if one.role.partner is None:
            return None
        setting = self.tree.find(one.section, one.role.partner)
        if setting is None or not setting.value:
            return None
        name = " ".join(setting.value.split())
        for other in found.extruders:
            if other.name == name:
                return other.section
        if not self.tree.incomplete:
            fields = {"section": one.section, "partner": name}
            at = setting.value_span
            self.events.append(Event("partner-missing", at, fields, None, one.name))
        return None

    def oddities(self, oddities: tuple[Oddity, ...]) -> None:
        """Add the events of odd sections; an extruder may stand in a missing include."""
        for odd in oddities:
            at = self.tree.header(odd.section)
            if at is None or (odd.kind == "driver-without-extruder" and self.tree.incomplete):
                continue
            fields = {"section": odd.section, **odd.fields}
            owner = odd.extruder
            if odd.kind == "section-wrong-case":
                owner = fields["right"].partition(" ")[2] or None
            about = "driver.chip" if owner != odd.extruder else None
            self.events.append(Event(odd.kind, at, fields, about, owner))


def _follows_none(one: Found, tree: Tree) -> bool:
    """Whether an extruder stepper is said to follow no extruder: a feeder that an add-on moves."""
    setting = tree.find(one.section, one.role.partner) if one.role.partner else None
    return setting is not None and not setting.value


def _settled(fact: Fact) -> bool:
    return fact.state in (State.KNOWN, State.UNREADABLE)
