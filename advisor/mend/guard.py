"""What no edit may do, whatever a rule says: raise a current or a temperature, and the like.

It knows units, not rules. What it refuses becomes an instruction to a person.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from advisor.base import Fact, Fix, OriginKind, Unit, parse_unit
from advisor.data import parse_number
from advisor.machine import FactBook
from advisor.mend.target import Located

__all__ = ["refusal", "violations"]

_LIMIT = "motor.derated_current"
_SLACK = 1e-9
_CURRENT, _TEMPERATURE = parse_unit("A"), parse_unit("degC")
_HELD = {
    "ohm": "it says what is built in, and the driver reckons its current from it",
    "V": "it says what is built in, or sets the current itself",
}
_EDITABLE = (OriginKind.CONFIG, OriginKind.PROFILE, OriginKind.DEFAULT)
_DRIVEN = ("motor.applied_current",)


def refusal(fix: Fix, located: Located, unit: str | None, book: FactBook | None) -> str | None:
    """Return why a fix may not be made as an edit; None where it may.

    Parameters
    ----------
    fix : Fix
        The change.
    located : Located
        Where it would be made; its own unit counts as well as that of the fact.
    unit : str or None
        The unit of the fact that the rule sets.
    book : FactBook or None
        The facts of the extruder it is about, None where that is not known.
    """
    units = [parse_unit(name) for name in (located.unit, unit) if name is not None]
    new = parse_number(fix.new)
    old = parse_number(located.old) if located.old is not None else None
    if new is None:
        return "the new value is no number"
    for one in units:
        reason = _refused(one, new, old, located, book)
        if reason is not None:
            return reason
    return None


def _refused(
    unit: Unit, new: float, old: float | None, located: Located, book: FactBook | None
) -> str | None:
    for name, why in _HELD.items():
        if unit.dimension == parse_unit(name).dimension:
            return f"a value in {name} is never edited: {why}"
    if unit.dimension == _TEMPERATURE.dimension and unit.kind == "point":
        return _warm(new, old, located)
    if unit.dimension == _CURRENT.dimension:
        return _strong(unit, new, old, book)
    return None


def _warm(new: float, old: float | None, located: Located) -> str | None:
    if located.target.role == "config":
        return "a temperature of the config is never edited: it guards the machine"
    if old is None or new > old:
        return "a temperature is never raised by an edit"
    return None


def _strong(unit: Unit, new: float, old: float | None, book: FactBook | None) -> str | None:
    """A current may go down; up only to the derated limit, and only where that is known."""
    if old is not None and new <= old:
        return None
    limit = book.facts.get(_LIMIT) if book is not None else None
    if limit is None or not limit.known or limit.trace.assumed:
        return "it would set a current without knowing the motor's derated limit"
    if unit.to_si(new) > _nominal(limit) + _SLACK:
        return f"it would set a current above the derated limit of {_nominal(limit):.2f} A"
    return None


def violations(before: Mapping[str, FactBook], after: Mapping[str, FactBook]) -> Iterator[str]:
    """Yield what a whole set of edits would do that it may not, judged by the facts alone.

    Parameters
    ----------
    before, after : mapping of str to FactBook
        The facts of each extruder without and with the edits.
    """
    for name, book in after.items():
        old = before.get(name)
        for fact in book.facts.values():
            if not _watched(fact):
                continue
            present = old.facts.get(fact.name) if old is not None else None
            if _raised(fact, present, book):
                yield f"{fact.name} of {name}"


def _watched(fact: Fact) -> bool:
    return fact.number is not None and (fact.origin.kind in _EDITABLE or fact.name in _DRIVEN)


def _raised(fact: Fact, present: Fact | None, book: FactBook) -> bool:
    """Whether a fact is a current or temperature that went up further than it may."""
    unit = parse_unit(fact.number.unit if fact.number else "")
    known = present is not None and present.known
    if known and present is not None and _nominal(fact) <= _nominal(present) + _SLACK:
        return False
    if unit.kind == "point":
        return True
    if unit.dimension != _CURRENT.dimension:
        return False
    limit = book.facts.get(_LIMIT)
    return limit is None or not limit.known or _nominal(fact) > _nominal(limit) + _SLACK


def _nominal(fact: Fact) -> float:
    value = fact.nominal
    assert value is not None, fact.name
    return value
