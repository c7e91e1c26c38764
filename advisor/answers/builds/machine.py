"""A machine with changes made to it: what is stated is replaced, and what hangs on it follows.

All else stays what it was, the assumed classes too, so that two machines differ in the change
alone; the ensemble is keyed by the names of its inputs, so that they are compared in pairs. What
weighed tests told of the first machine holds for the others, but for what another class replaces.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence

from advisor.answers.builds.vary import Variation
from advisor.base import Fact, Origin, OriginKind, Text, frozen, value_of
from advisor.inputs import Measurement, load_fields
from advisor.machine import LATE, Change, FactBook, Machine, each, renewed, stated_classes

__all__ = ["Build", "changed", "changed_each", "restated"]

_ORIGIN = Origin(OriginKind.COMMAND, setting="--vary")
_ZONE = frozenset({"hotend.melt_length", "hotend.split_length", "hotend.channels"})
_OTHER_MOTOR = frozenset(
    {"motor.class", "motor.holding_torque", "motor.rated_current", "motor.phases_on"}
)
_OTHER_HEAT = frozenset({"motor.class", "motor.rated_current", "motor.resistance", "drive.mount"})
_OTHER_GRIP = frozenset(
    {"drive.driven_gears", "drive.gear_diameter", "drive.bite_depth", "filament.material",
     "filament.diameter", "drive.class"}
)  # fmt: skip


@frozen(eq=False)
class Build:
    """One build of an extruder: the machine, and what to say about it."""

    name: str
    machine: Machine
    notes: tuple[str, ...] = ()

    @property
    def book(self) -> FactBook:
        """Its facts."""
        return self.machine.book


def restated(
    machine: Machine, facts: Mapping[str, Change], wanted: Iterable[str] | None = None
) -> Machine:
    """Return the machine with facts set to `facts` (SI; None: unstated), its classes kept."""
    changes: dict[str, Change] = {**stated_classes(machine.book), **facts}
    return machine.with_(changes, origin=_ORIGIN, wanted=wanted)


@frozen(eq=False)
class _Planned:
    """What a row of changes comes to: facts to state, measurements that hold, notes."""

    name: str
    facts: Mapping[str, Fact | None]
    measured: Mapping[str, Measurement]
    notes: tuple[str, ...]
    derated: bool

    def like(self, swept: str) -> Hashable:
        """Return what plans have in common that differ in the value of `swept` alone."""
        facts = tuple((name, value) for name, value in self.facts.items() if name != swept)
        return self.derated, tuple(self.measured), facts


def changed(
    build: Build, changes: Iterable[Variation], wanted: Iterable[str] | None = None
) -> Build:
    """Return the build with `changes` made to it.

    Parameters
    ----------
    build : Build
        The machine as it stands.
    changes : iterable of Variation
        What is set to what; a class is taken before the numbers it would renew.
    wanted : iterable of str, optional
        The facts asked for, if not all.
    """
    return _built(build, _planned(build, changes), wanted)


def changed_each(
    build: Build, rows: Sequence[tuple[Variation, ...]], wanted: Iterable[str]
) -> Iterator[tuple[int, Build]]:
    """Yield the build with each row of changes made to it, and the place of the row.

    Rows that differ in one number alone are worked out together, so they come in another order.

    Parameters
    ----------
    build : Build
        The machine as it stands.
    rows : sequence of tuple of Variation
        Rows of changes to the same things.
    wanted : iterable of str
        The facts asked for.
    """
    plans = [_planned(build, row) for row in rows]
    swept = _longest_sweep(rows)
    if swept is None:
        yield from ((place, _built(build, plan, wanted)) for place, plan in enumerate(plans))
        return
    groups: dict[Hashable, list[int]] = {}
    for place, plan in enumerate(plans):
        groups.setdefault(plan.like(swept), []).append(place)
    for places in groups.values():
        alike = [plans[place] for place in places]
        base = _built(build, alike[0], wanted)
        more = base.notes[len(build.notes) + len(alike[0].notes) :]
        values = [_nominal(plan, swept) for plan in alike]
        alone = len(places) == 1
        machines = (base.machine,) if alone else each(base.machine, swept, values, wanted)
        for place, plan, machine in zip(places, alike, machines, strict=True):
            yield place, Build(plan.name, machine, (*build.notes, *plan.notes, *more))


def _longest_sweep(rows: Sequence[tuple[Variation, ...]]) -> str | None:
    """Return the fact that takes the most values of those that can be swept."""
    facts = {change.field.fact for row in rows[:1] for change in row} & LATE
    banded = {change.field.fact for row in rows for change in row if not change.exact}
    values = {
        fact: {change.value for row in rows for change in row if change.field.fact == fact}
        for fact in sorted(facts - banded)
    }
    most = {fact: len(all_) for fact, all_ in values.items()}
    return max(most, key=lambda fact: most[fact], default=None)


def _nominal(plan: _Planned, name: str) -> float:
    fact = plan.facts[name]
    assert fact is not None, name
    assert fact.nominal is not None, name
    return fact.nominal


def _built(build: Build, plan: _Planned, wanted: Iterable[str] | None) -> Build:
    made = build.machine.with_(
        {**stated_classes(build.machine.book), **plan.facts},
        origin=_ORIGIN,
        measured=plan.measured,
        wanted=wanted,
    )
    notes = list(plan.notes)
    if plan.derated:
        made = _at_derated(made, notes, wanted)
    return Build(plan.name, made, (*build.notes, *notes))


def _planned(build: Build, changes: Iterable[Variation]) -> _Planned:
    renews = load_fields().renews
    rows = sorted(changes, key=lambda change: change.field.path not in renews)
    machine = build.machine
    facts: dict[str, Fact | None] = {}
    notes: list[str] = []
    for change in rows:
        facts |= _renewed(machine, change)
        facts |= _stated(machine, change)
    _follow(machine, facts, notes)
    measured = _measured(machine, facts, notes)
    facts |= _melt_zone(machine, facts, measured)
    name = ", ".join(change.label for change in rows)
    derated = any(change.derated for change in rows)
    return _Planned(name, facts, measured, tuple(notes), derated)


def _stated(machine: Machine, change: Variation) -> dict[str, Fact]:
    if change.derated:
        return {}
    facts = [Fact(change.field.fact, change.value, origin=_ORIGIN)]
    if change.kind is not None:
        facts.append(Fact("motor.rating_basis", Text(change.kind), origin=_ORIGIN))
    if change.stages is not None:
        facts.append(machine.book.stated("drive.stages", float(change.stages), _ORIGIN))
    return {fact.name: fact for fact in facts}


def _renewed(machine: Machine, change: Variation) -> dict[str, None]:
    """Return what another class makes void: what the sheet states of the old one."""
    if change.field.type == "text" and machine.book.text(change.field.fact) == change.value.text:
        return {}
    return dict.fromkeys(renewed(machine.inputs, change.field.path))


def _follow(machine: Machine, facts: dict[str, Fact | None], notes: list[str]) -> None:
    """Let the rotation distance follow another gear: it is the circumference that bites."""
    diameter, distance = facts.get("drive.gear_diameter"), "drive.rotation_distance"
    old = machine.book.nominal(distance)
    if diameter is None or old is None or distance in facts:
        return
    before = machine.book.nominal("drive.gear_diameter") or old / math.pi
    factor = (diameter.nominal or 0.0) / before
    facts[distance] = machine.book.stated(distance, old * factor, _ORIGIN)
    notes.append("another gear has another rotation distance, in proportion to its diameter")


def _measured(
    machine: Machine, facts: Mapping[str, Fact | None], notes: list[str]
) -> dict[str, Measurement]:
    """Return the measurements that still hold; what they told of the motor stays told."""
    measured = dict(machine.inputs.measured)
    touched = frozenset(facts)
    force = measured.get("measured_force")
    if force is not None:
        slipped = force.text("outcome") == "slipped"
        if touched & (_OTHER_GRIP if slipped else _OTHER_MOTOR):
            del measured["measured_force"]
            notes.append("the measured force is left out: it was another drive's")
    if "measured_case" in measured and touched & _OTHER_HEAT:
        del measured["measured_case"]
        notes.append("the measured case temperature is left out: it was another motor's or mount's")
    unstated = [name for name, fact in facts.items() if fact is None]
    if "measured_flow" in measured and _MEASURED_FLOW in unstated:
        del measured["measured_flow"]
        notes.append("the measured flow is left out: it was another hotend's")
    return measured


def _melt_zone(
    machine: Machine, facts: Mapping[str, Fact | None], measured: dict[str, Measurement]
) -> dict[str, Fact]:
    """Scale a measured flow by the length of the melt zone; keep a measured torque constant."""
    made: dict[str, Fact] = {}
    flow = machine.inputs.stated.get(_MEASURED_FLOW)
    kept = flow is not None and _MEASURED_FLOW not in facts and "measured_flow" in measured
    if flow is not None and flow.number is not None and kept and _ZONE & frozenset(facts):
        name = "hotend.heated_length"
        new = restated(machine.plain(), facts, wanted=(name,)).book.nominal(name)
        old = machine.book.nominal(name)
        if new and old:
            low, typical, high = (part * new / old for part in flow.number.stated)
            scaled = value_of((low, typical, high), flow.number.unit)
            made[_MEASURED_FLOW] = dataclasses.replace(flow, value=scaled)
    force = measured.get("measured_force")
    if force is not None and force.text("outcome") == "skipped":
        made["motor.torque_constant"] = machine.book.facts["motor.torque_constant"]
        del measured["measured_force"]
    return made


_MEASURED_FLOW = "hotend.measured_flow"


def _at_derated(made: Machine, notes: list[str], wanted: Iterable[str] | None) -> Machine:
    """Set the run current to the largest setting that is not above the derated current."""
    setting = made.book.samples("motor.set_current")
    if setting is None:
        notes.append("there is no current this motor bears here: the run current is as it was")
        return made
    return made.with_({"motor.run_current": float(setting)}, origin=_ORIGIN, wanted=wanted)
