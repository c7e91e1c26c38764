"""Writes the G-code of a skip test, a file for each lowered current, and the table to fill in.

Each file first feeds at the set current, then lowers it and raises the flow; it ends with the set
current again. No axis moves. The words of the G-code are data.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from advisor.weigh.gcode import back_to, feed_moves, figure, harmless, wrapped
from advisor.weigh.skip_records import SkipFile, SkipLevel, SkipPlan, skip_numbers, skip_words

__all__ = ["SkipFirmware", "write_skip_gcode", "write_skip_table"]

_MM, _MM3 = 1e3, 1e9
_WARNING = "a firmware restart restores the currents of the config"


@dataclass(frozen=True, slots=True)
class SkipFirmware:
    """What the files need of the firmware: the stepper's name, its largest move, the extruders.

    ``area`` is the filament's [m2], ``largest_move`` in m; ``select`` and ``first`` are the
    extruder to select and the one to go back to, where there are several.
    """

    stepper: str
    area: float
    largest_move: float
    select: str | None = None
    first: str | None = None


def write_skip_gcode(
    plan: SkipPlan, conditions: Mapping[str, str], firmware: SkipFirmware, stops: Sequence[str]
) -> tuple[SkipFile, ...]:
    """Return the files of a test: one a lowered current, and one that ends it.

    Parameters
    ----------
    plan : SkipPlan
        The plan.
    conditions : mapping of str to str
        Material, temperature and nozzle, for the comments.
    firmware : SkipFirmware
        What the firmware must be told.
    stops : sequence of str
        When to stop, for the comments.
    """
    writer = _Writer(plan, conditions, firmware, stops)
    files = [
        SkipFile(str(number), writer.level(number, level))
        for number, level in enumerate(plan.levels, 1)
    ]
    return (*files, SkipFile("end", writer.end()))


_HEADER = (
    "step; approach; current [A]; reported [A]; last_good [mm3/s]; first_click [mm3/s]; "
    "noticed; note"
)


def write_skip_table(plan: SkipPlan, conditions: Mapping[str, str], name: str) -> str:
    """Return the table to fill in.

    Parameters
    ----------
    plan : SkipPlan
        The plan.
    conditions : mapping of str to str
        Material, temperature and nozzle, and what is built in.
    name : str
        How the test is called.
    """
    notes = {"name": name, **conditions, "empty run": ""}
    lines = [
        "# Skip test. Fill in for each run the current that the firmware reports back, the last",
        "# good flow, that of the first click, and how you noticed it: heard, seen, length short,",
        "# unsure; none if it never clicked, slip where the gears slipped (the test ends then).",
        "# A run that was not made stays empty. empty run: the lowest current at which the motor",
        "# turns with the filament out, if you tried it.",
        *(f"# {key}: {value}".rstrip() for key, value in notes.items()),
        _HEADER,
    ]
    for number, level in enumerate(plan.levels, 1):
        lines += [
            f"{number}; {run}; {level.current:.2f}; ; ; ; ;"
            for run in range(1, plan.approaches + 1)
        ]
    return "\n".join(lines) + "\n"


@dataclass(frozen=True, slots=True)
class _Writer:
    plan: SkipPlan
    conditions: Mapping[str, str]
    firmware: SkipFirmware
    stops: Sequence[str]

    def level(self, number: int, level: SkipLevel) -> str:
        """Return the file of one lowered current."""
        words, of = skip_words().gcode, f"{number}/{len(self.plan.levels)}"
        lines = [f"; {line}".rstrip() for line in self._head(number, level)]
        lines += ["", words["save"], *self._begin()]
        lines += ["", "; at the set current", *self._full()]
        lines += [*self._feed(self.plan.recovery, self._slow(level)), words["finish"]]
        lines += ["", "; lowered; the firmware answers with what it holds", *self._lowered(level)]
        lines.append(words["say"].format(text=f"Step {of}: now {level.current:.2f} A RMS"))
        wait = f"{skip_numbers('plan')['wait'] * 1e3:.0f}"
        lines.append(words["pause"].format(milliseconds=wait))
        for flow in level.flows:
            lines += ["", words["say"].format(text=f"Step {of}: {flow:.2f} mm3/s")]
            lines += [*self._feed(self.plan.dwell, flow), words["finish"]]
        lines += ["", "; no click to the end: the set current again", *self._full()]
        lines += [*self._back(), words["restore"]]
        lines.append(words["say"].format(text=f"Step {of}: no click; run the next file"))
        return "\n".join(lines) + "\n"

    def end(self) -> str:
        """Return the file that ends the test: the set current, the heater off."""
        words = skip_words().gcode
        lines = [f"; Skip test, its end: sets the currents of the config again; {_WARNING}"]
        lines += ["", *self._select(), *self._full(), words["report"].format(stepper=self._name)]
        lines += [words["cool"], words["fan_off"], *self._back()]
        lines.append(words["say"].format(text="Skip test done, cooling down"))
        return "\n".join(lines) + "\n"

    @property
    def _name(self) -> str:
        return harmless(self.firmware.stepper)

    def _head(self, number: int, level: SkipLevel) -> Iterator[str]:
        yield f"Skip test: the motor's current is lowered here; {_WARNING}"
        yield f"step {number} of {len(self.plan.levels)}: {level.current:.2f} A RMS"
        yield ", ".join(map(harmless, self.conditions.values()))
        yield ""
        yield "CAUTION"
        for caution in skip_words().cautions:
            yield from wrapped(caution)
        yield ""
        yield "STOP AT"
        for stop in self.stops:
            yield from wrapped(stop.replace("degC", "C"))
        yield ""
        yield f"Run this file {self.plan.approaches} times, then the next one. It feeds"
        yield f"{self.plan.dwell:.0f} mm at each flow, from {level.flows[0]:.2f} to "
        yield f"{level.flows[-1]:.2f} mm3/s, and says each on the display; a click is expected at"
        yield f"{level.expected.low:.1f} to {level.expected.high:.1f} mm3/s."

    def _begin(self) -> Iterator[str]:
        words, temperature = skip_words().gcode, f"{self.plan.temperature:.0f}"
        yield from self._select()
        yield f"{words['full_speed']} ; speed factor"
        yield f"{words['full_flow']} ; flow factor"
        yield f"{words['relative_filament']} ; lengths of filament are relative"
        yield words["heat"].format(temperature=temperature)
        yield words["heat_and_wait"].format(temperature=temperature)
        yield "; part fan off, to hear the click"
        yield words["fan_off"]

    def _select(self) -> Iterator[str]:
        if self.firmware.select is not None:
            yield skip_words().gcode["select"].format(extruder=harmless(self.firmware.select))

    def _back(self) -> Iterator[str]:
        first = self.firmware.first if self.firmware.select is not None else None
        yield from back_to(first, skip_words().gcode)

    def _full(self) -> Iterator[str]:
        yield self._set(self.plan.set_current, self.plan.set_hold)

    def _lowered(self, level: SkipLevel) -> Iterator[str]:
        yield self._set(level.current, level.hold)
        yield skip_words().gcode["report"].format(stepper=self._name)

    def _set(self, run: float, hold: float) -> str:
        words = skip_words().gcode
        return words["set"].format(stepper=self._name, run=figure(run), hold=figure(hold))

    def _slow(self, level: SkipLevel) -> float:
        return skip_numbers("plan")["recovery_share"] * level.flows[0]

    def _feed(self, length: float, flow: float) -> Iterator[str]:
        """Yield the moves of a length [mm] at a flow [mm3/s]."""
        speed = flow / _MM3 / self.firmware.area
        words = skip_words().gcode
        yield from feed_moves(length / _MM, speed, self.firmware.largest_move, words)
