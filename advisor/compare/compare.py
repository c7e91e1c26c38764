"""Answers `compare`: machines side by side, and the smallest change that reaches a target."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Iterable, Sequence

from advisor.asks import Asks
from advisor.catalog import Catalog, load_catalog
from advisor.compare.figures import variant
from advisor.compare.machine import Machine, changed, first_sample, restated
from advisor.compare.target import reach
from advisor.compare.vary import Change, combinations, read_variation
from advisor.compare_records import CompareReport, Variant
from advisor.errors import InputError, UsageError, near_miss
from advisor.facts.assemble import build_facts
from advisor.lint.check import CheckedConfig, check_config
from advisor.lint.flow import chosen_extruder
from advisor.lint.gather import read_given
from advisor.model import FileStatus
from advisor.units import parse_unit
from advisor.values import parse_quantity

__all__ = ["SORTS", "compare"]

AS_IT_IS = "as it is"
_MOST_TARGET = 400e-9  # m3/s
_GEAR_OFF = 0.15  # a gear this far off the rotation distance stands for another gear


def _value(pick: Callable[[Variant], object]) -> Callable[[Variant], float | None]:
    def value(row: Variant) -> float | None:
        found = pick(row)
        number = getattr(found, "value", found)
        return float(number) if isinstance(number, int | float) else None

    return value


SORTS: dict[str, tuple[Callable[[Variant], float | None], bool]] = {  # and whether most is best
    "capacity": (_value(lambda row: row.capacity), True),
    "better": (_value(lambda row: row.better_share), True),
    "skip": (_value(lambda row: row.skip), True),
    "case": (_value(lambda row: row.case_temperature), False),
    "mass": (_value(lambda row: row.motor_mass), False),
    "resolution": (_value(lambda row: row.microstep), False),
    "lag": (_value(lambda row: row.lag), False),
    "retract": (_value(lambda row: row.retract_torque), True),
}


def compare(
    config: str,
    asks: Asks,
    *,
    sheets: Sequence[str] = (),
    vary: Sequence[str] = (),
    target: str | None = None,
    sort: str | None = None,
    limit: int | None = None,
    extruder: str | None = None,
) -> CompareReport:
    """Return machines side by side, each against the first.

    Parameters
    ----------
    config : str
        A config, or ``-``.
    asks : Asks
        What else the command line states, the same for all; its sheet is not looked at.
    sheets : sequence of str
        Hardware sheets, a machine each; none: the sheet beside the config.
    vary : sequence of str
        Variations, as `read_variation` takes them; every combination is a machine.
    target : str, optional
        A flow, with its unit, that the first machine is to reach by one change.
    sort : str, optional
        A name of `SORTS`, the best first; as given where not named.
    limit : int, optional
        Show so many at most.
    extruder : str, optional
        The extruder's section name; the first one where not given.

    Raises
    ------
    UsageError
        For what cannot be compared, an unknown name, a value that cannot be.
    """
    catalog = load_catalog()
    flow = None if target is None else _target(target)
    _check_sort(sort)
    changes = combinations(read_variation(text, catalog) for text in vary)
    if len(dict.fromkeys(sheets)) < 2 and flow is None and not changes:
        raise UsageError(
            "nothing is compared", "give --sheet twice, or --vary name=a,b, or --target 30mm3/s"
        )
    taken = [_taken(config, asks, sheet, extruder, catalog) for sheet in sheets or (asks.sheet,)]
    machines = _machines([one for one in taken if one.machine is not None], changes, catalog)
    first = machines[0] if machines else None
    rows = [variant(i, one, first if i > 1 else None) for i, one in enumerate(machines, 1)]
    shown = _sorted(rows, sort)[: limit or None]
    return CompareReport(
        extruder=next((one.extruder for one in taken if one.extruder), None),
        variants=tuple(shown),
        left_out=len(rows) - len(shown),
        target=reach(first, flow, catalog) if first is not None and flow is not None else None,
        lacking=tuple(line for one in taken for line in one.lacking),
        files=tuple(dict.fromkeys(file for one in taken for file in one.files)),
        errors=tuple(dict.fromkeys(line for one in taken for line in one.errors)),
    )


@dataclasses.dataclass(slots=True)
class _Taken:
    """What came of a config with one sheet."""

    machine: Machine | None = None
    extruder: str | None = None
    files: tuple[FileStatus, ...] = ()
    errors: tuple[str, ...] = ()
    lacking: tuple[str, ...] = ()


def _taken(
    config: str, asks: Asks, sheet: str | None, extruder: str | None, catalog: Catalog
) -> _Taken:
    asks = dataclasses.replace(asks, sheet=sheet)
    checked = check_config(config, asks)
    taken = _Taken(files=checked.report.files, errors=checked.report.errors)
    if taken.errors:
        return taken
    name = chosen_extruder(checked, extruder)
    if name is None:
        taken.lacking = ("The config has no extruder section: name the root config.",)
        return taken
    taken.extruder = name
    shown = AS_IT_IS if sheet is None else sheet
    machine = Machine(shown, checked.inputs[name], checked.books[name])
    taken.machine = _with_its_gears(machine, checked, config, asks, catalog)
    return taken


def _with_its_gears(
    machine: Machine, checked: CheckedConfig, config: str, asks: Asks, catalog: Catalog
) -> Machine:
    """Take the kinematics of hardware the config does not describe from its sheet.

    The config's gear ratio and rotation distance are those of what is built in; a sheet of
    another drive states its own ratio, and its gear's size.
    """
    sheet = read_given(config, asks, catalog).sheet
    facts = sheet.part(machine.inputs.name).facts if sheet is not None else {}
    made: dict[str, float] = {}
    notes = []
    ratio, built = facts.get("drive.gear_ratio"), first_sample(machine.book, "drive.gear_ratio")
    if ratio is not None and built is not None:
        stated = _typical(ratio.samples)
        if abs(stated / built - 1.0) > 1e-3:
            made["drive.gear_ratio"] = stated
            notes.append(f"gear ratio {stated:.4g} as the sheet says, not the config's {built:.4g}")
    diameter = facts.get("drive.gear_diameter")
    distance = first_sample(machine.book, "drive.rotation_distance")
    if diameter is not None and distance is not None:
        around = math.pi * _typical(diameter.samples)
        if abs(around / distance - 1.0) > _GEAR_OFF:
            made["drive.rotation_distance"] = around
            notes.append(f"rotation distance {around * 1e3:.4g} mm for the sheet's gear")
    if not made:
        return machine
    inputs = restated(machine, made)
    return Machine(machine.name, inputs, build_facts(inputs, catalog), tuple(notes))


def _typical(samples: object) -> float:
    return float(samples[1] if isinstance(samples, tuple) else samples)  # type: ignore[arg-type]


def _machines(
    taken: Iterable[_Taken], changes: Sequence[tuple[Change, ...]], catalog: Catalog
) -> list[Machine]:
    """Return each machine as it is, followed by what the variations make of it."""
    machines = []
    bases = [one.machine for one in taken if one.machine is not None]
    for base in bases:
        machines.append(base)
        for change in changes:
            made = changed(base, change, catalog)
            name = made.name if len(bases) == 1 else f"{base.name}, {made.name}"
            machines.append(Machine(name, made.inputs, made.book, made.notes))
    return machines


def _target(text: str) -> float:
    try:
        flow = parse_quantity(text, parse_unit("mm3/s")).typical
    except InputError as err:
        raise UsageError(f"--target: {err.problem}", "write a flow, such as 30mm3/s") from None
    if not 0.0 < flow <= _MOST_TARGET:
        raise UsageError(f"--target {text} is out of range", "give 0.1 to 400 mm3/s")
    return flow


def _check_sort(sort: str | None) -> None:
    if sort is not None and sort not in SORTS:
        hint = near_miss(sort, SORTS) or f"write one of {', '.join(SORTS)}"
        raise UsageError(f"cannot sort by '{sort}'", hint)


def _sorted(rows: list[Variant], sort: str | None) -> list[Variant]:
    """Return the rows, the best first; unknown figures come last, level ones as given."""
    if sort is None:
        return rows
    pick, most = SORTS[sort]

    def key(row: Variant) -> tuple[bool, float]:
        value = pick(row)
        return value is None, 0.0 if value is None else (-value if most else value)

    return sorted(rows, key=key)
