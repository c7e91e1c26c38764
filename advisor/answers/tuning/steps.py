"""The steps of a session, filled in with what is known of the machine, and its currents."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence

from advisor.answers.derate_motor import stop_reading
from advisor.answers.tuning.bench_data import bench_numbers, session_steps
from advisor.answers.tuning_records import AccelRow, SessionCurrent, SessionStep
from advisor.base import Band
from advisor.machine import Machine, band_of, chain_motor, exceeded
from advisor.weigh import weigh_numbers

__all__ = ["current_of", "figures_of", "steps_of"]

_HOLE = re.compile(r"\{([^{}]*)\}")
_MM3, _MM = 1e9, 1e3
_NEAR = 1.02  # a current that is less above the largest than this is left as it is
_RUN, _SILENT = "motor.run_current", "driver.silent_threshold"


def current_of(machine: Machine) -> SessionCurrent:
    """Return the currents, and the case to expect at what is set; at the largest where it is more.

    Parameters
    ----------
    machine : Machine
        The machine as its config sets it.
    """
    over, most = exceeded(machine.book) is not None, machine.book.nominal("motor.set_current")
    run = machine.book.nominal(_RUN)
    above = most is not None and run is not None and run > most * _NEAR
    book = (_lowered(machine, most) if most and (over or above) else machine).book.aside()
    book.derive_all(chain_motor.WARMING)
    at = book.nominal(_RUN)
    return SessionCurrent(
        set_now=run,
        applied=band_of(machine.book.facts.get("motor.applied_current")),
        hold=machine.book.nominal("motor.hold_current"),
        most=most,
        limited_by=machine.book.text("motor.current_limited_by"),
        too_high=over,
        silent_gives=_silent(machine, most),
        at=at,
        case_soon=band_of(book.facts.get("motor.case_soon")),
        case_later=band_of(book.facts.get("motor.case_later")),
        stop=stop_reading(book) if at is not None else None,
    )


def _silent(machine: Machine, most: float | None) -> float | None:
    """Return what silent mode lets flow, where that is more than may be set."""
    floor = machine.book.nominal("driver.silent_floor")
    return floor if floor is not None and most is not None and floor > most else None


def _lowered(machine: Machine, most: float) -> Machine:
    """Return the machine as it may be run: at the largest current, without a mode that gives more.

    What runs at less already keeps its own current.
    """
    run, floor = (machine.book.nominal(name) for name in (_RUN, "driver.silent_floor"))
    changes = {_RUN: most if run is None else min(run, most)}
    if floor is not None and floor > most:
        changes[_SILENT] = 0.0
    return machine.with_(changes)


def steps_of(figures: Mapping[str, str]) -> tuple[SessionStep, ...]:
    """Return the steps with their figures; a text that lacks one is left out, or another taken."""
    return tuple(
        SessionStep(number, row.name, *(_first(part, figures) for part in
                                        (row.do, row.expect, row.stop)))
        for number, row in enumerate(session_steps())
    )  # fmt: skip


def _first(texts: Sequence[str], figures: Mapping[str, str]) -> str:
    for text in texts:
        if all(name in figures for name in _HOLE.findall(text)):
            return text.format_map(figures)
    return ""


def figures_of(
    machine: Machine,
    current: SessionCurrent,
    *,
    cap: float | None,
    weighed: bool,
    line: AccelRow | None,
) -> dict[str, str]:
    """Return what the texts of the steps name, as far as it is known.

    Parameters
    ----------
    machine : Machine
        The machine as its config sets it.
    current : SessionCurrent
        Its currents.
    cap : float or None
        The flow to set, [mm3/s]
    weighed : bool
        Whether it is that of a weighed test.
    line : AccelRow or None
        The largest acceleration of the line that lint's advice is for.
    """
    weigh = weigh_numbers("plan")
    found: dict[str, str | None] = {
        "temperature": _temperature(machine),
        "feed_length": _length(bench_numbers("feed")["length"]),
        "feed_off": _length(bench_numbers("feed")["off"]),
        "light_pieces": f"{weigh['stop_pieces']:.0f}",
        "light": f"{100.0 * weigh['stop_light']:g} %",
        "print_share": f"{machine.book.nominal('model.cap_middle_share') or 0.0:g}",
        "cap_weighed" if weighed else "cap": None if cap is None else f"{cap:.1f} mm3/s",
        "rotation_distance": _rotation(machine),
        "limit": _ranged(_band(machine, "flow.capacity"), "mm3/s"),
        "lag": _lag(machine),
        "advance": _advance(machine),
        **_of_current(current),
        **dict(_of_flows(machine)),
        **_of_acceleration(line, machine.book.nominal("motion.max_accel")),
    }
    return {name: text for name, text in found.items() if text is not None}


def _temperature(machine: Machine) -> str | None:
    kelvin = machine.book.nominal("hotend.temperature")
    return None if kelvin is None else f"{kelvin - 273.15:.4g} degC"


def _rotation(machine: Machine) -> str | None:
    distance = machine.book.nominal("drive.rotation_distance")
    return None if distance is None else f"{distance * _MM:.5g}"


def _length(meters: float) -> str:
    return f"{meters * _MM:g} mm"


def _band(machine: Machine, name: str) -> Band | None:
    return band_of(machine.book.facts.get(name))


def _ranged(band: Band | None, unit: str) -> str | None:
    """Return ``9.7 (6.1-14) mm3/s`` in two digits; None where a figure is beyond all bounds."""
    if band is None or not all(math.isfinite(x) for x in (band.value, band.low, band.high)):
        return None
    value, low, high = (_two(x) for x in (band.value, band.low, band.high))
    return f"{value} {unit}" if low == high else f"{value} ({low}-{high}) {unit}"


def _two(value: float) -> str:
    return f"{value:.0f}" if abs(value) >= 10.0 else f"{value:.2g}"


def _lag(machine: Machine) -> str | None:
    """Return the pressure advance that is usual for the filament's path."""
    tube = machine.book.nominal("drive.tube_length") or 0.0
    lag = machine.book.nominal("model.lag_bowden" if tube > 0.0 else "model.lag_direct")
    path = "through a tube" if tube > 0.0 else "with the gears at the hotend"
    return None if lag is None else f"{lag:g} s {path}"


def _advance(machine: Machine) -> str | None:
    advance = machine.book.nominal("motion.pressure_advance")
    return f"{advance:g} s" if advance else None


def _of_current(current: SessionCurrent) -> dict[str, str | None]:
    run = None if current.at is None else f"{current.at:.2f} A RMS"
    held = None if current.hold is None or current.at is None else min(current.hold, current.at)
    hold = "" if held is None else f", hold {held:.2f} A RMS"
    return {
        "run": run,
        "current": None if run is None else f"the run current to {run}{hold}",
        "case_soon": _ranged(current.case_soon, "degC"),
        "case_later": _ranged(current.case_later, "degC"),
        "case_stop": None if current.stop is None else f"{current.stop:.0f} degC",
    }


def _of_flows(machine: Machine) -> Iterator[tuple[str, str | None]]:
    """Yield the flows of feed check and ramp, with the speed of the filament as F takes it."""
    capacity, area = _band(machine, "flow.capacity"), machine.book.nominal("filament.area")
    skip, slip = _band(machine, "flow.skip"), _band(machine, "flow.slip")
    yield "skip", _ranged(skip, "mm3/s")
    if skip is not None and slip is not None and slip.value < skip.value:
        yield "slip_first", _ranged(slip, "mm3/s")
    yield "ramp_length", _length(bench_numbers("ramp")["length"])
    if capacity is None or area is None or capacity.low <= 0.0:
        return
    ramp, tenth = bench_numbers("ramp"), 0.1
    feed = _rounded(bench_numbers("feed")["share"] * capacity.low, tenth)
    first = _rounded(ramp["share"] * capacity.low, tenth)
    yield from _as_flow("feed", "flow", feed, area)
    yield from _as_flow("ramp", "from", first, area)
    if skip is None or not math.isfinite(skip.high):
        return
    rounding = ramp["rounding"] * _MM3
    step = _rounded(max(skip.high - first, 0.0) / ramp["steps"], rounding)
    yield "ramp_step", f"{step:g} mm3/s"
    yield "ramp_speed_step", f"{_speed(step, area):.0f}"
    yield "ramp_to", f"{skip.high:.1f} mm3/s"


def _as_flow(part: str, name: str, flow: float, area: float) -> Iterator[tuple[str, str | None]]:
    yield f"{part}_{name}", f"{flow:.1f} mm3/s"
    yield f"{part}_speed", f"{_speed(flow, area):.0f}"


def _speed(flow: float, area: float) -> float:
    """Return a flow in mm3/s as a speed of filament in mm/min."""
    return flow / _MM3 / area * _MM * 60.0


def _rounded(value: float, step: float) -> float:
    return max(1, round(value / step)) * step


def _of_acceleration(line: AccelRow | None, limit: float | None) -> dict[str, str]:
    """Return the line to raise the acceleration with, and the most that it allows.

    Where that is above the config's own limit [m/s2], the limit in its place.
    """
    if line is None or line.acceleration is None:
        return {}
    at = {} if line.limit is None else {"accel_line": f"{line.width:g} x {line.height:g} mm"}
    most = math.inf if line.limit is None else line.acceleration
    if limit is not None and limit * _MM <= most:
        return {**at, "accel_set": f"{limit * _MM:.0f} mm/s2"}
    return {**at, "accel_most": f"{most:.0f} mm/s2"} if at else {}
