"""The JSON of `lint`, `flow` and `explain`: one machine, its facts and what is asked of it."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from advisor.base import BOUNDING, WEIGHED as BY_TEST, Figure, Level, OriginKind, Report, State
from advisor.report.json.kinds import (
    COUNT,
    FLAG,
    NUMBER,
    SHARE,
    TEXT,
    WORDS,
    ChoiceKind,
    Field,
    FieldKind,
    Integer,
    Maybe,
    NumberKind,
    Record,
    Schema,
    Several,
    Table,
    unit_symbol,
    within,
)
from advisor.report.json.parts import (
    CASES,
    DRAWS,
    ERRORS,
    EXTRUDER,
    FILES,
    FINDING,
    FINDINGS,
    FLOW,
    LEVERS,
    LIMIT,
    LIMIT_ROWS,
    NEXT,
    PLACE,
    TEXTS,
    WEIGHED,
)

__all__ = ["EXPLAIN", "FLOW_ANSWER", "LINT"]


class _Any(FieldKind):
    """The value of a fact: a number, a text, a flag or null."""

    def tree(self, value: float | str | bool | None) -> float | str | bool | None:
        """Return it."""
        if isinstance(value, bool) or value is None:
            return value
        return TEXT.tree(value) if isinstance(value, str) else NUMBER.tree(value)

    def schema(self, named: dict[str, Schema]) -> Schema:
        """Return the schema of either."""
        return {"type": ["number", "string", "boolean", "null"]}


_ORIGIN = Maybe(ChoiceKind(tuple(kind.value for kind in OriginKind)))


def _origin(fact: Figure) -> str | None:
    return fact.origin.kind.value if fact.known else None


FACT_FIELDS = (
    Field("value", _Any()),
    Field("low", Maybe(NUMBER)),
    Field("high", Maybe(NUMBER)),
    Field("unit", Maybe(TEXT), lambda fact: unit_symbol(fact.unit)),
    Field("origin", _ORIGIN, _origin),
    Field("state", ChoiceKind(tuple(state.value for state in State)), "state.value"),
    Field("at", Maybe(PLACE), "origin.at"),
    Field("source", Maybe(TEXT), "origin.source"),
)
FACT = Record(
    FACT_FIELDS, "fact",
    "A named value. Text and flags have no unit and no band; value is null unless state is known.",
)  # fmt: skip

_MEASURE = Record((
    Field("group", ChoiceKind(("geometry", "melt", "grip", "feed-force", "motor"))),
    Field("share_of_spread", SHARE, "share"),
    Field("title", TEXT),
    Field("inputs", Several(Record((
        Field("fact", TEXT),
        Field("share_of_spread", SHARE, "share"),
        Field("title", TEXT),
        Field("sheet_field", Maybe(TEXT)),
    ), "measured_input"), least=1)),
    Field("how", WORDS),
), "measure", "A kind of measurement; the shares of all groups add up to 1.")  # fmt: skip

_EXTRUDER = Record((
    Field("name", TEXT),
    Field("config", Maybe(TEXT)),
    Field("facts", Table(FACT)),
    LIMIT_ROWS,
    Field("bottleneck", Maybe(ChoiceKind((*BOUNDING, BY_TEST)))),
    Field("level_with", Several(LIMIT)),
    CASES,
    NEXT,
    LEVERS,
    Field("measure_next", Several(_MEASURE)),
    WEIGHED,
), "extruder")  # fmt: skip

_LATER = Record((
    Field("fact", TEXT),
    Field("unit", TEXT),
    Field("values", Several(NUMBER, least=1)),
    Field("macros", Several(TEXT, least=1)),
    EXTRUDER,
    Field("kept", FLAG),
    Field("profile", FLAG),
    Field("at", PLACE),
), "later_setting",
    "What macros set when they run; kept: a variable of the macro holds it, no command sets it; "
    "profile: start code of a slicer profile sets it, and macros are the settings it stands in.",
)  # fmt: skip


def _count(level: Level) -> Callable[[Report], int]:
    return lambda report: report.count(level)


LINT = Record((
    FILES,
    Field("extruders", Several(_EXTRUDER)),
    FINDINGS,
    Field("summary", Record(tuple(
        Field(level.value, COUNT, _count(level))
        for level in Level
    )), lambda report: report),
    ERRORS,
    Field("later_settings", Several(_LATER), "later", optional=True),
    Field("dated_copies", Several(TEXT, least=1), "copies", optional=True),
    Field("unread_macro_moves", Integer(low=1), "unread_moves", optional=True),
    DRAWS,
), "lint")  # fmt: skip

_FEATURE = Record((
    Field("feature", TEXT, "name"),
    Field("title", TEXT),
    Field("speed", NUMBER),
    Field("width", Maybe(NUMBER)),
    Field("height", Maybe(NUMBER)),
    Field("flow", Maybe(NUMBER)),
    Field("sure", Maybe(NUMBER)),
    Field("speed_that_fits", Maybe(NUMBER)),
    Field("at", Maybe(PLACE)),
), "feature_ask")  # fmt: skip

FLOW_ANSWER = Record((
    EXTRUDER,
    Field("asked", Maybe(FLOW)),
    Field("asked_by", Maybe(TEXT)),
    Field("asked_at", Maybe(PLACE)),
    Field("material", Maybe(TEXT)),
    Field("temperature", Maybe(NUMBER), about="Of the nozzle, in degC."),
    Field("nozzle", Maybe(NUMBER), about="Its bore, in mm."),
    Field("capacity", Maybe(FLOW)),
    Field("exceeds", Maybe(FLAG)),
    Field("sure", Maybe(SHARE)),
    Field("bottleneck", Maybe(TEXT)),
    Field("set_to", Maybe(NumberKind(above=0))),
    Field("no_set_to", Maybe(TEXT)),
    CASES,
    NEXT,
    LEVERS,
    Field("setting", Maybe(TEXT)),
    Field("features", Several(_FEATURE)),
    Field("lacking", TEXTS),
    Field("assumed", TEXTS),
    FINDINGS,
    WEIGHED,
    FILES,
    ERRORS,
    DRAWS,
), "flow")  # fmt: skip

_STEP = Record((
    Field("fact", TEXT, "fact.name"),
    Field("title", TEXT),
    Field("depth", COUNT),
    Field("repeated", FLAG),
    Field("formula", Maybe(TEXT)),
    Field("inputs", TEXTS, "fact.inputs"),
    *within("fact", FACT_FIELDS),
), "step")  # fmt: skip


def _entry(name: str) -> Callable[[Mapping[str, object]], object]:
    return lambda entry: entry.get(name)


_CATALOGUE = Record(tuple(
    Field(name, kind, _entry(name))
    for name, kind in (
        ("fact", Maybe(TEXT)), ("low", Maybe(NUMBER)), ("typical", Maybe(NUMBER)),
        ("high", Maybe(NUMBER)), ("unit", Maybe(TEXT)), ("source", Maybe(TEXT)),
        ("status", Maybe(TEXT)),
    )
), "catalogue_number", "Null where it is not stated.")  # fmt: skip

EXPLAIN = Record((
    Field("kind", TEXT),
    Field("name", TEXT),
    Field("title", TEXT),
    Field("lines", Several(Record((
        Field("label", TEXT, lambda line: line[0]),
        Field("text", TEXT, lambda line: line[1]),
    )))),
    Field("numbers", Several(_CATALOGUE)),
    EXTRUDER,
    Field("at", Maybe(PLACE)),
    Field("derivation", Several(_STEP)),
    Field("findings", Several(FINDING)),
    Field("errors", ERRORS.kind, lambda explanation: (), ERRORS.about),
), "explain")  # fmt: skip
