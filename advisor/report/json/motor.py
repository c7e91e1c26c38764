"""The JSON of `derate`, `torque` and `grip`: currents, torque against speed, gears."""

from __future__ import annotations

from advisor.answers import BandLine, TorqueReport
from advisor.report.json.kinds import (
    FLAG,
    NUMBER,
    SHARE,
    TEXT,
    WORDS,
    ChoiceKind,
    Estimate,
    Field,
    Maybe,
    NumberKind,
    Quantity,
    Record,
    Several,
    Table,
    unit,
)
from advisor.report.json.parts import ERRORS, EXTRUDER, FILES, FLOW, TEXTS, WEIGHED, sentences

__all__ = ["DERATE", "DERATES", "GRIP", "TORQUE"]

_A, _C, _TORQUE, _SPEED, _PLAIN = (
    Estimate(unit) for unit in ("A", "degC", "mN m", "mm/s", None)
)  # fmt: skip
_NONE = Field("errors", ERRORS.kind, lambda report: (), ERRORS.about)

_DERATE = (
    Field("rating", Record((
        Field("value", NumberKind(above=0), "rating"),
        Field("basis", ChoiceKind(("peak", "rms", "unsure"))),
        unit("A"),
    )), lambda report: report),
    Field("share", SHARE),
    Field("rated_current_rms", _A),
    Field("derated_current", _A),
    Field("applied_current", Maybe(_A)),
    Field("winding_temperature", Maybe(_C)),
    Field("case_temperature", Maybe(_C)),
    Field("cautious_reading", _A, "cautious"),
    Field("thermal_reading", _A, "thermal"),
    Field("full_scale_current", Maybe(_A)),
    Field("ambient", _C),
    Field("case_after_10_minutes", Maybe(_C), "case_soon"),
    Field("case_after_an_hour", Maybe(_C), "case_later"),
    Field("time_constant", Maybe(Estimate("s"))),
    Field("gear_temperature", Maybe(_C)),
    Field("filament_limit", Maybe(_C)),
    Field("filament_current", Maybe(_A)),
    Field("set_current", Maybe(NUMBER)),
    Field("no_setting", Maybe(TEXT)),
    Field("peak_amplitude", Maybe(NUMBER)),
    Field("governed_by", TEXT),
    Field("limits", Table(_A)),
    Field("mount", Maybe(TEXT)),
    Field("driver", Maybe(TEXT)),
    Field("sense_resistor", Maybe(NUMBER)),
    Field("assumptions", TEXTS),
    Field("motor", TEXT),
    Field("material", Maybe(TEXT)),
    Field("torque_share", Maybe(NUMBER)),
    Field("push_share", Maybe(NUMBER)),
    Field("stop_reading", Maybe(NUMBER)),
    Field("cautions", TEXTS),
    _NONE,
)  # fmt: skip
DERATE = Record(_DERATE, "derate")
DERATES = Record((
    Field("ratings", Several(Record(_DERATE, "rating"), least=2), lambda reports: reports),
    _NONE,
), "derates")  # fmt: skip

_LINE = Record(tuple(Field(end, Several(Maybe(NUMBER))) for end in ("value", "low", "high")))


def _cut(line: BandLine | None, count: int) -> BandLine | None:
    if line is None:
        return None
    return BandLine(value=line.value[:count], low=line.low[:count], high=line.high[:count])


def _line(name: str, about: str = "") -> Field:
    def get(report: TorqueReport) -> BandLine | None:
        count = report.needed_count if name == "needed" else len(report.speeds)
        return _cut(getattr(report, name), count)

    return Field(name, Maybe(_LINE), get, about)


_CURVES = Record((
    unit("mN m"),
    Field("motor_speeds", Record((
        Field("values", Several(Maybe(NUMBER)), "speeds"),
        unit("1/s"),
    )), lambda report: report),
    _line("usable"),
    _line("skip"),
    _line("needed", "Of a steady feed; it ends where it leaves the torque there is."),
))  # fmt: skip

_POINTS = ("capacity", "asked", "print-peak", "advance", "retract", "profile-retract",
           "extrude-only")  # fmt: skip
_POINT = Record((
    Field("name", ChoiceKind(_POINTS)),
    Field("title", WORDS),
    Field("asked", FLAG),
    Field("motor_speed", Maybe(Estimate("1/s"))),
    Field("filament_speed", Maybe(_SPEED)),
    Field("needed", Maybe(_TORQUE)),
    Field("usable", Maybe(_TORQUE)),
    Field("skip", Maybe(_TORQUE)),
    Field("left", Maybe(_PLAIN)),
    Field("speed_share", Maybe(_PLAIN)),
    Field("too_much", SHARE),
    Field("skips", SHARE),
), "operating_point",
    "A speed the motor is run at: the torque it needs there, the usable torque, and the torque at "
    "which steps are lost. 'asked' is false for mere limits and passing peaks.",
)  # fmt: skip

_NEED = Record((
    Field("voltage", NUMBER),
    Field("rated_current", NUMBER, about="In A, the datasheet's figure as it stands."),
    Field("working_current", NUMBER, about="In A RMS."),
    Field("resistance", NUMBER, about="Of a phase, in ohm."),
    Field("holding_torque", Maybe(_TORQUE)),
    Field("inductance", Maybe(Estimate("mH"))),
    Field("governed_by", Maybe(TEXT)),
    Field("fastest", Maybe(TEXT)),
    Field("why_none", Maybe(TEXT)),
), "motor_need",
    "What a motor must have to serve all that is asked at one supply voltage: at least this "
    "holding torque, at most this inductance.",
)  # fmt: skip

_MOTOR = Record((
    Field("motor", WORDS),
    Field("title", TEXT),
    Field("present", FLAG),
    Field("voltage", NUMBER),
    Field("working_current", Maybe(_A)),
    Field("margin", Maybe(_PLAIN)),
    Field("governed_by", Maybe(TEXT)),
    Field("speed_share", Maybe(_PLAIN)),
    Field("left", Maybe(_PLAIN)),
    Field("mass", Maybe(Estimate("g"))),
    Field("serves", Maybe(FLAG)),
    Field("sure", Maybe(SHARE)),
    Field("why_none", Maybe(TEXT)),
), "motor_row",
    "How one motor class would serve at the largest current it bears. 'present' is the class that "
    "is there, with what the sheet states of it.",
)  # fmt: skip

_CLOSING = (
    sentences("remarks"),
    sentences("assumed"),
    WEIGHED,
    sentences("lacking"),
    FILES,
    ERRORS,
)

TORQUE = Record((
    EXTRUDER,
    Field("enough", Maybe(FLAG)),
    Field("torque", _CURVES, lambda report: report),
    Field("corner_speed", Maybe(Estimate("1/s"))),
    Field("trusted_share", Maybe(NUMBER),
          about="Of the corner speed, up to which the torque is trusted."),
    Field("limit_share", Maybe(NUMBER),
          about="Of the corner speed, beyond which it is not believed."),
    Field("points", Several(_POINT)),
    Field("needs", Several(_NEED)),
    Field("motors", Several(_MOTOR)),
    *_CLOSING,
), "torque")  # fmt: skip

_GRIP_ROW = Record((
    Field("material", WORDS),
    Field("gears", WORDS),
    Field("gear_diameter", Quantity("mm")),
    Field("present", FLAG),
    Field("driven_gears", Maybe(_PLAIN)),
    Field("engaged_area", Maybe(Estimate("mm2"))),
    Field("teeth_engaged", Maybe(_PLAIN)),
    Field("grip", Maybe(Estimate("N"))),
    Field("usable", Maybe(Estimate("N"))),
    Field("pressure", Maybe(Estimate("MPa"))),
    Field("yield_strength", Maybe(Estimate("MPa"))),
    Field("share", Maybe(_PLAIN)),
    Field("grip_flow", Maybe(FLOW)),
    Field("marks", SHARE,
          about="Share of likely machines in which delivery falls at this push."),
    Field("grinds", SHARE,
          about="Share of likely machines in which the filament is ground at this push."),
), "grip_row",
    "One material in gears of one size. 'share' is the push over the force at which the filament "
    "slips: above 'usable_share' delivery falls, at 1 the filament is ground.",
)  # fmt: skip

GRIP = Record((
    EXTRUDER,
    Field("flow", Maybe(FLOW)),
    Field("flow_is", TEXT),
    Field("push", Maybe(Estimate("N"))),
    Field("usable_share", Maybe(NUMBER)),
    Field("grips", Several(_GRIP_ROW), "rows"),
    *_CLOSING,
), "grip")  # fmt: skip
