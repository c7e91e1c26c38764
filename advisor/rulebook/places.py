"""Where a finding points: at the setting of the fact a rule names, or at its section."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from advisor.frozen import frozen
from advisor.model import Fact, OriginKind, Span

__all__ = ["Pointed", "pointed_at"]


@frozen
class Pointed:
    """The place of a finding, and whether the value there is the firmware's default."""

    at: Span | None
    defaulted: bool


def pointed_at(names: Sequence[str], facts: Mapping[str, Fact]) -> Pointed:
    """Return the place of the first of `names` that has one.

    A fact that is stated has its own place; one that is derived points to the first stated
    fact it was made from; one that is missing or defaulted to the header of its section.
    The value counts as the firmware's default where the first fact is one.
    """
    candidates = [fact for name in names if (fact := facts.get(name)) is not None]
    defaulted = bool(candidates) and candidates[0].origin.kind is OriginKind.DEFAULT
    for fact in candidates:
        family = [fact, *_made_from(fact, facts)]
        places = [one.origin.at for one in family] + [one.home for one in family]
        at = next((place for place in places if place is not None), None)
        if at is not None:
            return Pointed(at, defaulted)
    return Pointed(None, defaulted)


def _made_from(fact: Fact, facts: Mapping[str, Fact]) -> Iterator[Fact]:
    """Yield what a derived fact was made from, the nearest first, each once."""
    waiting, seen = list(fact.trace.inputs), {fact.name}
    for name in waiting:
        if name not in seen and (one := facts.get(name)) is not None:
            seen.add(name)
            waiting += one.trace.inputs
            yield one
