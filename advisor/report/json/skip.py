"""The JSON of `skip-test plan` and `skip-test read`."""

from __future__ import annotations

from advisor.report.json.kinds import (
    FLAG,
    LINE,
    NUMBER,
    SHARE,
    TEXT,
    WORDS,
    ChoiceKind,
    Field,
    Integer,
    Maybe,
    Record,
    Several,
)
from advisor.report.json.parts import CONDITIONS, ERRORS, EXTRUDER, FILES, FLOW, TEST_HEAD, TEXTS
from advisor.report.json.weigh import CALIBRATION

__all__ = ["PLAN", "READ"]


_PLAN = Record((
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

PLAN = Record((
    EXTRUDER,
    Field("plan", Maybe(_PLAN)),
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

READ = Record((
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
