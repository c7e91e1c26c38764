"""The JSON of `session`: speeds, caps, accelerations, currents and steps of a session."""

from __future__ import annotations

from advisor.report.json.kinds import (
    COUNT,
    FLAG,
    NUMBER,
    TEXT,
    WORDS,
    ChoiceKind,
    Estimate,
    Field,
    Maybe,
    NumberKind,
    Record,
    Several,
)
from advisor.report.json.parts import (
    CASES,
    DRAWS,
    ERRORS,
    EXTRUDER,
    FILES,
    FLOW,
    NEXT,
    TEXTS,
    WEIGHED,
    sentences,
)

__all__ = ["SESSION"]

_LIMIT = Maybe(ChoiceKind(("torque", "speed")))
_CASE = Field("class", Maybe(TEXT), "case", "Of the hotend, where it decides and nobody states it.")
_LINE = (_CASE, Field("width", NUMBER), Field("height", NUMBER))
_POSITIVE = Maybe(NumberKind(above=0))

_CEILING = Record((
    *_LINE,
    Field("cap", Maybe(NUMBER), about="In mm/s, at the cap to set; whole, rounded down."),
    Field("typical", NUMBER, about="In mm/s, at the typical capacity."),
), "speed_ceiling",
    "The largest head speed of a line of this width and height in mm, with rounded ends.",
)  # fmt: skip

_CAP = Record((
    Field("material", WORDS),
    Field("title", TEXT),
    Field("temperature", NUMBER, about="Of the nozzle, in degC."),
    Field("present", FLAG),
    Field("in_range", FLAG),
    Field("cautious", _POSITIVE, about="The cap to set without a test, in mm3/s."),
    Field("typical", Maybe(NUMBER), about="The typical capacity without a test, in mm3/s."),
    Field("weighed", _POSITIVE, about="The cap to set with the weighed tests, in mm3/s."),
), "session_cap",
    "Flows with a filament at a nozzle temperature; null outside of the filament's own range.",
)  # fmt: skip

_ACCEL = Record((
    *_LINE,
    Field("acceleration", _POSITIVE, about="The largest in mm/s2; null where none is inside."),
    Field("limit", _LIMIT, about="What one step more exceeds; null: nothing that was looked for."),
    Field("inside", FLAG, about="At the acceleration that is set."),
), "session_acceleration")  # fmt: skip

_ADVANCE = Record((
    Field("advance", NUMBER, about="Pressure advance as set, in s."),
    Field("acceleration", NUMBER, about="As set, in mm/s2."),
    Field("trusted_share", NUMBER, about="Of the corner speed."),
    Field("step", NUMBER, about="Of the accelerations, in mm/s2."),
    Field("inside", FLAG),
    Field("line", _ACCEL, about="The line that lint's advice is for."),
    Field("lines", Several(_ACCEL), "rows"),
), "session_advance",
    "Whether the set pressure advance keeps the typical motor inside its usable torque and its "
    "trusted speed, and the largest acceleration at which it does, for each line.",
)  # fmt: skip

_RETRACT = Record((
    Field("name", ChoiceKind(("retract", "profile-retract"))),
    Field("title", WORDS),
    Field("speed", NUMBER, about="As set, in mm/s."),
    Field("reached", NUMBER, about="In mm/s."),
    Field("acceleration", NUMBER, about="Of moves of filament alone as set, in mm/s2."),
    Field("inside", FLAG),
    Field("limit", _LIMIT),
    Field("largest_speed", Maybe(NUMBER), about="In mm/s, at the set acceleration."),
    Field("speed_limit", _LIMIT),
    Field("largest_acceleration", Maybe(NUMBER), about="In mm/s2, at the set speed."),
    Field("acceleration_limit", _LIMIT),
), "session_retract")  # fmt: skip

_CURRENT = Record((
    Field("set_now", Maybe(NUMBER), about="In A RMS, as the other currents."),
    Field("applied", Maybe(Estimate("A"))),
    Field("hold", Maybe(NUMBER)),
    Field("most", Maybe(NUMBER)),
    Field("limited_by", Maybe(TEXT)),
    Field("too_high", FLAG),
    Field("silent_gives", Maybe(NUMBER)),
    Field("at", Maybe(NUMBER), about="The current that the temperatures are for."),
    Field("case_after_10_minutes", Maybe(Estimate("degC")), "case_soon"),
    Field("case_after_an_hour", Maybe(Estimate("degC")), "case_later"),
    Field("stop_reading", Maybe(NUMBER), "stop"),
), "session_current")  # fmt: skip

_STEP = Record((
    Field("number", COUNT),
    Field("name", WORDS),
    Field("do", TEXT),
    Field("expect", TEXT),
    Field("stop", TEXT),
), "session_step")  # fmt: skip

SESSION = Record((
    EXTRUDER,
    Field("material", Maybe(TEXT)),
    Field("temperature", Maybe(NUMBER), about="Of the nozzle, in degC."),
    Field("nozzle", Maybe(NUMBER), about="Its bore, in mm."),
    Field("flow_ratio", Maybe(NUMBER)),
    Field("first", Several(WORDS), about="What has to be changed before the session."),
    Field("cap", _POSITIVE, about="The largest flow to set, in mm3/s."),
    Field("no_cap", Maybe(TEXT)),
    Field("capacity", Maybe(FLOW)),
    Field("bottleneck", Maybe(TEXT)),
    Field("skip", Maybe(FLOW)),
    Field("slip", Maybe(FLOW)),
    CASES,
    Field("speed_ceilings", Several(_CEILING), "ceilings"),
    Field("caps", Several(_CAP)),
    Field("advance", Maybe(_ADVANCE)),
    Field("no_advance", Maybe(TEXT)),
    Field("retracts", Several(_RETRACT)),
    Field("current", Maybe(_CURRENT)),
    Field("steps", Several(_STEP)),
    Field("plan", NEXT.kind, about="How the weighed test is planned."),
    NEXT,
    sentences("cautions"),
    Field("assumed", TEXTS),
    Field("lacking", TEXTS),
    WEIGHED,
    FILES,
    ERRORS,
    DRAWS,
), "session")  # fmt: skip
