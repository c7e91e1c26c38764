"""The JSON of `diagnose`: causes with their odds, what speaks for them, and the test to do next."""

from __future__ import annotations

from advisor.report.json.kinds import (
    COUNT,
    FLAG,
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
)
from advisor.report.json.parts import DRAWS, ERRORS, EXTRUDER, FILES, TEXTS, WEIGHED, sentences

__all__ = ["DIAGNOSE"]

_CAUSE = Record((
    Field("name", WORDS),
    Field("family", WORDS),
    Field("title", WORDS),
    Field("odds", SHARE, about="Chance of it, alone or as one of two."),
    sentences("speaks_for"),
    sentences("speaks_against"),
    Field("remedy", TEXT, about="Empty where something else has to be done first."),
    sentences("cautions"),
    Field("confirm", WORDS, about="The test that settles it."),
    Field("withheld", FLAG, about="The usual remedy is not told, as it could do harm here."),
), "cause")  # fmt: skip

_LINE = Record((
    Field("causes", Several(WORDS, least=1), lambda line: [one.name for one in line.causes]),
    Field("odds", SHARE),
    Field("together", Maybe(WORDS), about="What three or more of a family are told as."),
), "cause_line",
    "One cause, or several of one family that nothing that was seen parts.",
)  # fmt: skip

_OUTCOME = Record((
    Field("word", WORDS),
    Field("meaning", TEXT),
    Field("odds", SHARE),
), "test_outcome")  # fmt: skip

_TEST = Record((
    Field("name", WORDS),
    Field("title", WORDS),
    Field("do", WORDS),
    Field("risk", Integer(low=0, high=3),
          about="0 look, 1 touch nothing hot, 2 the machine runs, 3 open it, or power off."),
    Field("minutes", NumberKind(above=0)),
    Field("reads", Maybe(TEXT), about="The option that reports it; null: --did."),
    Field("look", Maybe(TEXT), about="What it looks for: 'gone' says that it was found."),
    Field("outcomes", Several(_OUTCOME, least=2)),
    sentences("cautions"),
), "next_test")  # fmt: skip

_CURRENT = Record((
    Field("low", NUMBER, about="Real over set current, 5th percentile of machines like this one."),
    Field("high", NUMBER),
    Field("told", FLAG, about="So far off in 9 of 10 machines that it is told."),
    Field("above", FLAG),
), "current_doubt")  # fmt: skip

_FED = Record((
    Field("asked", NUMBER, about="In mm, as what came."),
    Field("came", NUMBER),
    Field("where", Maybe(ChoiceKind(("free", "nozzle")))),
    Field("rotation_distance", Maybe(Estimate("mm")), about="That would be right, without slip."),
    Field("pairs", TEXTS, about="Pairs of teeth that would explain it: built in, for set."),
    Field("slips", FLAG, about="Slip would explain it too."),
), "fed_length")  # fmt: skip

DIAGNOSE = Record((
    EXTRUDER,
    sentences("said"),
    sentences("ask"),
    Field("causes", Several(_CAUSE), about="All of them, likeliest first."),
    Field("shown", Several(_LINE)),
    Field("pair", Several(WORDS), lambda report: list(report.pair or ())),
    Field("unexplained", SHARE, about="Chance that nothing in the list explains it."),
    Field("only_common", FLAG, about="The first place hangs on how common it is."),
    Field("as_expected", FLAG, about="Nothing was seen, only measured, and a sound machine gives "
          "it as well: no cause is told."),
    Field("rough", FLAG),
    Field("redrawn", COUNT),
    Field("first_of_all", Maybe(TEXT)),
    Field("next_test", Maybe(_TEST)),
    Field("settled", FLAG, about="The causes that remain share one remedy."),
    Field("current", Maybe(_CURRENT)),
    Field("fed", Maybe(_FED)),
    sentences("notes"),
    Field("command", TEXTS, about="What was asked, to be asked again with more."),
    Field("lacking", TEXTS),
    WEIGHED,
    FILES,
    ERRORS,
    DRAWS,
), "diagnose")  # fmt: skip
