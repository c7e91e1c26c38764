"""How likely each outcome of a test is, machine by machine."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from advisor.answers.diagnosis.cause_book import TrialRow
from advisor.answers.diagnosis.sightings import Complaint
from advisor.answers.diagnosis.worlds import World

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["outcome_chances"]

_CONFIRMS = 0.85  # a cause's own test shows it, where its 'gone' does not say
_SHOWN = 0.1  # chance from which a machine shows a word at all
_GONE, _WORSE, _BETTER = 0.8, 0.04, 0.06  # of what goes: gone, else better; of what stays


def outcome_chances(world: World, test: TrialRow, seen: Complaint) -> Mapping[str, Array]:
    """Return the chance of each outcome of a test on the machines of a world.

    Each has a least chance, as tests are misread; 'unsure' says nothing of any cause.
    """
    numbers = world.book.numbers
    plain = _readings(world, test) if test.reads is not None else _changes(world, test, seen)
    floor, unsure = numbers["test_floor"], numbers["unsure"]
    left = 1.0 - unsure
    made = {
        word: left * (floor / len(plain) + (1.0 - floor) * chance) for word, chance in plain.items()
    }
    return {**made, "unsure": np.full(world.size, unsure)}


def _readings(world: World, test: TrialRow) -> dict[str, Array]:
    made = {one.word: world.holds(one.condition) for one in test.readings}
    total = sum(made.values(), np.zeros(world.size))
    even = np.full(world.size, 1.0 / len(made))
    return {word: np.where(total > 0, held / np.maximum(total, 1e-9), even)
            for word, held in made.items()}  # fmt: skip


def _changes(world: World, test: TrialRow, seen: Complaint) -> dict[str, Array]:
    gone = np.zeros(world.size) + _gone(world, test, seen)
    return {
        "gone": _GONE * gone,
        "better": (1.0 - _GONE) * gone + _BETTER * (1.0 - gone),
        "same": (1.0 - _BETTER - _WORSE) * (1.0 - gone),
        "worse": _WORSE * (1.0 - gone),
    }


def _gone(world: World, test: TrialRow, seen: Complaint) -> Array | float:
    named = [cause.gone[test.name] for cause in world.causes if test.name in cause.gone]
    if named:
        return max(named)
    if any(cause.confirm == test.name for cause in world.causes):
        return _CONFIRMS
    if test.changes:
        return _taken_away(world, test, seen)
    if test.likely is not None:
        condition, chance = test.likely
        return np.where(world.holds(condition) > 0, chance, test.others)
    return test.others


def _taken_away(world: World, test: TrialRow, seen: Complaint) -> Array:
    """Return the chance that what is seen is gone on the machine with the test's change."""
    before = _shown(world, seen)
    after = _shown(world.changed(test.name, test.changes), seen)
    left = after / np.maximum(before, 1e-9)
    gone = np.clip(1.0 - left, 0.0, 1.0)
    share = np.where(before >= _SHOWN, gone, 0.0)
    return np.asarray(test.others + (0.9 - test.others) * share)


def _shown(world: World, seen: Complaint) -> Array:
    whens = tuple(world.book.whens)
    most = np.zeros(world.size)
    for one in seen.sightings:
        if one.seen:
            rows = world.chances(one.word)
            row = rows.max(axis=0) if one.when is None else rows[whens.index(one.when)]
            most = np.maximum(most, row)
    return most
