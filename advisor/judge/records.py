"""A rule and the rulebook as frozen records over compiled rows; they hold and look up."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field
from typing import TypeAlias, TypedDict

from advisor.base import Level, Span, frozen
from advisor.expression import Compiled

__all__ = ["STAGES", "FixRow", "FixRule", "Parts", "Rule", "RuleRow", "Rulebook"]

STAGES = ("text", "motor", "gears", "grip", "gap", "melt", "heater", "firmware", "slicer")
"""The stages along the way of the filament, in the order in which findings are told."""


Parts: TypeAlias = Sequence["str | Sequence[object]"]
"""A compiled template: texts, and placeholders, each the word of its kind and what it needs."""


class FixRow(TypedDict):
    """How an edit is made, in JSON types."""

    set: str
    to: Sequence[object]
    round: str
    step: float
    unit: str


class RuleRow(TypedDict):
    """A rule in JSON types, as it is compiled and stored."""

    name: str
    title: str
    level: str
    stage: str
    scope: str
    when: Sequence[object] | None
    milder: Mapping[str, Sequence[object]]
    event: str | None
    grouped: bool
    words: Mapping[str, Mapping[str, str]]
    at: list[str]
    message: Parts
    message_text: str
    advice: Parts | None
    advice_text: str | None
    why: str
    caution: str | None
    fix: FixRow | None
    source: list[str]
    supersedes: list[str]
    examples: Mapping[str, Sequence[Mapping[str, object]]]
    place: tuple[str, int]


@frozen
class FixRule:
    """How a rule's edit is made: set the setting of `fact` to `to`, rounded to `step`."""

    fact: str
    to: Compiled
    round: str  # down | up | nearest
    step: float
    unit: str

    @property
    def rounding(self) -> str:
        """How it is rounded, in words; empty where the rule says the value itself."""
        if not self.to.values:
            return ""
        how = "to the nearest" if self.round == "nearest" else f"{self.round} to"
        return f", rounded {how} {f'{self.step:g} {self.unit}'.strip()}"


@frozen
class Rule:
    """One rule. What evaluation needs stands in fields, the rest is read from `row`."""

    name: str
    level: Level
    stage: str
    scope: str  # extruder | machine
    when: Compiled | None
    milder: tuple[tuple[Level, Compiled], ...]  # the mildest first
    event: str | None
    at: tuple[str, ...]
    supersedes: tuple[str, ...]
    row: RuleRow = field(repr=False)

    @classmethod
    def from_row(cls, row: RuleRow) -> Rule:
        """Return the rule of a compiled row."""
        return cls(
            name=row["name"],
            level=Level(row["level"]),
            stage=row["stage"],
            scope=row["scope"],
            when=None if row["when"] is None else Compiled.from_json(row["when"]),
            milder=tuple(
                (Level(level), Compiled.from_json(code)) for level, code in row["milder"].items()
            ),
            event=row["event"],
            at=tuple(row["at"]),
            supersedes=tuple(row["supersedes"]),
            row=row,
        )

    @property
    def title(self) -> str:
        """What the rule looks for, as a heading."""
        return self.row["title"]

    @property
    def why(self) -> str:
        """Why it matters."""
        return self.row["why"]

    @property
    def condition(self) -> str:
        """The condition as it stands in the file, or the event it waits for."""
        words = [f"event {self.event}"] if self.event else []
        words += [" ".join(self.when.text.split())] if self.when else []
        return " and ".join(words)

    @property
    def message(self) -> Parts:
        """The compiled template of the message."""
        return self.row["message"]

    @property
    def message_text(self) -> str:
        """The message as it stands in the file, with its placeholders."""
        return self.row["message_text"]

    @property
    def advice(self) -> Parts | None:
        """The compiled template of the instruction, if there is one."""
        return self.row["advice"]

    @property
    def advice_text(self) -> str | None:
        """The instruction as it stands in the file, with its placeholders."""
        return self.row["advice_text"]

    @property
    def caution(self) -> str | None:
        """How the change can hurt, if it can."""
        return self.row["caution"]

    @property
    def sources(self) -> tuple[str, ...]:
        """Ids of rules/sources.yaml."""
        return tuple(self.row["source"])

    @property
    def fix(self) -> FixRule | None:
        """How the edit is made, if there is one."""
        row = self.row["fix"]
        if row is None:
            return None
        to = Compiled.from_json(row["to"])
        return FixRule(row["set"], to, row["round"], row["step"], row["unit"])

    @property
    def fix_text(self) -> str | None:
        """The edit in words: which fact, to what, rounded how."""
        fix = self.fix
        if fix is None:
            return None
        return f"{fix.fact}: {fix.to.text}{fix.rounding}"

    @property
    def grouped(self) -> bool:
        """Whether all events of the kind make one finding."""
        return self.row["grouped"]

    @property
    def words(self) -> Mapping[str, Mapping[str, str]]:
        """For an event's field: what to write in place of its value."""
        return self.row["words"]

    @property
    def examples(self) -> Mapping[str, Sequence[Mapping[str, object]]]:
        """The examples that hold and that fail, as they stand in the file."""
        return self.row["examples"]

    @property
    def place(self) -> Span:
        """Where the rule stands in rules/."""
        file, line = self.row["place"]
        return Span(file, line)


@frozen
class Rulebook:
    """All rules, in the order of their files."""

    rules: tuple[Rule, ...]
    by_name: Mapping[str, Rule] = field(repr=False)
    by_event: Mapping[str, tuple[Rule, ...]] = field(repr=False)

    @classmethod
    def from_rows(cls, rows: Sequence[RuleRow]) -> Rulebook:
        """Return the rulebook of compiled rows."""
        rules = tuple(Rule.from_row(row) for row in rows)
        by_event: dict[str, tuple[Rule, ...]] = {}
        for rule in rules:
            if rule.event is not None:
                by_event[rule.event] = (*by_event.get(rule.event, ()), rule)
        return cls(rules, {rule.name: rule for rule in rules}, by_event)

    def find(self, name: str) -> Rule | None:
        """Return the rule of this name, or None."""
        return self.by_name.get(name)
