"""The flow to set by material and temperature, without a test and with what was weighed.

Nothing is told outside of a material's own range of nozzle temperatures.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from advisor.answers.curves.grip import with_material
from advisor.answers.tuning.bench_data import bench_numbers
from advisor.answers.tuning_records import CapRow
from advisor.base import parse_unit
from advisor.catalog import Catalog, Entry
from advisor.machine import CAP_NAME, Machine, settled_by_hotend, stated_classes, swept

__all__ = ["cap_rows"]

_CAPACITY, _HEAT, _CLEAN = "flow.capacity", "hotend.temperature", "weighed.clean_flow"
_WANTED = frozenset({_CAPACITY, CAP_NAME})
_CELSIUS, _FLOW = parse_unit("degC"), parse_unit("mm3/s")
_SAME = 0.01  # K
Caps = Mapping[float, tuple[float | None, float | None]]


def cap_rows(
    machine: Machine,
    materials: Sequence[str],
    temperatures: Sequence[float] | None,
    catalog: Catalog,
) -> tuple[CapRow, ...]:
    """Return the flow to set with each material at each temperature.

    Where the hotend's class decides and nobody states it there is none, as for the machine itself.

    Parameters
    ----------
    machine : Machine
        The machine, with what weighed tests told.
    materials : sequence of str
        Names in the catalogue, in the order of the rows; the machine's own is put first.
    temperatures : sequence of float or None
        Of the nozzle, [K]; the machine's own and some about it where not given.
    catalog : Catalog
        The materials.
    """
    own, heat = machine.book.text("filament.material"), machine.book.nominal(_HEAT)
    if own is None or not machine.book.known(_CAPACITY):
        return ()
    names = tuple(dict.fromkeys((own, *materials)))
    entries = {name: catalog.materials[name] for name in names if name in catalog.materials}
    wanted = tuple(temperatures) if temperatures else _usual(heat, entries.values())
    rows: list[CapRow] = []
    for name, entry in entries.items():
        rows += _of_material(machine, name, entry, wanted)
    return tuple(rows)


def _usual(heat: float | None, entries: Collection[Entry]) -> tuple[float, ...]:
    """Return the machine's own temperature and whole steps within what the materials take."""
    step = bench_numbers("cap")["step"]
    ranges = [_range(entry) for entry in entries]
    low, high = min(one[0] for one in ranges), max(one[1] for one in ranges)
    first, last = (float(_CELSIUS.from_si(end)) for end in (low, high))
    degrees = np.arange(np.ceil(first / step - 1e-9), np.floor(last / step + 1e-9) + 1.0) * step
    found = {float(_CELSIUS.to_si(x)) for x in degrees}
    if heat is not None and not any(abs(heat - one) < _SAME for one in found):
        found.add(heat)
    return tuple(sorted(found))


def _range(entry: Entry) -> tuple[float, float]:
    ends = (entry.numbers.get(f"material.nozzle_{end}") for end in ("low", "high"))
    low, high = (None if end is None else end.typical for end in ends)
    return low or 0.0, high or np.inf


def _of_material(
    machine: Machine, name: str, entry: Entry, temperatures: Sequence[float]
) -> Iterator[CapRow]:
    low, high = _range(entry)
    inside = [heat for heat in temperatures if low - _SAME <= heat <= high + _SAME]
    present = name == machine.book.text("filament.material")
    here = machine.book.nominal(_HEAT)
    plain = _caps(_untested(machine), name, inside, present=present)
    hangs = settled_by_hotend(machine.book)
    weighed = _weighed(machine, name, inside, present=present)
    for heat in temperatures:
        cautious, typical = plain.get(heat, (None, None))
        yield CapRow(
            material=name,
            title=entry.title,
            temperature=round(float(_CELSIUS.from_si(heat)), 6),
            present=present and here is not None and abs(heat - here) < _SAME,
            in_range=heat in inside,
            cautious=None if hangs else cautious,
            typical=typical,
            weighed=weighed.get(heat, (None, None))[0],
        )


def _untested(machine: Machine) -> Machine:
    """Return the machine as it is without what weighed tests told."""
    if machine.bench is None:
        return machine
    return machine.plain().with_({**stated_classes(machine.book), _CLEAN: None})


def _weighed(machine: Machine, name: str, heats: Sequence[float], *, present: bool) -> Caps:
    """Return the caps with the tests; a flow that came out whole counts as hot or hotter alone."""
    if machine.bench is None:
        return {}
    here = machine.book.nominal(_HEAT)
    as_hot = [x for x in heats if present and here is not None and x >= here - _SAME]
    other = [x for x in heats if x not in as_hot]
    less = machine.with_({**stated_classes(machine.book), _CLEAN: None}) if other else machine
    return {
        **_caps(machine, name, as_hot, present=present),
        **_caps(less, name, other, present=present),
    }


def _caps(machine: Machine, name: str, heats: Sequence[float], *, present: bool) -> Caps:
    """Return the flow to set and the typical capacity in mm3/s at each temperature."""
    if not heats:
        return {}
    made = machine if present else with_material(machine, name, _WANTED)
    found = swept(made, _HEAT, heats, (_CAPACITY, CAP_NAME))
    if _CAPACITY not in found:
        return {}
    caps = found.get(CAP_NAME)
    return {
        heat: (None if caps is None else _cap(float(caps[row, 0])), _typical(found, row))
        for row, heat in enumerate(heats)
    }


def _typical(found: Mapping[str, NDArray[np.float64]], row: int) -> float:
    return float(_FLOW.from_si(found[_CAPACITY][row, 0]))


def _cap(cap: float) -> float | None:
    """Return a flow in whole tenths of mm3/s; None below one: to slicers 0 means no limit."""
    flow = float(_FLOW.from_si(cap))
    return round(flow, 1) if flow > 0.05 else None
