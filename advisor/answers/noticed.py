"""What the readers noticed that is worth telling of this machine, beside the rules.

Where sheet and config say different things of the same machine; which of the readers' events bear
on it; and what macros and start code set when they run: told, not used. Of that only what stands
there as a number: a default may never be used. A value that the config has anyway is no other
setting, nor is a flow factor of 100 %.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from itertools import groupby
from typing import TYPE_CHECKING

from advisor.base import Event, Fact, LaterSetting, OriginKind, Span, State, parse_unit
from advisor.catalog import Catalog
from advisor.inputs import ConfigFacts, ExtruderFacts, MacroSetting, Sheet, SheetPart, load_fields
from advisor.machine import FactBook, one_family

if TYPE_CHECKING:
    from advisor.inputs import ProfileSet

__all__ = ["bearing", "conflicts", "later_settings", "of_profiles", "unknown_extruders"]

_SAME_NUMBER = 0.02  # relative: a difference below this is no conflict
_BEARING = ("motor.run_current", "driver.chip", "nozzle.diameter", "filament.diameter")
_ASKING = ("demand.profile_flow", "demand.feature_flow")
_TOLD = ("motion.pressure_advance", "motor.run_current", "motion.max_velocity", "motion.max_accel",
         "motion.square_corner_velocity", "macro.flow_factor", "drive.rotation_distance",
         "demand.stated_flow")  # fmt: skip
_USUAL = {"macro.flow_factor": 1.0}  # a factor that changes nothing
_TITLES = {"macro.flow_factor": "flow factor", "motor.run_current": "run current"}
_SAME_VALUE = 1e-6  # relative


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
    if abs(due / _nominal(steps) - 1.0) > _SAME_NUMBER:
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
    return abs(one - two) > _SAME_NUMBER * max(abs(one), abs(two))


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


def later_settings(
    settings: Iterable[MacroSetting], config: ConfigFacts, catalog: Catalog
) -> tuple[LaterSetting, ...]:
    """Return what is set otherwise than in the config, by setting, by who sets it, by extruder."""
    names = {one.name for one in config.extruders}
    rows = [
        one
        for one in settings
        if one.fact in _TOLD
        and one.literal
        and (one.extruder is None or one.extruder in names)
        and (one.kept or not _stated(one, config))
        and not _in_a_finding(one, config)
    ]
    if not names:
        return ()

    def key(one: MacroSetting) -> tuple[int, bool, str]:
        return _TOLD.index(one.fact), one.profile, one.extruder or ""

    return tuple(_row(list(group), catalog) for _, group in groupby(sorted(rows, key=key), key))


def _row(settings: list[MacroSetting], catalog: Catalog) -> LaterSetting:
    first = settings[0]
    info = catalog.facts[first.fact]
    unit = parse_unit(info.unit)
    values = sorted({float(unit.from_si(one.value)) for one in settings})
    macros = tuple(dict.fromkeys(one.macro for one in settings))
    title = _TITLES.get(first.fact, info.title)
    return LaterSetting(
        fact=first.fact,
        title=title,
        unit=info.unit,
        values=tuple(values),
        macros=macros,
        at=first.at,
        extruder=first.extruder,
        kept=first.kept,
        profile=first.profile,
    )


def _in_a_finding(setting: MacroSetting, config: ConfigFacts) -> bool:
    """Whether a rule tells it: a profile's pressure advance where the config sets one too."""
    if not setting.profile or setting.fact != _TOLD[0]:
        return False
    return any((value or 0.0) > 0.0 for value in _values(setting, config))


def _stated(setting: MacroSetting, config: ConfigFacts) -> bool:
    """Whether the very value is the config's, or changes nothing."""
    there = [*_values(setting, config), _USUAL.get(setting.fact)]
    return any(
        value is not None and abs(value - setting.value) <= _SAME_VALUE * abs(setting.value)
        for value in there
    )


def _values(setting: MacroSetting, config: ConfigFacts) -> Iterator[float | None]:
    whose = [one.facts for one in config.extruders if setting.extruder in (None, one.name)]
    for facts in (config.machine, *whose):
        fact = facts.get(setting.fact)
        if fact is not None:
            yield fact.nominal
