"""Finds where the sheet and the config say different things of the same machine."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from advisor.base import Event, Fact, OriginKind, Span
from advisor.inputs import ConfigFacts, ExtruderFacts, Sheet, SheetPart, load_fields
from advisor.machine import FactBook

__all__ = ["conflicts", "unknown_extruders"]

_SAME = 0.02  # relative: a difference below this is no conflict


def conflicts(extruder: ExtruderFacts, part: SheetPart, book: FactBook) -> Iterator[Event]:
    """Yield an event for each thing that sheet and config state differently.

    Kinds: ``sheet-conflict`` and ``step-angle-conflict`` (what, first, second),
    ``case-not-warmer`` (measured, air), ``sheet-number-bare`` (what); the place is the sheet's
    value.
    """
    yield from _bare(part, extruder)
    for name, fact in part.facts.items():
        other = extruder.facts.get(name)
        if other is not None and other.known and _differs(fact, other):
            yield _event("sheet-conflict", fact, other, (_shown(fact), _shown(other)), extruder)
    yield from _step_angle(part.facts, extruder, book)
    yield from _cold_case(part, extruder, book)


def unknown_extruders(sheet: Sheet | None, config: ConfigFacts) -> Iterator[Event]:
    """Yield an event for each extruder the sheet names and the config does not have."""
    if sheet is None:
        return
    names = [extruder.name for extruder in config.extruders]
    for name, part in sheet.extruders.items():
        if name not in names and not config.incomplete:
            shared = sheet.shared.facts
            own = (fact for word, fact in part.facts.items() if fact is not shared.get(word))
            at = next((fact.origin.at for fact in own), None)
            fields = {"name": name, "known": ", ".join(names)}
            yield Event("sheet-extruder-unknown", at or Span(sheet.file or "", 1), fields)


def _bare(part: SheetPart, extruder: ExtruderFacts) -> Iterator[Event]:
    """A number without a unit is taken in the field's own, and that is said."""
    fields = load_fields().fields
    for fact in part.facts.values():
        origin = fact.origin
        field = fields.get(origin.setting or "")
        text = origin.text or ""
        if field is None or origin.at is None or origin.kind is not OriginKind.SHEET:
            continue
        if field.lacks_unit(text):
            what = {"what": f"{field.path} {text} {field.unit.removesuffix(' rms')}"}
            yield Event("sheet-number-bare", origin.at, what, fact.name, extruder.name)


def _step_angle(
    facts: Mapping[str, Fact], extruder: ExtruderFacts, book: FactBook
) -> Iterator[Event]:
    """A motor of 1.8 deg has 200 full steps; the config must say the same."""
    angle, steps = facts.get("motor.step_angle"), book.facts.get("motor.full_steps")
    if angle is None or steps is None or not steps.known:
        return
    due = 2.0 * math.pi / _nominal(angle)
    if abs(due / _nominal(steps) - 1.0) > _SAME:
        first = f"{_shown(angle)}, that is {due:.0f} full steps per turn"
        second = f"{_nominal(steps):.0f} full steps per turn"
        yield _event("step-angle-conflict", angle, steps, (first, second), extruder)


def _cold_case(part: SheetPart, extruder: ExtruderFacts, book: FactBook) -> Iterator[Event]:
    """A case that carries current is warmer than the air, or it was not measured after a run."""
    case = part.facts.get("motor.measured_case_temperature")
    air = part.facts.get("motor.measured_case_ambient") or book.facts.get("ambient.motor")
    if case is None or air is None or not air.known:
        return
    if _nominal(case) <= _nominal(air):
        fields = {"measured": _shown(case), "air": _shown(air)}
        yield Event(
            "case-not-warmer", _place(case, air, extruder), fields, case.name, extruder.name
        )


def _differs(first: Fact, second: Fact) -> bool:
    if first.text is not None:
        return first.text != second.text
    one, two = _nominal(first), _nominal(second)
    return abs(one - two) > _SAME * max(abs(one), abs(two))


def _nominal(fact: Fact) -> float:
    value = fact.nominal
    assert value is not None, fact.name
    return value


def _shown(fact: Fact) -> str:
    number = fact.number
    if number is None:
        return fact.text or ""
    return f"{number.in_trade():.4g} {number.unit}".strip(" -")


def _event(
    kind: str, fact: Fact, other: Fact, said: tuple[str, str], extruder: ExtruderFacts
) -> Event:
    fields = {"what": fact.origin.setting or fact.name, "first": said[0], "second": said[1]}
    return Event(kind, _place(fact, other, extruder), fields, fact.name, extruder.name)


def _place(fact: Fact, other: Fact, extruder: ExtruderFacts) -> Span:
    """Return where a fact is stated; where the command line states it, what it goes against."""
    places = (fact.origin.at, other.origin.at, other.home, extruder.header)
    return next((place for place in places if place is not None), Span("", 1))
