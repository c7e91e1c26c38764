"""Turns a rule's fix into the edit of one setting, rounded to the safe side."""

from __future__ import annotations

import math
from collections.abc import Mapping
from decimal import Decimal

from advisor.base import Fact, Fix, OriginKind, parse_unit
from advisor.expression import evaluate
from advisor.judge.records import FixRule

__all__ = ["made_fix", "rounded"]

_EDITABLE = (OriginKind.CONFIG, OriginKind.PROFILE, OriginKind.DEFAULT)
_SLACK = 1e-6  # of a step: 0.57 is 57 steps of 0.01, not 56.99999


def made_fix(fix: FixRule, facts: Mapping[str, Fact]) -> Fix | None:
    """Return the edit, or None where there is none to make.

    There is none where the setting stands in no file we may edit or has no name, where the
    new value is unknown, no change, or not positive (but where the rule itself says 0), or where
    it would go the wrong way.
    """
    fact = facts.get(fix.fact)
    if fact is None or fact.origin.kind not in _EDITABLE or fact.origin.setting is None:
        return None
    nominal = evaluate(fix.to, facts).number
    if nominal is None or not math.isfinite(nominal):
        return None
    value = float(parse_unit(fix.unit).from_si(nominal))
    text = rounded(value, step=fix.step, way=fix.round)
    old = fact.origin.text if fact.known and fact.origin.kind is not OriginKind.DEFAULT else None
    switched_off = float(text) == 0.0 and not fix.to.values  # a rule says 0 itself
    if (float(text) <= 0.0 and not switched_off) or not _goes_the_way(fix, float(text), fact):
        return None
    at = fact.origin.at if old is not None else fact.home
    return Fix(setting=fact.origin.setting, new=text, old=old, at=at)


def rounded(value: float, *, step: float, way: str) -> str:
    """Return `value` as a whole number of steps, written with the decimals of the step.

    >>> rounded(0.5657, step=0.01, way="down"), rounded(0.57, step=0.01, way="down")
    ('0.56', '0.57')
    >>> rounded(12.3, step=5, way="up"), rounded(9.78, step=0.1, way="nearest")
    ('15', '9.8')
    """
    steps = value / step
    count = {
        "down": math.floor(steps + _SLACK),
        "up": math.ceil(steps - _SLACK),
        "nearest": math.floor(steps + 0.5),
    }[way]
    return f"{Decimal(count) * Decimal(repr(step) if step % 1 else str(int(step))):f}"


def _goes_the_way(fix: FixRule, new: float, fact: Fact) -> bool:
    """Whether the setting changes at all, and only down where it is rounded down."""
    nominal = fact.nominal
    if nominal is None:
        return True
    present = float(parse_unit(fix.unit).from_si(nominal))
    if math.isclose(new, present, rel_tol=1e-9):
        return False
    return {"down": new < present, "up": new > present, "nearest": True}[fix.round]
