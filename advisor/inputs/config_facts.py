"""What a config states, as frozen records; `extruders` reads them."""

from __future__ import annotations

from collections.abc import Mapping

from advisor.base import Event, Fact, Span, frozen
from advisor.inputs.dialect import Default

__all__ = ["ConfigFacts", "ExtruderFacts"]


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
