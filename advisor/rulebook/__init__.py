"""The rulebook: rules as data, checked when compiled, evaluated over facts and events.

rules/*.yaml holds the rules; each carries its own examples. It reads no config and computes
no physics: it sees facts, events and a vocabulary, and gives findings.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from advisor.rulebook.levels import build_levels, judged_level
from advisor.rulebook.load import build, event_words, load_rulebook
from advisor.rulebook.records import Rule, Rulebook
from advisor.rulebook.run import evaluate_rules

__all__ = ["ARTIFACTS", "Rule", "Rulebook", "evaluate_rules", "event_words", "judged_level",
           "load_rulebook"]  # fmt: skip

ARTIFACTS: Mapping[str, Callable[[], object]] = {"levels": build_levels, "rulebook": build}
