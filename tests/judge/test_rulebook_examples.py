"""Every rule holds where its examples hold and is silent where they fail."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from every import every

from advisor.base import Finding
from advisor.catalog import load_catalog
from advisor.judge import Rule, Rulebook, evaluate_rules, load_rulebook
from advisor.judge.examples import read_example

RULES = load_rulebook().rules
VOCABULARY = load_catalog().facts
HOLDS = [(rule, row) for rule in RULES for row in rule.examples["holds"]]
FAILS = [(rule, row) for rule in RULES for row in rule.examples["fails"]]


def names(cases: list[tuple[Rule, Mapping[str, Any]]]) -> list[str]:
    return [rule.name for rule, _ in cases]


def findings(rule: Rule, row: Mapping[str, Any]) -> list[Finding]:
    """Run the whole rulebook of this one rule over an example."""
    example = read_example(row, event=rule.event, vocabulary=VOCABULARY)
    alone = Rulebook.from_rows([{**rule.row, "supersedes": []}])
    events = [] if example.event is None else [example.event]
    return evaluate_rules(alone, {"extruder": example.facts}, {}, events)


@every(("rule", "row"), HOLDS, ids=names(HOLDS))
def test_a_rule_holds_where_its_example_holds(rule: Rule, row: Mapping[str, Any]) -> None:
    """One finding, at the level the example states, with a whole message."""
    found = findings(rule, row)

    assert [finding.rule for finding in found] == [rule.name]
    assert found[0].level == row.get("level", rule.level)
    assert found[0].message
    assert "None" not in found[0].message


@every(("rule", "row"), FAILS, ids=names(FAILS))
def test_a_rule_is_silent_where_its_example_fails(rule: Rule, row: Mapping[str, Any]) -> None:
    """No finding."""
    assert findings(rule, row) == []


@every("rule", RULES, ids=[rule.name for rule in RULES])
def test_a_rule_of_facts_is_silent_about_nothing(rule: Rule) -> None:
    """Over a machine of which nothing is known, only rules that ask for what is missing speak."""
    if rule.when is None or rule.event is not None:
        return
    found = evaluate_rules(Rulebook.from_rows([rule.row]), {"extruder": {}}, {}, [])

    assert bool(found) == all(f"missing({name})" in rule.condition for name in rule.when.facts)
