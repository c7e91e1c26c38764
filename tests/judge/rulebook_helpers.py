"""Small rulebooks for tests, over a vocabulary of a few facts."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from advisor.base import Event, Fact, Finding
from advisor.catalog import FactInfo
from advisor.judge import Rulebook, evaluate_rules
from advisor.judge.build import build_rulebook

VOCABULARY = {
    info.name: info
    for info in (
        FactInfo("a.x", "-", "the a", "motor"),
        FactInfo("b.x", "-", "the b", "motor"),
        FactInfo("a.current", "A rms", "current of a", "motor"),
        FactInfo("a.peak", "A peak", "peak of a", "motor"),
        FactInfo("a.flow", "mm3/s", "flow of a", "melt"),
        FactInfo("a.heat", "degC", "heat of a", "heater"),
        FactInfo("a.word", "", "word of a", "motor", type="text"),
        FactInfo("m.speed", "mm/s", "speed of the machine", "firmware", scope="machine"),
    )
}
EVENTS = """
lost-file: {what: a file is lost, fields: [target, reason]}
odd-line: {what: a line is odd, fields: [key, text]}
odder-line: {what: a line is odder, fields: [key, text, other_line]}
"""


def rule_row(**keys: Any) -> dict[str, Any]:
    """A whole rule; the keys given replace or add, None takes away."""
    row: dict[str, Any] = {
        "name": "some-rule",
        "title": "Some rule",
        "level": "warning",
        "stage": "motor",
        "message": "Something holds.",
        "why": "It matters.",
        "advice": "Do something.",
        "source": "some-source",
        "examples": {"holds": [{}], "fails": [{}]},
    }
    row |= keys
    return {key: value for key, value in row.items() if value is not None}


@dataclass(frozen=True)
class Book:
    """A rulebook and a short way to run it."""

    rulebook: Rulebook

    def run(
        self,
        facts: Mapping[str, Fact] | None = None,
        *,
        machine: Mapping[str, Fact] | None = None,
        events: Sequence[Event] = (),
    ) -> list[Finding]:
        return evaluate_rules(self.rulebook, {"extruder": facts or {}}, machine or {}, events)


def yaml_of(*rows: Mapping[str, Any]) -> str:
    """JSON is YAML; one key a line, so that places can be told apart."""
    lines: list[str] = []
    for row in rows:
        for index, (key, value) in enumerate(row.items()):
            lines.append(f"{'-' if index == 0 else ' '} {key}: {json.dumps(value)}")
    return "\n".join(lines) + "\n"


def book(*rows: Mapping[str, Any]) -> Book:
    """The rulebook of these rules, through the compiler and back from JSON."""
    return Book(Rulebook.from_rows(json.loads(json.dumps(built(yaml_of(*rows))))))


def built(text: str) -> list[dict[str, Any]]:
    """The compiled rows of a rule file's text."""
    return build_rulebook({"events.yaml": EVENTS, "some.yaml": text}, VOCABULARY)
