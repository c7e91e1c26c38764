"""Evaluates the rulebook over facts and events, and gives the findings.

One value, one finding: a rule that supersedes another silences it on the same extruder.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from advisor.expression import Outcome, evaluate
from advisor.frozen import frozen
from advisor.model import Event, Fact, Finding, Level, Span
from advisor.rulebook.edits import made_fix
from advisor.rulebook.event_fields import event_facts, joined_fields, unknown_settings
from advisor.rulebook.levels import hangs_on_flow, judged_level
from advisor.rulebook.places import pointed_at
from advisor.rulebook.records import STAGES, Rule, Rulebook
from advisor.rulebook.render import render

__all__ = ["evaluate_rules"]

Facts = Mapping[str, Fact]


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
        used = tuple(sorted(outcome.facts))
        yield _Fired(rule, level, outcome.share, facts, used, extruder, pointed.at)


def _level(rule: Rule, outcome: Outcome, *, defaulted: bool = False) -> Level | None:
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
