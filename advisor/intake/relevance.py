"""Sorts the reader's events: those on a setting are kept where the dialect knows the setting.

A key given twice in the section of a fan is not our business. It judges nothing.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

from advisor.intake.dialect import Dialect, Key
from advisor.intake.discovery import Discovery, driver_role
from advisor.model import Event

if TYPE_CHECKING:
    from advisor.config import Tree

__all__ = ["SWALLOWED", "relevant"]

SWALLOWED = ("swallowed-line", "swallowed-header")
_SETTING = re.compile(r"\s*([^:=\s]+)\s*[:=]")
_HEADER = re.compile(r"\[([^\]]+)\]")
Places = Mapping[str, tuple[Mapping[str, Key], str | None]]  # section: its keys and extruder


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
