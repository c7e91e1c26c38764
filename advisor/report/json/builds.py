"""The JSON of `compare` and `mend`: other builds of a machine, and edits."""

from __future__ import annotations

from advisor.answers import Edit, MendReport
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
    Quantity,
    Record,
    Several,
)
from advisor.report.json.parts import (
    BOTTLENECK,
    DRAWS,
    ERRORS,
    EXTRUDER,
    FILES,
    FINDING,
    FLOW,
    LIMIT_ROWS,
    TEXTS,
    WEIGHED,
    sentences,
)

__all__ = ["COMPARE", "FIGURES", "MEND"]

FIGURES = {  # of a variant: attribute and key, and unit; none of a plain number
    "capacity": "mm3/s",
    "skip": "mm3/s",
    "case_temperature": "degC",
    "run_current": "A",
    "derated_current": "A",
    "motor_mass": "g",
    "microstep": "mm",
    "lag": "mm",
    "retract_trusted": "mm/s",
    "retract_torque": "mm/s",
    "skip_push": "N",
    "slip_push": "N",
    "advance_peak": "mm/s",
    "advance_speed_share": "",
}

_VARIANT = Record((
    Field("number", LINE, about="Place as given; the others are set against number 1."),
    Field("name", WORDS),
    Field("bottleneck", BOTTLENECK),
    Field("bottleneck_share", Maybe(SHARE)),
    *(Field(name, Maybe(Estimate(unit or None))) for name, unit in FIGURES.items()),
    LIMIT_ROWS,
    Field("above_derated", Maybe(FLAG)),
    Field("advance_inside", Maybe(FLAG), about="Whether the typical motor is inside its trusted "
          "speed in a pressure-advance peak and, where a flow is asked, its usable torque; null "
          "where no advance is set."),
    Field("better_share", Maybe(SHARE)),
    Field("worse_share", Maybe(SHARE)),
    Field("delivers_asked", Maybe(SHARE), about="Share of likely machines whose capacity is not "
          "below what is asked; null where nothing is."),
    Field("narrower", Maybe(NumberKind(high=1)),
          about="Part of the capacity's band that weighed tests took away."),
    sentences("notes"),
), "variant",
    "A machine beside others: capacity and skip in mm3/s, currents RMS, lengths in mm of filament. "
    "skip_push: push at which the motor skips while it feeds at the capacity; slip_push: at which "
    "the filament slips. advance_peak and advance_speed_share: null where no advance is set. "
    "better_share: in which share of the paired ensemble its capacity is above the first one's; "
    "null for the first.",
)  # fmt: skip

_CHANGE = Record((
    Field("fact", TEXT),
    Field("title", TEXT),
    Field("unit", TEXT, lambda lever: lever.unit.partition(" rms")[0]),
    Field("now", Maybe(NUMBER)),
    Field("assumed", FLAG),
    Field("to", Maybe(NUMBER)),
    Field("best", Maybe(NUMBER)),
    Field("capacity", Maybe(FLOW)),
    Field("bottleneck", BOTTLENECK),
    Field("sure", Maybe(SHARE)),
    Field("one_step_less", Maybe(NUMBER)),
    Field("one_step_less_sure", Maybe(SHARE)),
    Field("limit", Maybe(NUMBER)),
    Field("limited_by", TEXT),
    Field("relative_change", Maybe(NUMBER), "change"),
    Field("note", TEXT),
), "target_change",
    "One thing changed alone: to is the nearest value that reaches the target, null where none "
    "within its limit does; then best is the value that gives the most, null where nothing is "
    "gained. With a share wanted, best is the value with which most machines reach the target, "
    "where the typical one does.",
)  # fmt: skip

COMPARE = Record((
    EXTRUDER,
    Field("variants", Several(_VARIANT)),
    Field("left_out", COUNT),
    Field("asked", Maybe(FLOW)),
    WEIGHED,
    Field("target", Maybe(Record((
        Field("flow", Quantity("mm3/s"), "target"),
        Field("capacity", Maybe(FLOW)),
        Field("reached", Maybe(FLAG)),
        Field("sure_wanted", Maybe(SHARE), "wanted", "Share of likely machines that are to reach "
              "it; null: the typical one is to."),
        Field("sure", Maybe(SHARE), about="Without any change."),
        Field("current_lowered_to", Maybe(NUMBER), "lowered_to"),
        Field("changes", Several(_CHANGE), "levers"),
    )))),
    sentences("lacking"),
    FILES,
    ERRORS,
    DRAWS,
), "compare")  # fmt: skip


def _rules(edit: Edit) -> list[str]:
    return [finding.rule for finding in edit.findings]


def _cautions(edit: Edit) -> list[str]:
    return list(dict.fromkeys(x.caution for x in edit.findings if x.caution))


def _text(report: MendReport) -> str | None:
    try:
        return report.patch.decode("utf-8")
    except UnicodeDecodeError:
        return None


_EDIT = Record((
    Field("file", TEXT, "at.file"),
    Field("line", Integer(low=1), "at.line"),
    Field("section", Maybe(TEXT)),
    Field("setting", WORDS),
    Field("from", Maybe(TEXT), "old", "null: a new line"),
    Field("to", WORDS, "new"),
    Field("basis", Maybe(TEXT), about="What the new value is, in words."),
    Field("basis_fact", Maybe(TEXT), about="The fact it is."),
    Field("role", ChoiceKind(("config", "profile"))),
    EXTRUDER,
    Field("rules", Several(TEXT, least=1), _rules),
    Field("cured", TEXTS),
    Field("eased", TEXTS,
          about="Rules that are right by nominal figures afterwards and still tell something."),
    Field("sure", SHARE, lambda edit: max(finding.sure for finding in edit.findings)),
    Field("cautions", TEXTS, _cautions),
    Field("place", TEXTS, "words"),
    Field("written", FLAG),
), "edit")  # fmt: skip

MEND = Record((
    Field("config", TEXT),
    Field("edits", Several(_EDIT)),
    Field("by_hand", Several(Record((Field("finding", FINDING), Field("reason", WORDS))))),
    Field("left", Several(FINDING)),
    Field("brought", Several(FINDING)),
    Field("allowed", COUNT),
    Field("capacity", Several(Record((
        Field("extruder", TEXT),
        Field("before", Maybe(FLOW)),
        Field("after", Maybe(FLOW)),
        Field("bottleneck", Maybe(TEXT)),
    )))),
    Field("diff", Maybe(TEXT), _text, "null where it is no UTF-8 text"),
    Field("diff_folder", TEXT, "patch_folder", "Where patch -p1 takes the diff."),
    Field("notes", TEXTS),
    Field("written", TEXTS),
    Field("backups", TEXTS),
    Field("undone", FLAG),
    FILES,
    ERRORS,
), "mend")  # fmt: skip
