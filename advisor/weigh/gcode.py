"""Writes the G-code of a weighed test, and the table to fill in.

Extrusion is relative and says so; no axis moves, but for a lift that was asked for. Every move
stays within the firmware's limits on moves of filament alone. The words of the G-code are data.
"""

from __future__ import annotations

import string
from collections.abc import Iterable, Iterator, Mapping, Sequence

from advisor.weigh.records import Plan, PlanStep
from advisor.weigh.weigh_data import load_words, weigh_numbers

__all__ = ["back_to", "feed_moves", "figure", "harmless", "wrapped", "write_gcode", "write_table"]

_MM, _MM3, _MINUTE = 1e3, 1e9, 60.0
_WIDTH = 76
_FULL_FAN = 255
_KEPT = frozenset(string.ascii_letters + string.digits + " _.-")


def harmless(text: str) -> str:
    """Return a text of the user's with what may stand in G-code; all else is left out.

    >>> harmless("PLA; M104 S300\\n")
    'PLA M104 S300'
    """
    return "".join(mark for mark in text if mark in _KEPT)


def write_gcode(
    plan: Plan,
    conditions: Mapping[str, str],
    *,
    stops: Sequence[str] = (),
    select: str | None = None,
    first: str | None = None,
) -> str:
    """Return the G-code of a test.

    Parameters
    ----------
    plan : Plan
        The plan.
    conditions : mapping of str to str
        Material, temperature and nozzle, for the comments.
    stops : sequence of str
        When to stop the test, for the comments.
    select : str, optional
        The extruder to select, where there are several.
    first : str, optional
        The extruder to go back to at the end; the firmware starts with it.
    """
    words = load_words().gcode
    lines = [f"; {line}".rstrip() for line in _head(plan, conditions, stops)]
    lines += ["", words["save"], *_begin(plan, select, words)]
    lines += list(_lift(plan, words))
    if plan.fill:
        lines += ["", "; fill the hot end", *_feed(plan, plan.fill, plan.prime_speed, words)]
    for number, step in enumerate(plan.steps, plan.first):
        lines += list(_step(plan, number, step, words))
    lines += ["", *_end(plan, first if select is not None else None, words)]
    return "\n".join(lines) + "\n"


def _end(plan: Plan, first: str | None, words: Mapping[str, str]) -> Iterator[str]:
    """Yield what ends the test: the heater off, unless the next piece follows at once."""
    if not plan.stays_hot:
        yield words["cool"]
    yield words["fan_off"]
    yield from back_to(first, words)
    yield words["restore"]
    done = "Heater is ON for the next piece; M104 S0 ends it" if plan.stays_hot else (
        "Test done, cooling down; weigh the pieces")  # fmt: skip
    yield words["say"].format(text=done)


def _begin(plan: Plan, select: str | None, words: Mapping[str, str]) -> Iterator[str]:
    """Yield what sets the machine up: extruder, factors, temperature, part fan."""
    temperature, level = f"{plan.temperature - 273.15:.0f}", f"{round(_FULL_FAN * plan.fan)}"
    if select is not None:
        yield words["select"].format(extruder=harmless(select))
    yield f"{words['full_speed']} ; speed factor"
    yield f"{words['full_flow']} ; flow factor"
    yield f"{words['relative_filament']} ; lengths of filament are relative"
    yield words["heat"].format(temperature=temperature)
    yield words["heat_and_wait"].format(temperature=temperature)
    yield f"; part fan at {100.0 * plan.fan:.0f} %, as in a usual print: set it as in yours"
    yield words["fan"].format(level=level)


def back_to(first: str | None, words: Mapping[str, str]) -> Iterator[str]:
    """Yield the selection of the extruder that was active before; the saved state holds none."""
    if first is not None:
        yield "; back to the first extruder"
        yield words["select"].format(extruder=harmless(first))


_HEADER = (
    "step; flow [mm3/s]; length [mm]; fed_length [mm]; pieces; mass [g]; mark_depth [mm]; "
    "marks_per_10mm; skipped; note"
)


def write_table(plan: Plan, conditions: Mapping[str, str], name: str) -> str:
    """Return the table to fill in.

    Parameters
    ----------
    plan : Plan
        The plan.
    conditions : mapping of str to str
        Material, temperature and nozzle.
    name : str
        How the test is called.
    """
    notes = {"name": name, **conditions, "scale": f"{plan.scale * 1e3:g} g"}
    lines = [
        "# Weighed flow test: fill in the mass of each piece, and skipped: yes, no or unsure.",
        "# A run that was not made stays empty. Weigh several pieces together if you like",
        "# (pieces), in a container (tare), and repeat rows. If you can, for the slow run and the",
        "# fastest one that is whole: the length that went in by ruler (fed_length), and the tooth",
        "# marks in the filament (mark_depth, and how many on 10 mm).",
        *(f"# {key}: {value}".rstrip() for key, value in notes.items()),
        _HEADER,
    ]
    for number, step in enumerate(plan.steps, 1):
        remark = "slow reference" if step.reference else ""
        flow, length = figure(step.flow * _MM3), figure(step.length * _MM)
        lines.append(f"{number}; {flow}; {length}; ; 1; ; ; ; ; {remark}".rstrip())
    return "\n".join(lines) + "\n"


def _head(plan: Plan, conditions: Mapping[str, str], stops: Sequence[str]) -> Iterator[str]:
    yield f"Weighed flow test: {', '.join(map(harmless, conditions.values()))}"
    yield (
        f"{_counted(len(plan.steps))}, {plan.length:.1f} m of filament, about "
        f"{plan.time / _MINUTE:.0f} min after heating up"
    )
    if plan.stays_hot:
        yield "The heater stays ON at the end, for the next piece: M104 S0 turns it off."
    yield from _listed("CAUTION", load_words().cautions)
    if stops:
        yield from _listed("STOP AT", [stop.replace("degC", "C") for stop in stops])
    yield ""
    yield "Before each step some filament is pushed to be cut away; what the step itself gives is"
    yield "caught, cut off close to the nozzle when it has stopped, and bagged with its number."
    yield ""
    for number, step in enumerate(plan.steps, plan.first):
        slow = "  slow reference" if step.reference else ""
        yield (
            f"step {number:2d}: {step.flow * _MM3:6.2f} mm3/s, {step.speed * _MM:6.3f} mm/s, "
            f"{step.length * _MM:.0f} mm{slow}"
        )


def _listed(heading: str, texts: Iterable[str]) -> Iterator[str]:
    yield ""
    yield heading
    for text in texts:
        yield from wrapped(text)


def _counted(steps: int) -> str:
    return f"{steps} steps" if steps > 1 else "1 step"


def wrapped(text: str) -> Iterator[str]:
    """Yield a text in lines of a comment, with a dash before the first."""
    line = "-"
    for word in text.split():
        if len(line) + 1 + len(word) > _WIDTH:
            yield line
            line = " "
        line += f" {word}"
    yield line


def _lift(plan: Plan, words: Mapping[str, str]) -> Sequence[str]:
    if not plan.lift:
        return ()
    height, feed = figure(plan.lift * _MM), figure(plan.lift_speed * _MM * _MINUTE)
    return (
        "; lift as asked for: home the machine first, and look that there is room above",
        words["relative_axes"],
        words["lift"].format(height=height, feed=feed),
        words["absolute_axes"],
        words["finish"],
    )


def _step(plan: Plan, number: int, step: PlanStep, words: Mapping[str, str]) -> Iterator[str]:
    usual = weigh_numbers("plan")
    of = f"{number}/{len(plan.steps)}" if plan.first == 1 else f"{number}"
    slow = plan.prime_speed
    yield ""
    yield f"; step {of}: {step.flow * _MM3:.2f} mm3/s"
    yield words["say"].format(text=f"Step {of}: cut away what comes out now")
    yield from _feed(plan, usual["step_prime"], slow, words)
    yield words["finish"]
    yield words["pause"].format(milliseconds=f"{usual['cut_pause'] * 1e3:.0f}")
    yield words["say"].format(text=f"Step {of}: catch this, {step.flow * _MM3:.1f} mm3/s")
    yield from _feed(plan, step.length, step.speed, words)
    yield words["finish"]
    yield words["say"].format(text=f"Step {of}: cut and bag it")
    yield words["pause"].format(milliseconds=f"{usual['catch_pause'] * 1e3:.0f}")


def _feed(plan: Plan, length: float, speed: float, words: Mapping[str, str]) -> Iterator[str]:
    yield from feed_moves(length, speed, plan.largest_move, words)


def feed_moves(
    length: float, speed: float, largest_move: float, words: Mapping[str, str]
) -> Iterator[str]:
    """Yield moves of equal length that the firmware accepts and that add up to `length`.

    Parameters
    ----------
    length : float
        Of filament, [m]
    speed : float
        Of filament, [m/s]
    largest_move : float
        The longest move that the firmware accepts, [m]
    words : mapping of str to str
        The lines of the G-code.
    """
    moves = max(1, -int(-length // largest_move))
    feed = figure(speed * _MM * _MINUTE)
    done = 0.0
    for number in range(1, moves + 1):
        upto = round(length * _MM * number / moves, 4)
        yield words["extrude"].format(length=figure(upto - done), feed=feed)
        done = upto


def figure(value: float) -> str:
    """Return a number as G-code takes it."""
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return text if text != "-0" else "0"
