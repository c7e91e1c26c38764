"""The words of the trade for stages, limits and materials: tables, and the catalogue's names.

The orders in which findings are told go by them: by place, by stage, by what they cost.

Cases are said in words too: what is delivered with each class, and with which of them it fits.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from advisor.base import Case, Finding, frozen
from advisor.report.numbers import flow, ranged

__all__ = [
    "STAGES",
    "STAGE_LIMITS",
    "StageLimit",
    "advice_words",
    "by_cost",
    "by_place",
    "by_stage",
    "caps_words",
    "case_words",
    "condition_words",
    "decided_by",
    "fact_words",
    "hangs_words",
    "label_of",
    "limit_words",
    "material_words",
    "stage_rank",
]

LIMIT_WORDS = {  # what limits first, as it is said in a sentence
    "torque": "motor",
    "skip": "motor",
    "grip": "grip",
    "slip": "grip",
    "buckling": "unsupported gap",
    "melt": "melt zone",
    "heater": "heater",
}
STAGES = ("text", "motor", "gears", "grip", "gap", "melt", "heater", "firmware", "slicer")
_GROUND = "gears"
_Place = tuple[str, int, int, str, str, str]
FLOW = "mm3/s"
_HOTEND = "hotend.class"
_GEARS = {"1": "one gear", "2": "two gears"}
_COUNTS = {"1": "one", "2": "two", "3": "three", "4": "four"}


@frozen
class StageLimit:
    """What bounds the flow at a stage, and what happens beyond it."""

    stage: str
    limit: str
    beyond: str  # what happens above the limit
    lost: str | None  # the limit at which steps or filament are lost
    lost_words: str


STAGE_LIMITS = (
    StageLimit("motor", "torque", "", "skip", "skips at"),
    StageLimit("grip", "grip", "", "slip", "slips at"),
    StageLimit("gap", "buckling", "buckles", None, ""),
    StageLimit("melt", "melt", "unmelted core", None, ""),
    StageLimit("heater", "heater", "too cold", None, ""),
)


def stage_rank(stage: str) -> int:
    """Return the place of a stage along the filament path; unknown ones come last."""
    return STAGES.index(stage) if stage in STAGES else len(STAGES)


def limit_words(limit: str | None) -> str:
    """Return the part of the machine that a limit is of: ``torque`` is the motor's."""
    return LIMIT_WORDS.get(limit or "", limit or "?")


def advice_words(advice: str) -> str:
    """Return an advice to be told on its own: one beside an edit begins with "Or".

    >>> advice_words("Or lower the current."), advice_words("Order a longer hotend.")
    ('Lower the current.', 'Order a longer hotend.')
    """
    other = advice.removeprefix("Or ")
    return advice if other == advice else other[:1].upper() + other[1:]


def material_words(name: str) -> str:
    """Return a filament's name as the trade writes it; one that the catalogue lacks as it is.

    >>> material_words("tpu-95a"), material_words("cheese")
    ('TPU 95A', 'cheese')
    """
    from advisor.catalog import load_catalog

    entry = load_catalog().materials.get(name)
    return name if entry is None else entry.title


def condition_words(material: str | None, temperature: float | None, nozzle: float | None) -> str:
    """Return what a figure is for, behind it: filament, temperature in degC, bore in mm.

    >>> condition_words("petg", 240.0, 0.4), condition_words(None, None, None)
    ('; PETG at 240 degC, 0.4 mm', '')
    """
    heat = None if temperature is None else f"at {temperature:.4g} degC"
    filament = " ".join(x for x in (material and material_words(material), heat) if x)
    bore = None if nozzle is None else f"{nozzle:g} mm"
    words = ", ".join(x for x in (filament, bore) if x)
    return f"; {words}" if words else ""


def fact_words(name: str) -> str:
    """Return a fact's name as words: ``nozzle.diameter`` reads ``nozzle diameter``."""
    return name.removeprefix("drive.").replace(".", " ").replace("_", " ")


def by_place(findings: Iterable[Finding]) -> list[Finding]:
    """Return the findings by file, line, column, rule and extruder."""
    return sorted(findings, key=_place)


def by_stage(findings: Iterable[Finding]) -> list[Finding]:
    """Return the findings by stage, the graver first, then by place."""
    return sorted(findings, key=lambda x: (stage_rank(x.stage), x.stage, -x.level.rank, _place(x)))


def by_cost(findings: Iterable[Finding], first: str | None = None) -> list[Finding]:
    """Return errors, then warnings, then notes; in a level the gearing, `first`, then by stage.

    With a wrong gearing no other figure is right.
    """
    return sorted(findings, key=lambda x: (-x.level.rank, x.stage != _GROUND, x.stage != first,
                                           stage_rank(x.stage), x.stage, _place(x)))  # fmt: skip


def _place(finding: Finding) -> _Place:
    at = finding.at
    file, line, column = (at.file, at.line, at.column) if at else ("", 0, 0)
    return file, line, column, finding.rule, finding.extruder or "", finding.message


def label_of(case: Case) -> str:
    """Return the class, short enough for the column of labels."""
    return case.name if case.field == _HOTEND else _GEARS.get(case.name, f"{case.name} gears")


def case_words(case: Case) -> str:
    """Return what is delivered in a case, whether what is asked fits, and the cap to set."""
    fits = {None: "", True: ": too much", False: ": it fits"}[case.exceeds]
    cap = "" if case.set_to is None else f"; cap {flow(case.set_to)}"
    return f"{ranged(case.capacity, FLOW)}{fits}{cap}"


def caps_words(cases: Sequence[Case]) -> tuple[str, str]:
    """Return a label and the cap to set with each class, in one line; empty without caps."""
    caps = [(flow(case.set_to), label_of(case)) for case in cases if case.set_to is not None]
    if len(caps) < len(cases):
        return "", ""
    (first, label), *others = caps
    told = [f"cap {first} {FLOW} for {label}", *(f"{cap} for {name}" for cap, name in others)]
    return "by hotend" if cases[0].field == _HOTEND else "by gears", ", ".join(told)


def decided_by(cases: Sequence[Case]) -> str:
    """Return what decides and nobody states."""
    return "the hotend" if cases[0].field == _HOTEND else "the gears"


def hangs_words(cases: Sequence[Case]) -> str:
    """Return with what it fits and with what not; nothing where all cases agree."""
    fits = [case.name for case in cases if case.exceeds is False]
    over = [case.name for case in cases if case.exceeds]
    if not fits or not over:
        return ""
    if cases[0].field == _HOTEND:
        ends = f"{_a(fits)} melt zone, not with {_a(over)} one"
        return f"depends on the hotend: fits with {ends}"
    ends = f"{_counted(fits)} driven gears, not with {_counted(over)}"
    return f"depends on the gears: fits with {ends}"


def _counted(names: Sequence[str]) -> str:
    return " or ".join(_COUNTS.get(name, name) for name in names)


def _a(names: Sequence[str]) -> str:
    return f"{'an' if names[0][0] in 'aeiou' else 'a'} {' or '.join(names)}"
