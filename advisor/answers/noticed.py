"""Which of the readers' events are worth telling of this machine."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING

from advisor.base import Event, OriginKind, State
from advisor.inputs import ConfigFacts
from advisor.machine import FactBook, one_family

if TYPE_CHECKING:
    from advisor.inputs import ProfileSet

__all__ = ["bearing", "of_profiles"]

_BEARING = ("motor.run_current", "driver.chip", "nozzle.diameter", "filament.diameter")
_ASKING = ("demand.profile_flow", "demand.feature_flow")


def bearing(config: ConfigFacts, books: Mapping[str, FactBook]) -> Iterable[Event]:
    """Return the config's events; a missing include only where the extruder may stand in it."""
    bears = not config.extruders or any(
        one.facts[name].state is State.UNKNOWN
        for one in config.extruders
        for name in _BEARING
        if name in one.facts
    )
    bears = bears or not all(book.known("drive.travel_per_motor_turn") for book in books.values())
    return [event for event in config.events if bears or event.kind != "include-missing"]


def of_profiles(profiles: ProfileSet, books: Mapping[str, FactBook]) -> Iterable[Event]:
    """Return the profiles' events without those that this machine makes idle.

    Advance set by a command counts only where the config sets one too; a profile that is missing
    only where the other does not say which flow is asked; a material whose kind is open only where
    nobody else states the kind.
    """
    twice = any((book.nominal("motion.pressure_advance") or 0.0) > 0.0 for book in books.values())
    idle = {
        "profile-advance-in-text": not twice,
        "profile-part-missing": any(
            book.known(name) for book in books.values() for name in _ASKING
        ),
    }
    return [
        event
        for event in profiles.events
        if not idle.get(event.kind) and not _kind_is_stated(event, books)
    ]


def _kind_is_stated(event: Event, books: Mapping[str, FactBook]) -> bool:
    if event.kind != "profile-material-assumed" or not books:
        return False
    stated = [book.facts.get("filament.material") for book in books.values()]
    return all(
        fact is not None
        and fact.origin.kind is not OriginKind.PROFILE
        and one_family(fact.text or "", event.fields["taken"])
        for fact in stated
    )
