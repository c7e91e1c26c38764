"""Loads the compiled rulebook; the YAML is read only where nothing was compiled."""

from __future__ import annotations

import functools

from advisor.resources import artifact
from advisor.rulebook.records import Rulebook, RuleRow

__all__ = ["build", "event_words", "load_rulebook"]


def build() -> list[RuleRow]:
    """Return the compiled rules: the artifact ``rulebook``."""
    from advisor.rulebook.build import build_rulebook

    return build_rulebook()


def event_words(kind: str) -> str:
    """Return what was noticed where an event of a kind is raised, as rules/events.yaml says it."""
    from advisor.rulebook.build import event_words as read

    return read(kind)


@functools.cache
def load_rulebook() -> Rulebook:
    """Return the rulebook; it is read once.

    Raises
    ------
    DataError
        If a file under rules/ has a mistake in it.
    """
    return Rulebook.from_rows(artifact("rulebook", build))
