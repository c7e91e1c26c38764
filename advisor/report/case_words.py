"""Cases in words: what is delivered with each class, and with which of them it fits."""

from __future__ import annotations

from collections.abc import Sequence

from advisor.base import Case
from advisor.report.numbers import flow, ranged

__all__ = ["caps_words", "case_words", "decided_by", "hangs_words", "label_of"]

FLOW = "mm3/s"
_HOTEND = "hotend.class"
_GEARS = {"1": "one gear", "2": "two gears"}
_COUNTS = {"1": "one", "2": "two", "3": "three", "4": "four"}


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
