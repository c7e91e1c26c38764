"""Lets the fixes of one report fit each other: where a value follows another that a fix lowers.

The facts are worked out with the fixes made, until they settle; whether that cures what is told
is not asked here, see `mend`.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping, Sequence

from advisor.base import Fact, Finding, Fix, Number, State, parse_unit
from advisor.judge import FixRule, Rulebook, made_fix
from advisor.machine import Machine

__all__ = ["fitted"]

_MOST_ROUNDS = 6
_Fixed = tuple[Finding, FixRule]


def fitted(
    findings: Iterable[Finding],
    machines: Mapping[str, Machine],
    rulebook: Rulebook,
) -> tuple[Finding, ...]:
    """Return the findings, their fixes fitting each other.

    Parameters
    ----------
    findings : iterable of Finding
        What is told.
    machines : mapping of str to Machine
        The extruders.
    rulebook : Rulebook
        How the fixes are made.
    """
    every = tuple(findings)
    changed: dict[int, Finding] = {}
    for name, machine in machines.items():
        fixed = [(f, rule) for f in every if f.extruder == name and (rule := _rule(f, rulebook))]
        if linked := _linked(fixed):
            changed |= _settled(linked, machine)
    return tuple(changed.get(id(finding), finding) for finding in every)


def _rule(finding: Finding, rulebook: Rulebook) -> FixRule | None:
    rule = rulebook.find(finding.rule)
    return rule.fix if rule is not None and finding.fix is not None else None


def _linked(fixed: Sequence[_Fixed]) -> list[_Fixed]:
    """Return the fixes that take their value from what another one changes, and those others."""
    changed = {rule.fact for _, rule in fixed}
    linked: set[str] = set()
    for _, rule in fixed:
        if led_by := changed & set(rule.to.values) - {rule.fact}:
            linked |= {rule.fact, *led_by}
    return [(finding, rule) for finding, rule in fixed if rule.fact in linked]


def _settled(fixed: Sequence[_Fixed], machine: Machine) -> dict[int, Finding]:
    """Return the findings whose fix changes where all fixes are made together."""
    facts = machine.facts
    fixes = {id(finding): finding.fix for finding, _ in fixed if finding.fix is not None}
    for _ in range(_MOST_ROUNDS):
        made = _with_fixes(fixed, fixes, machine)
        again = {
            id(finding): _lower(
                made_fix(rule, {**made, rule.fact: facts[rule.fact]}), fixes[id(finding)]
            )
            for finding, rule in fixed
        }
        if again == fixes:
            break
        fixes = again
    return {id(f): _told(f, rule, fixes, fixed) for f, rule in fixed if fixes[id(f)] != f.fix}


def _lower(made: Fix | None, before: Fix) -> Fix:
    """Return the lower of two fixes: what was lowered is not raised again, as edits are not."""
    return made if made is not None and float(made.new) < float(before.new) else before


def _with_fixes(
    fixed: Sequence[_Fixed],
    fixes: Mapping[int, Fix],
    machine: Machine,
) -> Mapping[str, Fact]:
    """Return the facts with the lowest value that is proposed for each setting."""
    changes: dict[str, Fact] = {}
    for name, text in _lowest(fixed, fixes).items():
        fact = machine.facts[name]
        unit = machine.book.units[name]
        value = Number(float(parse_unit(unit).to_si(float(text))), unit)
        changes[name] = dataclasses.replace(fact, value=value, state=State.KNOWN)
    return machine.plain().with_(changes).facts


def _lowest(fixed: Sequence[_Fixed], fixes: Mapping[int, Fix]) -> dict[str, str]:
    lowest: dict[str, str] = {}
    for finding, rule in fixed:
        text = fixes[id(finding)].new
        lowest[rule.fact] = min(lowest.get(rule.fact, text), text, key=float)
    return lowest


def _told(
    finding: Finding, rule: FixRule, fixes: Mapping[int, Fix], fixed: Sequence[_Fixed]
) -> Finding:
    """Return a finding with its new fix; a value that follows another says so."""
    lowest = _lowest(fixed, fixes)
    led = next((name for name in rule.to.values if name in lowest and name != rule.fact), None)
    advice = finding.advice
    if led is not None:
        words = led.rpartition(".")[2].replace("_", " ")
        said = (
            f"The changed value fits the {words} as another fix here lowers it, to {lowest[led]}."
        )
        advice = f"{advice} {said}" if advice else said
    return dataclasses.replace(finding, fix=fixes[id(finding)], advice=advice)
