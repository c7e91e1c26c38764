"""Says what a value that cannot be had is waiting for, down to what a person can state."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from advisor.model import Fact, State
from advisor.report.words import fact_words

__all__ = ["why_not_known"]

_STATE_WORDS = {
    State.MISSING: "is not stated",
    State.UNKNOWN: "may stand in an include that is missing",
    State.UNREADABLE: "is no value",
}
_MOST_NAMED = 3


def why_not_known(facts: Mapping[str, Fact], name: str) -> str:
    """Return in words which inputs of the fact `name` are missing; '' where that is not known."""
    fact = facts.get(name)
    if fact is None or fact.known:
        return ""
    roots = list(dict.fromkeys(_roots(facts, name, frozenset())))
    worst = [root for root in roots if _state(facts, root) is fact.state] or roots
    named = [fact_words(root) for root in worst[:_MOST_NAMED]]
    more = len(worst) - len(named)
    words = ", ".join(named) + (f" and {more} more" if more else "")
    verb = _STATE_WORDS.get(fact.state, "is not known")
    return f"{words} {verb if len(worst) == 1 else _plural(verb)}"


def _roots(facts: Mapping[str, Fact], name: str, above: frozenset[str]) -> Iterator[str]:
    """Yield the unknown facts under `name` that are made of nothing else that is unknown."""
    fact = facts.get(name)
    if fact is not None and fact.known:
        return
    parts = [part for part in (fact.inputs if fact else ()) if part not in above]
    below = [root for part in parts for root in _roots(facts, part, above | {name})]
    yield from below or [name]


def _state(facts: Mapping[str, Fact], name: str) -> State:
    return facts[name].state if name in facts else State.MISSING


def _plural(verb: str) -> str:
    return "are no values" if verb == "is no value" else verb.replace("is ", "are ", 1)
