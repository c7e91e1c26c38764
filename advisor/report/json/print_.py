"""The JSON of `demand`: what a sliced print asks over time."""

from __future__ import annotations

from advisor.report.json.kinds import (
    COUNT,
    FLAG,
    LINE,
    NUMBER,
    SHARE,
    TEXT,
    ChoiceKind,
    Field,
    Maybe,
    NumberKind,
    Record,
    Several,
    ends,
)
from advisor.report.json.parts import (
    CASES,
    ERRORS,
    EXTRUDER,
    FILES,
    FINDINGS,
    FLOW,
    LEVERS,
    LIMIT,
    TEXTS,
    WEIGHED,
)

__all__ = ["DEMAND"]

_WINDOW = Record((
    Field("limit", LIMIT),
    Field("window_s", Maybe(NUMBER)),
    Field("window_mm3", Maybe(NUMBER)),
    Field("shortest_s", Maybe(NUMBER)),
    Field("asked", Maybe(NUMBER)),
    Field("line", COUNT),
    Field("allowed", Record(ends())),
    Field("share_of_time_above", SHARE, "share_above"),
))  # fmt: skip

_EXCESS = Record((
    Field("line", COUNT),
    Field("height", Maybe(NUMBER)),
    Field("feature", Maybe(TEXT)),
    Field("limit", LIMIT),
    Field("asked", NUMBER),
    Field("allowed", NUMBER),
    Field("time", NumberKind(low=0)),
))  # fmt: skip

_REFUSED = Record((
    Field("kind", ChoiceKind(("distance", "section", "hot", "cold"))),
    Field("count", LINE),
    Field("line", COUNT),
    Field("asked", NUMBER),
    Field("allowed", NUMBER),
))  # fmt: skip

_SLOWED = Record((
    Field("kind", ChoiceKind(("speed", "time"))),
    Field("count", LINE),
    Field("line", COUNT),
    Field("asked", NUMBER),
    Field("runs", NUMBER),
))  # fmt: skip

_SLICER_TIME = Record((
    Field("time", NumberKind(low=0)),
    Field("line", COUNT),
    Field("at_set_speeds", NumberKind(low=0), "plain"),
    Field("kind", ChoiceKind(("alike", "plain", "other"))),
))  # fmt: skip

_WORST = Record((
    Field("line", COUNT),
    Field("height", Maybe(NUMBER)),
    Field("flow", NUMBER),
    Field("feature", Maybe(TEXT)),
))  # fmt: skip


_CAPS = Record((
    Field("times", Several(Record((
        Field("flow", NUMBER),
        Field("time", Maybe(NumberKind(low=0))),
        Field("share_saved", Maybe(SHARE), "saves"),
        Field("share_held", Maybe(SHARE), "held"),
    ))), "rows", about="The smallest flow first; null above the cap the print was sliced with."),
    Field("share_held_by_cap", SHARE, "held"),
    Field("share_speeding", SHARE, "accel"),
    Field("share_at_set_speed", SHARE, "speed"),
    Field("share_of_the_rest", SHARE, "rest"),
    Field("sliced_at", Maybe(NUMBER), "sliced"),
    Field("sliced_line", COUNT),
    Field("nothing_gained_from", Maybe(NUMBER), "enough"),
))  # fmt: skip


def _rows(name: str) -> Several:
    """Return the kind of rows that are named by feature or layer."""
    return Several(Record((
        Field(name, TEXT, "name"),
        Field("height", Maybe(NUMBER)),
        Field("time", NUMBER),
        Field("volume", NUMBER),
        Field("peak", NUMBER),
        Field("sustained", Maybe(NUMBER)),
        Field("share_of_time_above_capacity", SHARE, "above_time"),
        Field("share_of_volume_above_capacity", SHARE, "above_volume"),
    )))  # fmt: skip


DEMAND = Record((
    Field("print", TEXT, "path"),
    EXTRUDER,
    Field("moves", COUNT),
    Field("time", NUMBER),
    Field("volume", NUMBER),
    Field("filament", NUMBER),
    Field("peak", NUMBER),
    Field("peak_line", COUNT),
    Field("sustained", Maybe(NUMBER)),
    Field("sustained_line", COUNT),
    Field("melt_volume", NUMBER),
    Field("material", Maybe(TEXT)),
    Field("temperature", Maybe(NUMBER), about="Of the nozzle, in degC."),
    Field("nozzle", Maybe(NUMBER), about="Its bore, in mm."),
    Field("capacity", Maybe(FLOW)),
    Field("skip", Maybe(FLOW)),
    Field("profile_cap", Maybe(NUMBER), "cap"),
    Field("share_of_time_above_capacity", SHARE, "above_capacity_time"),
    Field("share_of_volume_above_capacity", SHARE, "above_capacity_volume"),
    Field("share_of_time_above_skip", SHARE, "above_skip_time"),
    Field("share_of_volume_above_skip", SHARE, "above_skip_volume"),
    Field("exceeds", Maybe(FLAG)),
    CASES,
    LEVERS,
    Field("verdict", Maybe(ChoiceKind(("fits", "fits-except", "does-not-fit")))),
    Field("windows", Several(_WINDOW),
          about="Each limit over its own window: seconds, or mm3 of the melt zone."),
    Field("places", Several(_EXCESS),
          about="The worst places above a limit; place_count tells how many there are."),
    Field("place_count", COUNT),
    Field("refused", Several(_REFUSED), about="What the firmware stops the print at: distance in "
          "mm, section in mm2, hot and cold in degC."),
    Field("slowed", Several(_SLOWED), about="Moves of filament alone that the firmware slows: "
          "speed in mm/s; time in s, asked without acceleration, runs with it."),
    Field("share_of_time_above_any_limit", SHARE, "above_any"),
    Field("cap_that_removes", Maybe(NUMBER)),
    Field("sure", Maybe(NUMBER)),
    Field("caps", Maybe(_CAPS), about="With --caps: the time in s with every flow held to each, "
          "shares of the time as it is, and from where on more flow gains nothing."),
    Field("slicer_time", Maybe(_SLICER_TIME), about="The time in s that the slicer states, and the "
          "one at the set speeds alone: alike to the planned time, plain (reckoned without "
          "acceleration) or other (no check of the plan)."),
    Field("features", _rows("feature")),
    Field("layers", _rows("layer")),
    Field("worst", Several(_WORST)),
    Field("extruder_peak_speed", NUMBER),
    Field("extruder_peak_accel", NUMBER),
    Field("share_of_corner_speed", Maybe(NUMBER), "advance_speed_share"),
    FINDINGS,
    Field("remarks", TEXTS),
    Field("lacking", TEXTS),
    WEIGHED,
    FILES,
    ERRORS,
), "demand")  # fmt: skip
