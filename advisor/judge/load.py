"""Loads the compiled rulebook; the YAML is read only where nothing was compiled."""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping

from advisor.data import artifact
from advisor.judge.levels import build_levels
from advisor.judge.records import Rulebook, RuleRow

__all__ = ["ARTIFACTS", "build", "event_words", "load_rulebook"]


def build() -> list[RuleRow]:
    """Return the compiled rules: the artifact ``rulebook``."""
    from advisor.judge.build import build_rulebook

    return build_rulebook()


def event_words(kind: str) -> str:
    """Return what was noticed where an event of a kind is raised, as rules/events.yaml says it."""
    from advisor.judge.build import event_words as read

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


ARTIFACTS: Mapping[str, Callable[[], object]] = {"levels": build_levels, "rulebook": build}
