"""Finds moves of filament alone in the G-code of a config's macros.

A macro is a template: what it states literally is evaluated, what is only known when it runs is
skipped and counted. Loops and branches are not followed; each move stands for itself.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from advisor.base import Span, frozen
from advisor.data import Range, Row, parse_number
from advisor.inputs.macro_commands import (
    NUMBER_WORDS,
    MacroSetting,
    command_settings,
    kept_settings,
    macro_words,
)
from advisor.inputs.macro_values import Variables, evaluated

if TYPE_CHECKING:
    from advisor.config import Setting, Tree

__all__ = ["MacroMove", "Macros", "read_macros"]

_BRANCH = re.compile(r"\{%")
_TEMPLATE = re.compile(r"\{[^{}]*\}")
_PER = {"min": 60.0, "s": 1.0}
_MM = 1e-3
_MAX_LINES = 20_000  # of G-code in one config; no macro comes near


@frozen
class MacroMove:
    """A move of filament alone: speed [m/s] (None where unknown) and length [m], signed."""

    macro: str
    speed: float | None
    length: float | None  # None where the extruder counts in a way that is not known
    at: Span
    sure: bool = True  # no move before it in its macro was beyond reading
    path: float | None = None  # [m] the head goes meanwhile, 0 for filament alone; None: unknown


@frozen
class Macros:
    """The moves that could be read, and how many lines could not; `first` is one of those.

    `moves` are of filament alone, `lines` are those along which the head goes too; `settings` is
    what the macros set or keep.
    """

    moves: tuple[MacroMove, ...] = ()
    skipped: int = 0
    first: Span | None = None
    lines: tuple[MacroMove, ...] = ()
    settings: tuple[MacroSetting, ...] = ()


@dataclass(slots=True)
class _State:
    speed: float | None = None
    relative: bool | None = None
    position: float | None = None
    sure: bool = True
    stepwise: bool | None = None  # whether the head's words are steps from where it is
    where: dict[str, float] = field(default_factory=dict)  # of the head, in mm, by word
    variables: Variables = field(default_factory=Variables)


def read_macros(tree: Tree) -> Macros:
    """Return the moves of filament alone in all macros of a config, and what the macros set."""
    words = macro_words()
    moves: list[MacroMove] = []
    settings = [*kept_settings(tree, words)]
    lines: list[MacroMove] = []
    skipped: list[Span] = []
    budget = _MAX_LINES
    for setting in _gcode(tree, words):
        state = _State()
        for text, at in _lines(setting, budget):
            budget -= 1
            settings += command_settings(text, _macro(setting.section), at, state.variables, words)
            move = _line(text, setting.section, at, state, words)
            if isinstance(move, MacroMove):
                (lines if move.path != 0.0 else moves).append(move)
            elif move is False:
                state.sure = False
                skipped.append(at)
    first = skipped[0] if skipped else None
    return Macros(tuple(moves), len(skipped), first, tuple(lines), tuple(settings))


def _gcode(tree: Tree, words: Row) -> Iterator[Setting]:
    for section in tree.section_names:
        if section.partition(" ")[0] in words["sections"]:
            for key in words["keys"]:
                setting = tree.find(section, key)
                if setting is not None:
                    yield setting


def _macro(section: str) -> str:
    return section.partition(" ")[2].strip() or section


def _lines(setting: Setting, most: int) -> Iterator[tuple[str, Span]]:
    """Yield the lines of a value with their places, comments cut."""
    document = setting.document
    yield setting.first_value, setting.value_span
    for line, text in setting.extra_places[:most]:
        yield text, document.line_span(line)


def _line(text: str, section: str, at: Span, state: _State, words: Row) -> MacroMove | bool | None:
    """Return a move of filament, False for one alone that cannot be read, else None."""
    if state.variables.take(text):
        return None
    if _BRANCH.search(text):  # which way it goes, and how often, is not known
        state.position = None
        state.where.clear()
    text = evaluated(text, state.variables)
    parts = _TEMPLATE.sub("{}", text).upper().split()
    if not parts:
        return None
    if _is_mode(parts[0], state, words) or parts[0] not in (*words["moves"], words["reset"]):
        return None
    if any(mark in text for mark in words["templated"]):
        return _templated(parts, state, words)
    values = {part[0]: _number(part, words) for part in parts[1:] if part}
    if parts[0] == words["reset"]:
        state.position = values.get(words["extruder"], state.position)
        return None
    return _move(values, section, at, state, words)


def _is_mode(word: str, state: _State, words: Row) -> bool:
    """Take in a command that sets how words count; False where it is none."""
    if word == words["restore"]:  # what was kept elsewhere holds again: it is not known here
        state.speed = state.relative = state.position = state.stepwise = None
        state.where.clear()
    elif word in (words["absolute"], words["relative"]):
        state.relative = word == words["relative"]
    elif word in (words["positions"], words["steps"]):
        state.stepwise = word == words["steps"]
    else:
        return False
    return True


def _number(part: str, words: Row) -> float | None:
    """Return the number behind a letter; None where it is none that a machine could have."""
    number = parse_number(part[1:])
    for word in NUMBER_WORDS:
        if number is not None and part[0] == words[word]:
            within = Range(*words["ranges"][word])
            return number if abs(number) in within else None
    return number


def _templated(parts: list[str], state: _State, words: Row) -> bool | None:
    """Forget what a templated line may change; False where it moves filament alone."""
    letters = {part[0] for part in parts[1:]}
    if words["speed"] in letters:
        state.speed = None
    for word in letters & set(words["path"]):
        state.where.pop(word, None)
    if words["extruder"] not in letters:
        return None
    state.position = None
    return None if letters & set(words["path"]) else False


def _move(
    values: Mapping[str, float | None],
    section: str,
    at: Span,
    state: _State,
    words: Row,
) -> MacroMove | bool | None:
    if words["speed"] in values:
        speed = values[words["speed"]]
        state.speed = None if speed is None else abs(speed) * _MM / _PER[words["speed_per"]]
    path = _path(values, state, words)
    if words["extruder"] not in values:
        return None
    end = values[words["extruder"]]
    if end is None:
        return False
    length = _length(end, state)
    macro = _macro(section)
    size = None if length is None else length * _MM
    lifts = path == 0.0 and any(word in values for word in words["lift"])
    return MacroMove(macro, None if lifts else state.speed, size, at, state.sure, path)


def _path(values: Mapping[str, float | None], state: _State, words: Row) -> float | None:
    """Return how far the head goes [m], and keep where it is; None where that is not known."""
    gone: list[float | None] = []
    for word in words["path"]:
        if word not in values:
            continue
        end, start = values[word], state.where.get(word)
        if state.stepwise and end is not None:
            gone.append(end)
            state.where.pop(word, None)
            continue
        gone.append(None if end is None or start is None or state.stepwise is None else end - start)
        state.where.pop(word, None)
        if end is not None and state.stepwise is False:
            state.where[word] = end
    if any(one is None for one in gone):
        return None
    return math.hypot(*(one for one in gone if one is not None)) * _MM


def _length(end: float, state: _State) -> float | None:
    """Return how far the extruder goes, in mm; None where its way of counting is not known."""
    if state.relative or state.stepwise:  # steps of the head are steps of the filament too
        state.position = None if state.position is None else state.position + end
        return end
    start, state.position = state.position, end
    if state.relative is None or start is None:
        return None
    return end - start
