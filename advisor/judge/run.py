"""Evaluates the rulebook over facts and events, and gives the findings.

One value, one finding: a rule that supersedes another silences it on the same extruder.

A rule's fix becomes the edit of one setting, rounded to the safe side.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal

from advisor.base import (
    Event,
    Fact,
    Finding,
    Fix,
    Level,
    OriginKind,
    Span,
    State,
    Text,
    frozen,
    parse_unit,
)
from advisor.expression import ExpressionResult, evaluate
from advisor.judge.levels import hangs_on_flow, judged_level
from advisor.judge.records import STAGES, FixRule, Rule, Rulebook
from advisor.judge.render import render

__all__ = [
    "Pointed",
    "evaluate_rules",
    "event_facts",
    "joined_fields",
    "made_fix",
    "pointed_at",
    "rounded",
    "unknown_settings",
]

_EDITABLE = (OriginKind.CONFIG, OriginKind.PROFILE, OriginKind.DEFAULT)
_SLACK = 1e-6  # of a step: 0.57 is 57 steps of 0.01, not 56.99999
_NAMED = 5  # so many of a group are named, the others counted
_FIRST = ("drive", "motor")  # no limit of the drive can be reckoned without them
_LONG = 60  # characters they may take together, so that the count is never cut off
Facts = Mapping[str, Fact]


def made_fix(fix: FixRule, facts: Mapping[str, Fact]) -> Fix | None:
    """Return the edit, or None where there is none to make.

    There is none where the setting stands in no file we may edit or has no name, where the
    new value is unknown, no change, or not positive (but where the rule itself says 0), or where
    it would go the wrong way.
    """
    fact = facts.get(fix.fact)
    if fact is None or fact.origin.kind not in _EDITABLE or fact.origin.setting is None:
        return None
    nominal = evaluate(fix.to, facts).number
    if nominal is None or not math.isfinite(nominal):
        return None
    value = float(parse_unit(fix.unit).from_si(nominal))
    text = rounded(value, step=fix.step, way=fix.round)
    old = fact.origin.text if fact.known and fact.origin.kind is not OriginKind.DEFAULT else None
    switched_off = float(text) == 0.0 and not fix.to.values  # a rule says 0 itself
    if (float(text) <= 0.0 and not switched_off) or not _goes_the_way(fix, float(text), fact):
        return None
    at = fact.origin.at if old is not None else fact.home
    return Fix(setting=fact.origin.setting, new=text, old=old, at=at)


def rounded(value: float, *, step: float, way: str) -> str:
    """Return `value` as a whole number of steps, written with the decimals of the step.

    >>> rounded(0.5657, step=0.01, way="down"), rounded(0.57, step=0.01, way="down")
    ('0.56', '0.57')
    >>> rounded(12.3, step=5, way="up"), rounded(9.78, step=0.1, way="nearest")
    ('15', '9.8')
    """
    steps = value / step
    count = {
        "down": math.floor(steps + _SLACK),
        "up": math.ceil(steps - _SLACK),
        "nearest": math.floor(steps + 0.5),
    }[way]
    return f"{Decimal(count) * Decimal(repr(step) if step % 1 else str(int(step))):f}"


def _goes_the_way(fix: FixRule, new: float, fact: Fact) -> bool:
    """Whether the setting changes at all, and only down where it is rounded down."""
    nominal = fact.nominal
    if nominal is None:
        return True
    present = float(parse_unit(fix.unit).from_si(nominal))
    if math.isclose(new, present, rel_tol=1e-9):
        return False
    return {"down": new < present, "up": new > present, "nearest": True}[fix.round]


def event_facts(event: Event) -> dict[str, Fact]:
    """Return the fields of an event as text facts ``event.<field>``, for conditions."""
    return {
        f"event.{name}": Fact(f"event.{name}", Text(str(value)))
        for name, value in event.fields.items()
    }


def joined_fields(events: Sequence[Event]) -> dict[str, str]:
    """Return the fields of several events as one: different values joined, and their count."""
    names = events[0].fields
    joined = {
        name: _listed(dict.fromkeys(str(event.fields.get(name, "")) for event in events))
        for name in names
    }
    return {**joined, "count": str(len(events))}


def unknown_settings(views: Iterable[Mapping[str, Fact]]) -> str:
    """Return the user's keys that may stand in what could not be read: those of the drive first."""
    unknown = [
        (fact.name.split(".")[0] not in _FIRST, fact.origin.setting)
        for facts in views
        for fact in facts.values()
        if fact.state is State.UNKNOWN and fact.origin.setting and not fact.trace.inputs
    ]
    keys = dict.fromkeys(key for _, key in sorted(unknown, key=lambda pair: pair[0]))
    return _listed(keys) if keys else "none that matters here"


def _listed(words: Iterable[str]) -> str:
    listed = list(words)
    named = len(listed) if len(listed) <= _NAMED + 1 else _NAMED
    while named > 1 and len(", ".join(listed[:named])) > _LONG:
        named -= 1
    told = ", ".join(listed[:named])
    return told if named == len(listed) else f"{told} and {len(listed) - named} more"


@frozen
class Pointed:
    """The place of a finding, and whether the value there is the firmware's default."""

    at: Span | None
    defaulted: bool


def pointed_at(names: Sequence[str], facts: Mapping[str, Fact]) -> Pointed:
    """Return the place of the first of `names` that has one.

    A fact that is stated has its own place; one that is derived points to the first stated
    fact it was made from; one that is missing or defaulted to the header of its section.
    The value counts as the firmware's default where the first fact is one.
    """
    candidates = [fact for name in names if (fact := facts.get(name)) is not None]
    defaulted = bool(candidates) and candidates[0].origin.kind is OriginKind.DEFAULT
    for fact in candidates:
        family = [fact, *_made_from(fact, facts)]
        places = [one.origin.at for one in family] + [one.home for one in family]
        at = next((place for place in places if place is not None), None)
        if at is not None:
            return Pointed(at, defaulted)
    return Pointed(None, defaulted)


def _made_from(fact: Fact, facts: Mapping[str, Fact]) -> Iterator[Fact]:
    """Yield what a derived fact was made from, the nearest first, each once."""
    waiting, seen = list(fact.trace.inputs), {fact.name}
    for name in waiting:
        if name not in seen and (one := facts.get(name)) is not None:
            seen.add(name)
            waiting += one.trace.inputs
            yield one


@frozen
class _Fired:
    """A rule that is to be told: where, how loud, and what it is about."""

    rule: Rule
    level: Level
    sure: float
    facts: Facts
    used: tuple[str, ...] = ()
    extruder: str | None = None
    at: Span | None = None
    fact: str | None = None  # the fact an event is about
    fields: Mapping[str, str] | None = None  # of the event; None where there was none


def evaluate_rules(
    rulebook: Rulebook,
    facts_by_extruder: Mapping[str, Facts],
    machine_facts: Facts,
    events: Sequence[Event] = (),
) -> list[Finding]:
    """Return the findings, sorted by extruder, stage, level and place.

    Parameters
    ----------
    rulebook : Rulebook
        The rules.
    facts_by_extruder : mapping of str to mapping
        The facts of each extruder; those of the machine may be left out of them.
    machine_facts : mapping of str to Fact
        The facts of the whole machine.
    events : sequence of Event
        What the readers noticed.
    """
    views = {name: {**machine_facts, **facts} for name, facts in sorted(facts_by_extruder.items())}
    fired = [
        *_fired_conditions(rulebook, None, machine_facts, "machine"),
        *(one for name, facts in views.items()
          for one in _fired_conditions(rulebook, name, facts, "extruder")),
        *_fired_events(rulebook, views, machine_facts, events),
    ]  # fmt: skip
    kept = _not_silenced(fired)
    return [_finding(one) for one in sorted(kept, key=_order)]


def _fired_conditions(
    rulebook: Rulebook, extruder: str | None, facts: Facts, scope: str
) -> Iterator[_Fired]:
    for rule in rulebook.rules:
        if rule.when is None or rule.event is not None or rule.scope != scope:
            continue
        outcome = evaluate(rule.when, facts)
        if outcome.value is None or outcome.value is False or _level(rule, outcome) is None:
            continue
        pointed = pointed_at(rule.at, facts)
        level = _level(rule, outcome, defaulted=pointed.defaulted) or rule.level
        level = min(level, _at_most(rule, facts), key=lambda one: one.rank)
        used = tuple(sorted(outcome.facts))
        yield _Fired(rule, level, outcome.share, facts, used, extruder, pointed.at)


def _level(rule: Rule, outcome: ExpressionResult, *, defaulted: bool = False) -> Level | None:
    used = outcome.facts.values()
    return judged_level(
        rule.level,
        nominal=outcome.nominal is True,
        share=outcome.share,
        assumed=any(fact.trace.assumed for fact in used),
        modelled=any(fact.trace.modelled for fact in used),
        defaulted=defaulted,
        flow=hangs_on_flow(outcome.facts),
    )


def _at_most(rule: Rule, facts: Facts) -> Level:
    """Return the gravest level at which the rule may be told of this machine."""
    for level, condition in rule.milder:
        if evaluate(condition, facts).nominal is True:
            return level
    return rule.level


def _fired_events(
    rulebook: Rulebook,
    views: Mapping[str, Facts],
    machine_facts: Facts,
    events: Sequence[Event],
) -> Iterator[_Fired]:
    more = {"unknown_settings": unknown_settings([*views.values(), machine_facts])}
    by_kind: dict[str, list[Event]] = {}
    for event in events:
        by_kind.setdefault(event.kind, []).append(event)
    for kind, alike in by_kind.items():
        for rule in rulebook.by_event.get(kind, ()):
            held = [
                (event, facts)
                for event in alike
                if _event_holds(
                    rule, event, facts := views.get(event.extruder or "", machine_facts)
                )
            ]
            for event, facts, fields in _told(rule, held):
                about = event.extruder, event.at, event.fact, {**fields, **more}
                yield _Fired(rule, rule.level, 1.0, facts, (), *about)


def _event_holds(rule: Rule, event: Event, facts: Facts) -> bool:
    if rule.when is None:
        return True
    return evaluate(rule.when, {**facts, **event_facts(event)}).nominal is True


def _told(
    rule: Rule, held: Sequence[tuple[Event, Facts]]
) -> Iterable[tuple[Event, Facts, Mapping[str, str]]]:
    """Return the events to be told, each with its fields; a grouped rule tells them as one."""
    if not rule.grouped or not held:
        return ((event, facts, event.fields) for event, facts in held)
    first, facts = held[0]
    return ((first, facts, joined_fields([event for event, _ in held])),)


def _not_silenced(fired: Sequence[_Fired]) -> list[_Fired]:
    """Return what no other takes the place of; only those that name a rule are asked about it.

    An event that is of no extruder, such as a profile's, is silenced by any extruder's finding.
    """
    naming: dict[tuple[str, str | None], list[_Fired]] = {}
    for one in fired:
        for name in one.rule.supersedes:
            naming.setdefault((name, one.extruder), []).append(one)
            if one.extruder is not None:
                naming.setdefault((name, None), []).append(one)
    return [
        one
        for one in fired
        if not any(_silences(other, one) for other in naming.get((one.rule.name, one.extruder), ()))
    ]


def _silences(rule: _Fired, other: _Fired) -> bool:
    """Whether one finding takes the place of another: on the same value, and as loud."""
    everywhere = other.extruder is None and other.fields is not None
    if other.rule.name not in rule.rule.supersedes or not (
        everywhere or rule.extruder == other.extruder
    ):
        return False
    if rule.level.rank < other.level.rank:
        return False
    if rule.fields is not None and other.fields is not None:
        return _same_place(rule, other)
    if rule.fields is None and other.fields is None:
        return True
    about, condition = (rule, other) if rule.fields is not None else (other, rule)
    return about.fact is not None and about.fact in (*condition.rule.at, *condition.used)


def _same_place(rule: _Fired, other: _Fired) -> bool:
    """Whether two events are about one place: the same, or the other line that one names."""
    here, there = rule.at, other.at
    if here is None or there is None or here.file != there.file:
        return here == there
    return here.line == there.line or (other.fields or {}).get("other_line") == str(here.line)


def _order(fired: _Fired) -> tuple[object, ...]:
    at = fired.at
    place = (at.file, at.line, at.column) if at is not None else ("", 0, 0)
    stage = STAGES.index(fired.rule.stage)
    return (fired.extruder or "", stage, -fired.level.rank, place, fired.rule.name)


def _finding(fired: _Fired) -> Finding:
    rule, fields = fired.rule, fired.fields or {}
    fix = made_fix(rule.fix, fired.facts) if rule.fix is not None else None
    return Finding(
        rule=rule.name,
        level=fired.level,
        stage=rule.stage,
        message=render(rule.message, fired.facts, fields),
        title=rule.title,
        extruder=fired.extruder,
        sure=fired.sure,
        at=fired.at,
        fix=fix,
        advice=render(rule.advice, fired.facts, fields) if rule.advice is not None else None,
        why=rule.why,
        caution=rule.caution,
        source=", ".join(rule.sources),
        facts=fired.used,
    )
