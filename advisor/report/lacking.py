"""Says what a value that cannot be had is waiting for, down to what a person can state."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from advisor.model import Figure, State
from advisor.report.words import fact_words

__all__ = ["why_not_known"]

_STATE_WORDS = {  # of one input, of several
    State.MISSING: ("is not stated", "are not stated"),
    State.UNKNOWN: ("may stand in a missing include", "may stand in a missing include"),
    State.UNREADABLE: ("is no value", "are no values"),
}
_MOST_NAMED = 3


def why_not_known(facts: Mapping[str, Figure], name: str) -> str:
    """Return in words which inputs of the fact `name` are missing; '' where that is not known."""
    fact = facts.get(name)
    if fact is None or fact.known:
        return ""
    roots = _worst(facts, list(dict.fromkeys(_roots(facts, name, frozenset()))), fact.state)
    names = list(dict.fromkeys(_name(facts, root) for root in roots))
    more = len(names) - _MOST_NAMED
    *first, last = [*names[:_MOST_NAMED], f"{more} more"] if more > 0 else names
    words = f"{', '.join(first)} and {last}" if first else last
    return f"{words} {_STATE_WORDS[fact.state][len(names) > 1]}"


def _name(facts: Mapping[str, Figure], root: str) -> str:
    """Return the setting as the user writes it, else the fact in words."""
    return (root in facts and facts[root].origin.setting) or fact_words(root)


def _worst(facts: Mapping[str, Figure], roots: list[str], state: State) -> list[str]:
    """Keep the roots that are as bad as the whole, and of these the config's own settings."""
    worst = [root for root in roots if _state(facts, root) is state] or roots
    settings = [root for root in worst if root in facts and _has_place(facts[root])]
    return settings or worst


def _has_place(fact: Figure) -> bool:
    return fact.home is not None or fact.origin.at is not None


def _roots(facts: Mapping[str, Figure], name: str, above: frozenset[str]) -> Iterator[str]:
    """Yield the unknown facts under `name` that are made of nothing else that is unknown."""
    fact = facts.get(name)
    if fact is not None and fact.known:
        return
    parts = [part for part in (fact.inputs if fact else ()) if part not in above]
    below = [root for part in parts for root in _roots(facts, part, above | {name})]
    yield from below or [name]


def _state(facts: Mapping[str, Figure], name: str) -> State:
    return facts[name].state if name in facts else State.MISSING
