"""The way of one setting, from the text to the edit: each room once, in order, and none calls up.

A run of the program is watched call by call. What a room hands on shows how far the setting has
come: a line that is read, a stated fact, a machine worked out, a finding, an edit, an answer, a
text. The reference is the order that DEVELOPERS.md tells.
"""

from __future__ import annotations

import contextlib
import inspect
import re
import sys
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from types import CodeType, FrameType
from typing import TypeAlias

import pytest

from advisor.answers import Asks, CheckedConfig, MendReport, mend
from advisor.base import Fact, Finding, Fix, Level
from advisor.config import Tree
from advisor.inputs import ConfigFacts
from advisor.machine import Machine
from advisor.mend import FileChange
from advisor.report import mend_text

ROOT = Path(__file__).resolve().parents[2]
KEY, FACT, DERIVED = "run_current", "motor.run_current", "motor.derated_current"
FLOORS = (
    {"cli", "library"}, {"report"}, {"answers"}, {"mend", "judge", "weigh"}, {"machine"},
    {"inputs", "prints"}, {"config", "catalog", "physics"}, {"expression"}, {"data"}, {"files"},
    {"base"},
)  # fmt: skip
FLOOR = {room: floor for floor, rooms in enumerate(FLOORS) for room in rooms}


def _is_read(made: object) -> bool:
    return isinstance(made, Tree) and KEY in {s.key for it in made.live for s in it.settings}


def _is_stated(made: object) -> bool:
    return isinstance(made, ConfigFacts) and made.extruders[0].facts[FACT].known


def _is_worked_out(made: object) -> bool:
    return isinstance(made, Machine) and made.fact(DERIVED).known


def _is_judged(made: object) -> bool:
    found = made if isinstance(made, list | tuple) else ()
    return any(isinstance(one, Finding) and one.fix and one.fix.setting == KEY for one in found)


def _is_edited(made: object) -> bool:
    texts = made.values() if isinstance(made, dict) else ()
    return any(isinstance(text, bytes) and KEY.encode() in text for text in texts)


def _is_answered(made: object) -> bool:
    return isinstance(made, MendReport) and any(one.setting == KEY for one in made.edits)


def _is_told(made: object) -> bool:
    return isinstance(made, str) and KEY in made


WAY: Mapping[str, Callable[[object], bool]] = {
    "config": _is_read, "inputs": _is_stated, "machine": _is_worked_out, "judge": _is_judged,
    "mend": _is_edited, "answers": _is_answered, "report": _is_told,
}  # fmt: skip
LATER: tuple[tuple[str, tuple[type, ...]], ...] = (  # what a room and all before it never take
    ("config", (Fact, ConfigFacts)),
    ("inputs", (Machine,)),
    ("machine", (Finding, Fix)),
    ("judge", (FileChange,)),
    ("mend", (CheckedConfig, MendReport)),
)

Call: TypeAlias = tuple[str, str, str]  # from a room, to a room, the function


class Watch:
    """What is seen of a run: who hands the setting on first, who calls up, who takes what."""

    def __init__(self) -> None:
        self.handed_on: list[str] = []
        self.up: set[Call] = set()
        self.taken: set[tuple[str, str]] = set()

    def __call__(self, frame: FrameType, event: str, made: object) -> Watch | None:
        """Look at a call that goes through a door, and at what it returns."""
        room = _room(frame)
        if room is None:
            return None
        if event == "return" and room not in self.handed_on and room in WAY and WAY[room](made):
            self.handed_on.append(room)
        if event != "call" or (caller := _caller(frame)) == room:
            return None
        if caller is not None:
            if FLOOR[caller] > FLOOR[room]:
                self.up.add((caller, room, frame.f_code.co_qualname))
            self.taken |= {(room, one) for one in _too_late(room, frame.f_locals)}
        frame.f_trace_lines = False
        return self


_ROOMS: dict[CodeType, str | None] = {}


def _room(frame: FrameType) -> str | None:
    code = frame.f_code
    if code not in _ROOMS:
        module = str(frame.f_globals.get("__name__", "")).split(".")
        known = len(module) > 1 and module[0] == "advisor" and _is_function(code)
        _ROOMS[code] = module[1] if known and module[1] in FLOOR else None
    return _ROOMS[code]


def _is_function(code: CodeType) -> bool:
    """Whether it is no body of a module or a class, and nothing that the library writes itself."""
    return bool(code.co_flags & inspect.CO_OPTIMIZED) and code.co_name != "__create_fn__"


def _caller(frame: FrameType) -> str | None:
    """Return the room that a call comes from, whatever library it went through."""
    before = frame.f_back
    while before is not None and _room(before) is None:
        before = before.f_back
    return None if before is None else _room(before)


def _too_late(room: str, given: Mapping[str, object]) -> Iterator[str]:
    """Yield the types of what a room is given that are made further on the way only."""
    rooms = list(WAY)
    for own, types in LATER:
        if room in rooms and rooms.index(room) <= rooms.index(own):
            yield from (type(x).__name__ for x in given.values() if isinstance(x, types))


@contextlib.contextmanager
def watched() -> Iterator[Watch]:
    """Watch what is called in a block."""
    watch, before = Watch(), sys.gettrace()
    sys.settrace(watch)
    try:
        yield watch
    finally:
        sys.settrace(before)


@pytest.fixture(scope="module")
def seen() -> Watch:
    """A run that reads a config whose current is too high, and tells the edit."""
    config = str(ROOT / "samples" / "over-driven" / "printer.cfg")
    with watched() as watch:
        text = mend_text.render(mend(config, Asks(draws=64)))
    assert KEY in text
    return watch


def test_each_room_hands_the_setting_on_once_and_in_order(seen: Watch) -> None:
    """As the floors have it: none is left out, none comes before what it is made of."""
    assert seen.handed_on == list(WAY)


def test_no_room_takes_what_is_made_of_its_own(seen: Watch) -> None:
    """No fact goes back to the reader, no machine to the readers of facts, no finding to it."""
    assert seen.taken == set()


def test_what_is_called_from_below_was_handed_down(seen: Watch) -> None:
    """Three things: how files are read, what counts as inside, and what makes an item of a list."""
    assert {(room, above, name.split(".")[0]) for room, above, name in seen.up} <= {
        ("config", "mend", "Snapshot"),
        ("config", "inputs", "Outside"),
        ("base", "answers", "_report"),
        ("base", "answers", "_extruder"),
    }


def test_the_order_is_the_one_that_is_told() -> None:
    """DEVELOPERS.md names the rooms of the way as they are passed."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    told = text[text.index("The way of one setting:") :].split("\n\n")[0]
    assert re.findall(r"`(\w+)`", told) == list(WAY)


PLANTED = """
def read(document):
    return answer({}, document)

def judged(finding):
    return finding
"""


def test_a_wrong_way_is_seen() -> None:
    """A reader that calls an answer, and one that is given a finding."""
    lower: dict[str, object] = {"__name__": "advisor.config.planted"}
    upper: dict[str, object] = {"__name__": "advisor.answers.planted"}
    exec("def answer(given, document):\n    return document\n", upper)
    exec(PLANTED, lower)
    lower["answer"] = upper["answer"]
    exec("def ask(read, judged, finding):\n    read(1)\n    judged(finding)\n", upper)
    finding = Finding("a", Level.NOTE, "motor", "message")
    with watched() as watch:
        upper["ask"](lower["read"], lower["judged"], finding)  # type: ignore[operator]

    assert watch.up == {("config", "answers", "answer")}
    assert watch.taken == {("config", "Finding")}
