"""What several JSON answers share: places, findings, limits, files, what weighed tests made."""

from __future__ import annotations

from collections.abc import Iterable

from advisor.base import BOUNDING, LIMITS, ExtruderReport, Level, LimitBand
from advisor.report.json.kinds import (
    FLAG,
    LINE,
    NUMBER,
    SHARE,
    TEXT,
    WORDS,
    ChoiceKind,
    Estimate,
    Field,
    Integer,
    Maybe,
    NumberKind,
    Record,
    Several,
    Table,
    TextKind,
    ends,
    unit,
    unit_symbol,
)
from advisor.report.words import by_place

__all__ = [
    "BOTTLENECK",
    "CASES",
    "CONDITIONS",
    "DRAWS",
    "ERRORS",
    "EXTRUDER",
    "FILES",
    "FINDING",
    "FINDINGS",
    "FLOW",
    "LEVERS",
    "LIMIT",
    "LIMIT_ROWS",
    "NEXT",
    "PLACE",
    "TEST_HEAD",
    "TEXTS",
    "WEIGHED",
    "sentences",
]

FLOW = Estimate("mm3/s")
LIMIT = ChoiceKind(LIMITS)
BOTTLENECK = Maybe(ChoiceKind(BOUNDING))
TEXTS = Several(TEXT)


def sentences(name: str) -> Field:
    """Return the field of a list of sentences."""
    return Field(name, Several(WORDS))


ERRORS = Field(
    "errors", Several(WORDS),
    about="Sentences about what could not be read or answered; empty where all went well.",
)  # fmt: skip
EXTRUDER = Field("extruder", Maybe(TEXT))
CONDITIONS = Field("conditions", Table(TEXT, ordered=False))
TEST_HEAD = (
    Field("name", TEXT),
    Field("file", TEXT),
    CONDITIONS,
    Field("date", Maybe(TEXT)),
    Field("roll", Maybe(TEXT)),
)
"""What a table of a test says of itself: its name, place, conditions, date and roll."""

DRAWS = Field("draws", Integer(low=64, high=65536), optional=True)

PLACE = Record((Field("file", TEXT), Field("line", LINE)), "place")

FILES = Field("files", Several(Record((
    Field("path", TEXT),
    Field("status", ChoiceKind(("read", "missing", "unreadable"))),
    Field("role", TEXT),
), "file")))  # fmt: skip

FIX = Record((
    Field("file", Maybe(TEXT), "at.file"),
    Field("line", Maybe(LINE), "at.line"),
    Field("section", Maybe(TEXT)),
    Field("setting", TEXT),
    Field("from", Maybe(TEXT), "old"),
    Field("to", TEXT, "new"),
), "fix",
    "One change of one setting; from is null where the setting is inserted below the line.",
)  # fmt: skip

FINDING = Record((
    Field("rule", TextKind(pattern="^[a-z0-9]+(-[a-z0-9]+)*$")),
    Field("level", ChoiceKind(tuple(level.value for level in Level)), "level.value"),
    Field("stage", TEXT),
    EXTRUDER,
    Field("title", TEXT),
    Field("message", WORDS),
    Field("sure", SHARE),
    Field("file", Maybe(TEXT), "at.file"),
    Field("line", Maybe(LINE), "at.line"),
    Field("column", Maybe(LINE), "at.column"),
    Field("end_column", Maybe(LINE), "at.end_column"),
    Field("fix", Maybe(FIX)),
    Field("advice", Maybe(TEXT)),
    Field("caution", Maybe(TEXT)),
    Field("why", TEXT),
    Field("source", Maybe(TEXT)),
    Field("facts", TEXTS),
), "finding")  # fmt: skip
FINDINGS = Field("findings", Several(FINDING), lambda report: by_place(report.findings))

LIMIT_ROW = Record((
    Field("limit", LIMIT),
    Field("flow", Maybe(NUMBER)),
    Field("low", Maybe(NUMBER)),
    Field("high", Maybe(NUMBER)),
    unit("mm3/s"),
    Field("share_lowest", SHARE, "bottleneck_share",
          "Share of the ensemble in which this limit is the lowest."),
    Field("beyond", FLAG,
          about="The value or its high end lies beyond the range that was searched."),
    Field("why_unknown", Maybe(TEXT)),
), "limit")  # fmt: skip


def _all_limits(record: ExtruderReport) -> list[LimitBand]:
    """Return all limits in their order."""
    limits: Iterable[LimitBand] = record.limits
    known = {limit.limit: limit for limit in limits}
    return [known.get(name) or LimitBand(name, None, None, None) for name in LIMITS]


LIMIT_ROWS = Field("limits", Several(LIMIT_ROW, len(LIMITS), len(LIMITS)), _all_limits)

CASES = Field("cases", Several(Record((
    Field("field", ChoiceKind(("hotend.class", "drive.driven_gears"))),
    Field("class", TEXT, "name"),
    *(Field(end.name, end.kind, f"capacity.{end.name}") for end in ends()),
    unit("mm3/s"),
    Field("set_to", Maybe(NumberKind(above=0))),
    Field("exceeds", Maybe(FLAG)),
    Field("sure", Maybe(SHARE)),
), "case",
    "The capacity with this class of what decides and nobody states, the largest flow to set in a "
    "profile, and whether what is asked exceeds it.",
)))  # fmt: skip

LEVERS = Field("levers", Several(Record((
    Field("lever", WORDS, "words"),
    Field("fact", WORDS),
    Field("now", NUMBER),
    Field("to", NUMBER),
    Field("unit", Maybe(TEXT), lambda gain: unit_symbol(gain.unit)),
    Field("assumed", FLAG),
    Field("gain", NumberKind(low=0)),
    Field("capacity", NumberKind(low=0)),
    Field("factor", NumberKind(low=0)),
), "lever_gain",
    "The typical machine's capacity with this one thing changed from now to to, in mm3/s; gain is "
    "what that adds.",
)), "gains")  # fmt: skip

NEXT = Field("next", Maybe(Record((
    Field("words", WORDS),
    Field("arguments", Several(TEXT, least=2)),
), "next",
    "The command that would narrow the capacity most, without the program's name.",
)))  # fmt: skip

WEIGHED = Field("weighed", Maybe(Record((
    Field("files", TEXTS),
    Field("before", Maybe(FLOW)),
    Field("after", Maybe(FLOW)),
    Field("narrower", Maybe(NUMBER)),
    Field("fits", Maybe(NUMBER)),
    Field("contradiction", Maybe(TEXT)),
    Field("causes", TEXTS),
    Field("tests", Several(Record((
        Field("file", TEXT),
        Field("name", TEXT),
        Field("date", Maybe(TextKind(pattern="^[0-9]{4}-[0-9]{2}-[0-9]{2}$"))),
        Field("roll", Maybe(TEXT)),
        Field("kept", FLAG, about="It lay in the folder of kept tests; nobody named it."),
        Field("kind", ChoiceKind(("weighed", "skip"))),
        Field("other_roll", FLAG,
              about="It was done with another roll than the one asked about, and counts for less."),
    ), "used_test"))),
    Field("left_out", Several(Record((
        Field("file", TEXT),
        Field("name", TEXT),
        Field("reason", WORDS),
        Field("broken", FLAG, about="It could not be read."),
    ), "left_out_test"))),
), "weighed",
    "What weighed tests made of the capacity: the part of its band that is gone, the share of the "
    "plausible machines that explain them, and which tests were used or left out; files is empty "
    "where all were left out.",
)))  # fmt: skip
