"""The JSON of weighed tests and of skip tests, planned and read, in trade units."""

from __future__ import annotations

from collections.abc import Iterator

from advisor.report.json.kinds import (
    COUNT,
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
)
from advisor.report.json.parts import CONDITIONS, ERRORS, EXTRUDER, FILES, FLOW, TEST_HEAD, TEXTS
from advisor.weigh import WeighReadAnswer

__all__ = ["CALIBRATION", "COMPARE", "NEXT", "PLAN", "READ", "SKIP_PLAN", "SKIP_READ"]

_MM, _PLAIN = Estimate("mm"), Estimate(None)

_PLAN = Record((
    Field("steps", Several(Record((
        Field("flow", NUMBER),
        Field("speed", NUMBER),
        Field("length", NUMBER),
        Field("moves", LINE),
        Field("time", NUMBER),
        Field("reference", FLAG),
    )))),
    Field("temperature", NUMBER),
    Field("filament", NUMBER),
    Field("time", NUMBER),
    Field("mass", NUMBER),
    Field("scale", NUMBER),
    Field("mass_uncertainty", NUMBER),
    Field("expected_knee", FLOW),
    Field("lift", NUMBER),
))  # fmt: skip

PLAN = Record((
    EXTRUDER,
    Field("plan", Maybe(_PLAN)),
    CONDITIONS,
    Field("refused", TEXTS),
    Field("cautions", TEXTS),
    Field("remarks", TEXTS),
    FILES,
    ERRORS,
), "weigh_plan",
    "A weighed test in mm3/s, mm/s, mm, s, g and degC; plan is null where none is planned, refused "
    "then says why.",
)  # fmt: skip

_PIECE = Record((
    Field("flow", NUMBER),
    Field("speed", NUMBER),
    Field("length", NUMBER),
    Field("cut_away", NUMBER),
    Field("time", NUMBER),
    Field("reference", FLAG),
    Field("row", TEXT),
    Field("width_after", Maybe(NUMBER)),
    Field("sure_after", Maybe(SHARE)),
))  # fmt: skip

NEXT = Record((
    EXTRUDER,
    Field("table", TEXT),
    Field("stop", Maybe(ChoiceKind(("width", "pieces", "proved", "little")))),
    Field("piece", Maybe(_PIECE)),
    Field("weighed", COUNT),
    Field("most", LINE),
    Field("limit", Maybe(FLOW)),
    Field("believed", Maybe(FLOW)),
    Field("width", Maybe(NUMBER)),
    Field("wanted", Maybe(NUMBER)),
    Field("whole_pieces", Maybe(LINE)),
    Field("used", NUMBER),
    Field("used_whole", Maybe(NUMBER)),
    Field("prove", Maybe(Record((
        Field("flow", NUMBER),
        Field("above", SHARE),
        Field("answer", ChoiceKind(("yes", "no", "open"))),
        Field("by_model", FLAG),
    )))),
    CONDITIONS,
    Field("refused", TEXTS),
    Field("cautions", TEXTS),
    Field("stops", TEXTS),
    Field("remarks", TEXTS),
    FILES,
    ERRORS,
), "weigh_next",
    "The next piece of a weighed test that is made one by one, in mm3/s, mm/s, mm and s, or why it "
    "may end (piece is then one more); limit as weigh read tells it, believed by pieces and model; "
    "widths over their middle; used is filament in mm.",
)  # fmt: skip

_STEP = Record((
    Field("flow", NUMBER),
    Field("length", NUMBER),
    Field("mass", NumberKind(low=0)),
    Field("ratio", NUMBER),
    Field("expanded_uncertainty", NUMBER),
    Field("absolute_ratio", NUMBER),
    Field("absolute_expanded_uncertainty", NUMBER),
    Field("skipped", ChoiceKind(("yes", "no", "unsure"))),
    Field("repeats", LINE),
    Field("reference", FLAG),
    Field("lost", FLAG),
    Field("outlier", Maybe(TEXT)),
    Field("lines", Several(LINE)),
    Field("notes", TEXTS),
    Field("fed_length", Maybe(NUMBER)),
    Field("mark_depth", Maybe(NUMBER)),
    Field("mark_pitch", Maybe(NUMBER)),
), "weighed_step",
    "One flow of a weighed test in mm3/s, mm and g; ratios against the slow reference and against "
    "what was commanded.",
)  # fmt: skip

_BY_HAND = Record((
    Field("fed_ratio", Maybe(_PLAIN)),
    Field("fed_expanded_uncertainty", NUMBER),
    Field("weight_ratio", Maybe(NUMBER)),
    Field("weight_expanded_uncertainty", NUMBER),
    Field("slips", Several(Record((
        Field("flow", NUMBER),
        Field("share", NUMBER),
        Field("expanded_uncertainty", NUMBER),
        Field("by", ChoiceKind(("ruler", "marks", "gear"))),
    )))),
    Field("mark_depth", Maybe(_MM)),
), "weighed_by_hand",
    "What ruler and caliper told beside the scale: what went in of what was commanded in the slow "
    "run, mass of a length over that by density and diameter, slip against the slow run (by ruler "
    "or tooth marks) or against the gear's own teeth, and the depth of the marks.",
)  # fmt: skip

_LOSS = ChoiceKind(("slip", "melt", "skip", "buckle", "unsure", "none"))
_TEST = {
    field.name: field
    for field in (
        *TEST_HEAD,
        Field("knee", Maybe(FLOW)),
        Field("droop", Maybe(_PLAIN)),
        Field("clean_flow", Maybe(NUMBER)),
        Field("last_without_skips", Maybe(NUMBER)),
        Field("first_skip", Maybe(NUMBER)),
        Field("reference_ratio", _PLAIN),
        Field("reference_expanded_uncertainty", NUMBER),
        Field("level", NUMBER),
        Field("steps", Several(_STEP)),
        Field("loss", _LOSS),
        Field("loss_odds", Table(SHARE, ordered=False)),
        Field("rise", Maybe(NUMBER)),
        Field("rotation_distance", Maybe(_MM)),
        Field("rotation_distance_meant", Maybe(_MM)),
        Field("by_hand", Maybe(_BY_HAND)),
        Field("outliers", TEXTS),
        Field("remarks", TEXTS),
    )
}

_WEIGHED_TEST = Record(
    tuple(_TEST.values()),
    "weighed_test",
    "What one weighed test shows: where delivery begins to fall (the knee), what is missing "
    "up to there (the droop), the fastest flow up to which all pieces weigh 97 % or more, the "
    "kind of loss with its odds, and the rotation distance where it is off for sure.",
)

CALIBRATION = Record((
    Field("sheet", Maybe(TEXT)),
    Field("extruder", TEXT),
    Field("before", Maybe(FLOW)),
    Field("after", Maybe(FLOW)),
    Field("narrower", Maybe(NUMBER)),
    Field("bottleneck", Maybe(TEXT)),
    Field("fits", Maybe(NUMBER)),
    Field("set_to", Maybe(NumberKind(above=0)),
          about="The cap to set, in mm3/s; null where the tests contradict the machine."),
    Field("contradiction", Maybe(TEXT)),
    Field("causes", TEXTS),
), "weighed_calibration",
    "What the tests make of the capacity; after is null where they contradict every plausible "
    "machine.",
)  # fmt: skip

_FIRST = ("knee", "last_without_skips", "first_skip", "reference_ratio", "steps", "loss", "rise",
          "rotation_distance")  # fmt: skip
_SIGNED = Estimate("mm3/s")


def _of_first() -> Iterator[Field]:
    """Yield the fields of the first test as those of the whole; null where there is no test."""
    for name in _FIRST:
        kind = _TEST[name].kind

        def get(answer: WeighReadAnswer, name: str = name) -> object:
            return getattr(answer.tests[0], name) if answer.tests else None

        yield Field(name, kind if isinstance(kind, Maybe) else Maybe(kind), get)


COMPARE = Record((
    Field("more", Maybe(Record((
        Field("more", _SIGNED),
        Field("sure", SHARE),
        Field("at_least", FLAG, about="The second was whole to the end of its test."),
        Field("at_most", FLAG, about="The first was."),
    ), "delivered_more"))),
    Field("rows", Several(Record((
        Field("flow", NUMBER),
        Field("first", NUMBER),
        Field("second", NUMBER),
        Field("more", _SIGNED),
        Field("sure", SHARE),
    ), "compared_flow"))),
    Field("slow_ratio", Maybe(_PLAIN)),
    Field("expected", Several(Maybe(FLOW))),
    Field("expected_more", Maybe(NUMBER)),
    Field("evenness", Several(Maybe(Record((
        Field("pieces", LINE),
        Field("scatter", NumberKind(low=0)),
        Field("explained", NumberKind(low=0)),
        Field("beyond", Maybe(NumberKind(low=0))),
    ), "evenness",
        "Scatter of the whole pieces, what scale, cut and spool explain of it, and what is left "
        "where that is more than chance; relative standard deviations.",
    )))),
    Field("change", FLAG, about="Both are of one machine on one filament, on two days."),
    Field("shared_filament", FLAG),
    Field("cautions", Several(WORDS)),
    Field("tests", Several(_WEIGHED_TEST)),
    FILES,
    ERRORS,
), "weigh_compare",
    "What the second of two weighed tests shows against the first: flows that came out, in mm3/s; "
    "sure is how sure it is that the second delivers more.",
)  # fmt: skip

READ = Record((
    *_of_first(),
    Field("tests", Several(_WEIGHED_TEST)),
    Field("contrasts", Several(Record((
        Field("name", TEXT),
        Field("other", TEXT),
        Field("knee_ratio", _PLAIN, "ratio"),
        Field("sure_higher", SHARE, "sure"),
    )))),
    Field("calibration", Maybe(CALIBRATION),
          lambda answer: answer.calibrations[0] if answer.calibrations else None),
    Field("calibrations", Several(CALIBRATION)),
    FILES,
    ERRORS,
), "weigh_read", "The first keys are those of the first test.")  # fmt: skip


_SKIP_PLAN = Record((
    Field("levels", Several(Record((
        Field("current", NUMBER),
        Field("hold", NUMBER),
        Field("applied", NUMBER),
        Field("register", Integer(low=0, high=31)),
        Field("expected", FLOW),
        Field("flows", Several(NUMBER)),
        Field("near_rotor", FLAG, about="Full steps come near to the rotor's own frequency there."),
    ), "skip_level",
        "A lowered current in A RMS, as it is set and as the driver applies it, and the ramp of "
        "flows that is run at it, in mm3/s."))),
    Field("approaches", LINE),
    Field("set_current", NUMBER),
    Field("set_hold", NUMBER),
    Field("temperature", NUMBER),
    Field("dwell", NUMBER),
    Field("recovery", NUMBER),
    Field("filament", NUMBER),
    Field("most_filament", NUMBER),
    Field("time", NUMBER),
    Field("bottleneck", Maybe(TEXT)),
    Field("narrows", Maybe(Record((
        Field("capacity", SHARE),
        Field("torque", SHARE),
        Field("grip", SHARE),
    ), "skip_narrows", "What part of each range the test would leave on a typical machine."))),
))  # fmt: skip

SKIP_PLAN = Record((
    EXTRUDER,
    Field("plan", Maybe(_SKIP_PLAN)),
    CONDITIONS,
    Field("refused", TEXTS),
    Field("instead", Several(WORDS)),
    Field("cautions", TEXTS),
    Field("stops", TEXTS),
    Field("remarks", TEXTS),
    FILES,
    ERRORS,
), "skip_plan",
    "A skip test in A RMS, mm3/s, mm, s and degC; plan is null where none is planned, refused then "
    "says why and instead what can be done.",
)  # fmt: skip

_POINT = Record((
    Field("current", NUMBER),
    Field("applied", NUMBER),
    Field("last_good", NUMBER),
    Field("first_click", Maybe(NUMBER)),
    Field("runs", LINE),
    Field("noticed", Several(ChoiceKind(("heard", "seen", "short", "unsure", "none", "slip")))),
    Field("expected", Maybe(FLOW)),
    Field("near_rotor", FLAG),
    Field("lines", Several(LINE)),
), "skip_point",
    "One lowered current in A RMS; flows in mm3/s; first_click is null where there was no click to "
    "the end.",
)  # fmt: skip

SKIP_READ = Record((
    Field("tests", Several(Record((
        *TEST_HEAD,
        Field("points", Several(_POINT)),
        Field("empty_run", Maybe(NUMBER)),
        Field("slipped", FLAG),
        Field("remarks", TEXTS),
    ), "skip_test"))),
    Field("calibration", Maybe(CALIBRATION)),
    Field("torque", Maybe(FLOW)),
    Field("grip", Maybe(FLOW)),
    FILES,
    ERRORS,
), "skip_read", "What skip tests show, and what they leave of the capacity.")  # fmt: skip
