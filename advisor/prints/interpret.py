"""Reads the lines that are no plain moves: commands, and moves written unusually.

One line at a time; what the line does is data of the dialect. It changes the modal state, puts
rows of motion into the lines of the block, and computes no path; comments go to `remarks`.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping

from advisor.prints.dialect import AXES, MOTIONS, Command, Notes, PrintDialect
from advisor.prints.modal import Modal, MoveField
from advisor.prints.records import MachineLimits
from advisor.prints.remarks import Remarks
from advisor.prints.scan import PrintLines

__all__ = ["FILAMENT", "MARK", "Interpreter"]

MARK = 4  # row: positions are stated (inf: unknown), the feed word is a pause in s (or NaN)
FILAMENT = 5  # row: filament moves by the e word at the speed of the feed word, both in m

_WORD = re.compile(rb"\s*([A-Z])\s*([-+]?(?:\d+\.?\d*|\.\d+))?")
_NAME = re.compile(rb"([A-Z])0*(\d+)((?:\.\d+)?)(?![\d.])")
_NUMBERED = re.compile(rb"N\d+\s*")
_CHECKSUM = re.compile(rb"\s*\*\s*\d+\s*$")
_BRACKETS = re.compile(rb"\([^)]*\)?")
_MACRO = re.compile(rb"[A-Z_][A-Z0-9_.]*(?![^\s=])")
_X, _Y, _Z, _E, _FEED = range(5)

_SWITCHES = {
    "absolute": (MoveField.ABSOLUTE, 1.0),
    "relative": (MoveField.ABSOLUTE, 0.0),
    "absolute-e": (MoveField.ABSOLUTE_E, 1.0),
    "relative-e": (MoveField.ABSOLUTE_E, 0.0),
    "millimetres": (MoveField.UNIT, 1e-3),
    "inches": (MoveField.UNIT, 25.4e-3),
    "plane-xy": (MoveField.PLANE, 0.0),
    "plane-zx": (MoveField.PLANE, 1.0),
    "plane-yz": (MoveField.PLANE, 2.0),
}
_TARGETS = {  # target of a setting: field, whether 0 is a value
    "max_velocity": (MoveField.MAX_VELOCITY, False),
    "accel": (MoveField.ACCEL, False),
    "square_corner_velocity": (MoveField.CORNER, True),
    "min_cruise_ratio": (MoveField.CRUISE_RATIO, True),
    "max_extrude_only_velocity": (MoveField.E_VELOCITY, False),
    "max_extrude_only_accel": (MoveField.E_ACCEL, False),
    "corner_velocity": (MoveField.E_CORNER, True),
    "pressure_advance": (MoveField.ADVANCE, True),
    "smooth_time": (MoveField.SMOOTH, True),
    "speed_factor": (MoveField.SPEED_FACTOR, False),
    "flow_factor": (MoveField.FLOW_FACTOR, False),
}


class Interpreter:
    """Follows a print through the lines that `Scanner` left open."""

    def __init__(
        self, dialect: PrintDialect, limits: MachineLimits, notes: Notes, *, obey_foreign: bool
    ) -> None:
        self.modal = Modal(limits)
        self.remarks = Remarks(dialect, self.modal, notes)
        self.nozzle_temperature: float | None = None
        self.temperature_line = 0
        self.last_temperature: float | None = None
        self.commands = 0
        self._dialect, self._limits, self._notes = dialect, limits, notes
        self._obey_foreign = obey_foreign
        self._known: dict[bytes, Command] = {
            name.encode(): command for name, command in dialect.commands.items()
        }
        self._harmless = frozenset(name.encode() for name in dialect.harmless)
        self._retracted = 0.0
        self._longest = int(dialect.limits["command_length"])

    def read(self, lines: PrintLines, before: int) -> None:
        """Read the open lines of a block; `before` lines stand before the block."""
        text = lines.text
        rows = zip(
            lines.other.tolist(),
            lines.start[lines.other].tolist(),
            lines.cut[lines.other].tolist(),
            lines.end[lines.other].tolist(),
            lines.code[lines.other].tolist(),
            strict=True,
        )
        for i, start, cut, end, code in rows:
            if code:
                self.remarks.behind_move(i, text[cut:end])
            elif start == cut:
                self.remarks.line(i, text[start:end], before)
            else:
                self._line(i, lines, text[start:cut], text[cut:end], before)

    def _line(self, i: int, lines: PrintLines, body: bytes, comment: bytes, before: int) -> None:
        line = before + i + 1
        if len(body) > self._longest:
            self._notes.add("not-understood", line, body)
            return
        if b"(" in body:
            if body.lstrip().startswith(b"("):
                self.remarks.line(i, body.lstrip(), before)
            body = _BRACKETS.sub(b"", body)
        body = body.strip().upper()
        if body[:1] == b"N" and (numbered := _NUMBERED.match(body)):
            body = _CHECKSUM.sub(b"", body[numbered.end() :])
        if not body:
            if comment:
                self.remarks.line(i, comment, before)
            return
        self._command(i, lines, body, line)
        if comment and lines.code[i]:
            self.remarks.behind_move(i, comment)

    def _command(self, i: int, lines: PrintLines, body: bytes, line: int) -> None:
        name, _, rest = body.partition(b" ")
        command = self._known.get(name)
        if command is None and name not in self._harmless:
            found = _NAME.match(body)
            if found is None:
                self._macro(body, line)
                return
            name, rest = found[1] + found[2] + found[3], body[found.end() :]
            if found[1] == self._dialect.tool_letter.encode() and not found[3]:
                self._tool(i, lines, int(found[2][:6]))
                return
            command = self._known.get(name)
            if command is None and name not in self._harmless:
                self._notes.add("unknown-command", line, body)
        words = {} if command is None else self._words(rest, body, line)
        if words is None:
            return
        self.commands += 1
        if command is not None:
            self._do(i, lines, command, words, line)

    def _words(self, rest: bytes, body: bytes, line: int) -> dict[str, float | None] | None:
        """Return the words of a command; None, and a note, where they cannot be."""
        words = _pairs(rest) if b"=" in rest else _letters(rest)
        if words is None:
            self._notes.add("not-understood", line, body)
            return None
        largest = self._dialect.limits["number"]
        if any(value is not None and not abs(value) <= largest for value in words.values()):
            self._notes.add("absurd-number", line, body)
            return None
        return words

    def _macro(self, body: bytes, line: int) -> None:
        found = _MACRO.match(body)
        if found is None:
            self._notes.add("not-understood", line, body)
            return
        command = self._known.get(found[0])
        self._notes.add("unknown-command" if command is None else "not-understood", line, body)

    def _do(
        self,
        i: int,
        lines: PrintLines,
        command: Command,
        words: Mapping[str, float | None],
        line: int,
    ) -> None:
        does = command.does
        if command.unless & words.keys() or does == "nothing":
            pass
        elif does in MOTIONS or does == "set-position":
            self._row(i, lines, MOTIONS.get(does, MARK), words, line)
        elif does in _SWITCHES:
            self.modal.set(i, *_SWITCHES[does])
        elif does == "set":
            self._set(i, command, words, line)
        elif does == "home":
            self._begin(i, lines, MARK)
            lines.words[self._homed(words), i] = math.inf
        elif does == "temperature":
            self._temperature(words.get(command.degrees or ""), line)
        elif does in ("retract", "unretract"):
            self._retract(i, lines, does, line)
        if command.waits:
            seconds = words.get(command.seconds or "") or 0.0
            seconds += 1e-3 * (words.get(command.milliseconds or "") or 0.0)
            if lines.code[i] != MARK:
                self._begin(i, lines, MARK)
            lines.words[_FEED, i] = max(seconds, 0.0)

    def _row(
        self, i: int, lines: PrintLines, code: int, words: Mapping[str, float | None], line: int
    ) -> None:
        letters = self._dialect.letters
        if any(value is None for letter, value in words.items() if letter in letters):
            self._notes.add("not-understood", line, " ".join(words))
            return
        self._begin(i, lines, code)
        for letter, value in words.items():
            if letter in letters and value is not None:
                lines.words[letters[letter], i] = value
        if code == MARK:
            lines.words[_FEED:, i] = math.nan
            if not any(letter in letters for letter in words):
                lines.words[_X : _E + 1, i] = 0.0

    def _homed(self, words: Mapping[str, float | None]) -> list[int]:
        letters = self._dialect.letters
        named = [letters[w] for w in words if w in letters and letters[w] < _E]
        return named or [_X, _Y, _Z]

    def _set(self, i: int, command: Command, words: Mapping[str, float | None], line: int) -> None:
        if not command.obeyed and not self._obey_foreign:
            self._notes.add("other-firmware", line, command.name)
            return
        taken = False
        for target, alternatives in command.sets.items():
            for alternative in alternatives:
                values = [words.get(word) for word in alternative]
                known = [value for value in values if value is not None]
                if len(known) == len(alternative):
                    taken |= self._set_target(i, target, min(known))
                    break
        if not taken:
            self._notes.add("incomplete-setting", line, command.name)

    def _set_target(self, i: int, target: str, number: float) -> bool:
        value = number * self._dialect.factors[target]
        if target == "accel_to_decel":
            target, value = "min_cruise_ratio", 1.0 - min(value / self.modal[MoveField.ACCEL], 1.0)
        field, zero = _TARGETS[target]
        good = value >= 0.0 if zero else value > 0.0
        if not good or (field is MoveField.CRUISE_RATIO and value >= 1.0):
            return False
        self.modal.set(i, field, value)
        return True

    def _temperature(self, degrees: float | None, line: int) -> None:
        if degrees is None or not 0.0 < degrees < 1000.0:
            return
        self.last_temperature = degrees + 273.15
        if degrees + 273.15 > (self.nozzle_temperature or 0.0):
            self.nozzle_temperature, self.temperature_line = degrees + 273.15, line

    def _retract(self, i: int, lines: PrintLines, does: str, line: int) -> None:
        limits = self._limits
        if not limits.retract_length:
            self._notes.add("retract-unstated", line, does)
            return
        if (does == "retract") == bool(self._retracted):
            return
        length, speed = -limits.retract_length, limits.retract_speed
        if self._retracted:
            length, speed = self._retracted + limits.unretract_extra, limits.unretract_speed
        self._retracted = 0.0 if self._retracted else limits.retract_length
        self._begin(i, lines, FILAMENT)
        lines.words[_E, i], lines.words[_FEED, i] = length, speed

    def _tool(self, i: int, lines: PrintLines, number: int) -> None:
        self.commands += 1
        if number > self._dialect.largest_tool or number == self.modal[MoveField.TOOL]:
            return
        self.modal.set(i, MoveField.TOOL, float(number))
        self.modal.set(i, MoveField.FLOW_FACTOR, 1.0)
        self._retracted = 0.0
        self._begin(i, lines, MARK)
        lines.words[_E, i], lines.words[_FEED, i] = math.inf, 0.0

    def _begin(self, i: int, lines: PrintLines, code: int) -> None:
        """Make the line a row of motion without words."""
        lines.code[i] = code
        lines.words[:, i] = math.nan


def _letters(text: bytes) -> dict[str, float | None] | None:
    """Return the words ``X1 Y-.5 E``; None where something else stands between them."""
    words: dict[str, float | None] = {}
    at = 0
    while at < len(text):
        found = _WORD.match(text, at)
        if found is None:
            return words if not text[at:].strip() else None
        words[found[1].decode()] = float(found[2]) if found[2] else None
        at = found.end()
    return words


def _pairs(text: bytes) -> dict[str, float | None] | None:
    """Return the words ``KEY=VALUE``; a value that is no number counts as None."""
    words: dict[str, float | None] = {}
    for part in text.split():
        key, mark, value = part.partition(b"=")
        if not mark or not key:
            return None
        try:
            words[key.decode("ascii", "replace")] = float(value)
        except ValueError:
            words[key.decode("ascii", "replace")] = None
    return words


assert AXES[_X : _FEED + 1] == ("x", "y", "z", "e", "feed")
