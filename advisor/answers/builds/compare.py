"""Answers `compare`: machines side by side, and the smallest change that reaches a target.

The machines are taken from a config and its sheets; the first is the machine as it is.
"""

from __future__ import annotations

import dataclasses
import math
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence

from advisor.answers.asks import Asks
from advisor.answers.build_records import CompareReport, Variant
from advisor.answers.builds.figures import FIGURES, variant
from advisor.answers.builds.machine import Build, changed_each, restated
from advisor.answers.builds.target import reach
from advisor.answers.builds.vary import Variation, combinations, read_variation
from advisor.answers.flow_limit import NO_EXTRUDER, chosen_extruder
from advisor.answers.lint import check_config
from advisor.answers.session import need_sheet, read_given, sheet_beside
from advisor.base import (
    Band,
    Fact,
    FileStatus,
    InputError,
    OriginKind,
    Report,
    UsageError,
    Weighed,
    near_miss,
    parse_unit,
)
from advisor.catalog import Catalog, load_catalog
from advisor.data import parse_quantity, within
from advisor.files import real_path
from advisor.machine import FactBook, Machine, band_of, merge_stated

__all__ = ["SORTS", "SheetOutcome", "compare", "take_all"]

AS_IT_IS = "as it is"
_RATIO_OFF = 1e-3  # ratios this near are written in other digits
_GEAR_OFF = 0.15  # a gear this far off the rotation distance stands for another gear
_MOST_TARGET = 400e-9  # m3/s
_SURE = (0.5, 0.99)  # nobody wants less; of more, the likely machines are too few to tell


@dataclasses.dataclass(slots=True)
class SheetOutcome:
    """What came of a config with one sheet."""

    build: Build | None = None
    extruder: str | None = None
    called: str | None = None  # what the sheet that was named calls the machine
    weighed: Weighed | None = None
    files: tuple[FileStatus, ...] = ()
    errors: tuple[str, ...] = ()
    lacking: tuple[str, ...] = ()


def take_all(
    config: str, asks: Asks, sheets: Iterable[str | None], extruder: str | None, catalog: Catalog
) -> list[SheetOutcome]:
    """Return what came of the config with each sheet.

    Parameters
    ----------
    config : str
        The config, or ``-``.
    asks : Asks
        What the command line states for all; weighed tests were done on the first machine.
    sheets : iterable of str or None
        The sheets; None: the one beside the config.
    extruder : str, optional
        The extruder's section name; the first one where not given.
    catalog : Catalog
        What is assumed for the rest.
    """
    found: list[SheetOutcome] = []
    for sheet in dict.fromkeys(sheets):
        first = found[0].build if found else None
        if found and first is None:
            break
        found.append(
            _taken(config, dataclasses.replace(asks, sheet=sheet), extruder, first, catalog)
        )
    return found


def _taken(
    config: str, asks: Asks, extruder: str | None, first: Build | None, catalog: Catalog
) -> SheetOutcome:
    sheet = asks.sheet
    if first is not None:
        asks = dataclasses.replace(asks, weighed=(), use_tests=False)
    checked = check_config(config, asks)
    need_sheet(checked.report.files)
    taken = SheetOutcome(files=checked.report.files, errors=checked.report.errors)
    if taken.errors:
        return taken
    name = chosen_extruder(checked, extruder)
    if name is None:
        taken.lacking = (NO_EXTRUDER,)
        return taken
    taken.extruder = name
    shown = AS_IT_IS if sheet is None else sheet
    taken.called = None if sheet is None else _sheet_name(checked.report, name)
    machine = checked.machines[name]
    if first is None:
        taken.weighed = checked.weighed(name)
        machine = _as_stated(machine, taken.weighed)
        notes = tuple(_kept(config, asks, name, machine.book, catalog))
        taken.build = Build(shown, machine, notes)
        return taken
    machine = _on_the_same_filament(machine, first.machine).benched(first.machine.bench)
    taken.build = _with_its_gears(Build(shown, machine), config, asks, catalog)
    return taken


def _sheet_name(report: Report, extruder: str) -> str | None:
    return next((one.called for one in report.extruders if one.name == extruder), None)


def _as_stated(machine: Machine, weighed: Weighed | None) -> Machine:
    """Take a test that contradicts the machine back out of it.

    Its limit holds the tested build down but no other: beside it every change would look a gain.
    """
    if weighed is None or weighed.contradiction is None:
        return machine
    return machine.on(machine.ensemble)


def _on_the_same_filament(machine: Machine, first: Machine) -> Machine:
    """Take what weighed tests were done with over to a machine whose sheet names no other."""
    inputs = machine.inputs
    told = {n: f for n, f in first.inputs.stated.items() if f.origin.kind is OriginKind.MEASURED}
    material, tested = (facts.get("filament.material") for facts in (inputs.stated, told))
    other = material is not None and tested is not None and material.text != tested.text
    stated = inputs.stated if other else merge_stated(inputs.stated, told)
    return machine.stating(dataclasses.replace(inputs, stated=stated))


def _kept(
    config: str, asks: Asks, extruder: str, book: FactBook, catalog: Catalog
) -> Iterator[str]:
    """Say where the sheet of the machine as it is states other gears than the config."""
    for name, value in _own_gears(config, asks, extruder, book, catalog).items():
        kept = "gear ratio" if name == "drive.gear_ratio" else "rotation distance"
        sheet = f"{value:.4g}" if name == "drive.gear_ratio" else f"{value * 1e3:.4g} mm"
        yield f"the {kept} is the config's; the sheet's would be {sheet}"


def _with_its_gears(build: Build, config: str, asks: Asks, catalog: Catalog) -> Build:
    """Take the kinematics of hardware the config does not describe from its sheet.

    The config's gear ratio and rotation distance are those of what is built in, the first
    machine; a sheet of another drive states its own ratio, and its gear's size.
    """
    made = _own_gears(config, asks, build.machine.inputs.name, build.book, catalog)
    if not made:
        return build
    notes = []
    if "drive.gear_ratio" in made:
        built = build.book.nominal("drive.gear_ratio")
        stated = made["drive.gear_ratio"]
        notes.append(f"gear ratio {stated:.4g} as the sheet says, not the config's {built:.4g}")
    if "drive.rotation_distance" in made:
        around = made["drive.rotation_distance"] * 1e3
        notes.append(f"rotation distance {around:.4g} mm for the sheet's gear")
    return Build(build.name, restated(build.machine, made), tuple(notes))


def _own_gears(
    config: str, asks: Asks, extruder: str, book: FactBook, catalog: Catalog
) -> dict[str, float]:
    """Return the kinematics by which a sheet departs from the config, in SI units."""
    sheet = read_given(config, asks, catalog).sheet
    facts = sheet.part(extruder).facts if sheet is not None else {}
    made: dict[str, float] = {}
    ratio, built = facts.get("drive.gear_ratio"), book.nominal("drive.gear_ratio")
    if ratio is not None and built:
        stated = _typical_value(ratio)
        if abs(stated / built - 1.0) > _RATIO_OFF:
            made["drive.gear_ratio"] = stated
    diameter = facts.get("drive.gear_diameter")
    distance = book.nominal("drive.rotation_distance")
    if diameter is not None and distance:
        around = math.pi * _typical_value(diameter)
        if abs(around / distance - 1.0) > _GEAR_OFF:
            made["drive.rotation_distance"] = around
    return made


def _typical_value(fact: Fact) -> float:
    value = fact.nominal
    assert value is not None, fact.name
    return value


def _typical(pick: Callable[[Variant], Band | None]) -> Callable[[Variant], float | None]:
    def value(row: Variant) -> float | None:
        found = pick(row)
        return None if found is None else found.value

    return value


SORTS: dict[str, tuple[Callable[[Variant], float | None], bool]] = {  # and whether most is best
    "capacity": (_typical(lambda row: row.capacity), True),
    "better": (lambda row: row.better_share, True),
    "skip": (_typical(lambda row: row.skip), True),
    "case": (_typical(lambda row: row.case_temperature), False),
    "mass": (_typical(lambda row: row.motor_mass), False),
    "resolution": (_typical(lambda row: row.microstep), False),
    "lag": (_typical(lambda row: row.lag), False),
    "retract": (_typical(lambda row: row.retract_torque), True),
}


def compare(
    config: str,
    asks: Asks,
    *,
    sheets: Sequence[str] = (),
    vary: Sequence[str] = (),
    target: str | None = None,
    sure: str | None = None,
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
        What else the command line states, the same for all; its sheet is not looked at. Weighed
        tests were done on the config with the first sheet.
    sheets : sequence of str
        Hardware sheets, a machine each; none: the sheet beside the config, which also comes first
        where one other is all there is to compare. The first is the machine as it is, whose
        kinematics are the config's.
    vary : sequence of str
        Variations, as `read_variation` takes them; every combination is a machine.
    target : str, optional
        A flow, with its unit, that the first machine is to reach by one change.
    sure : str, optional
        The share of machines like it that are to reach it, ``90%``; the typical one alone where
        not given.
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
    share = None if sure is None else _share(sure, flow)
    _check_sort(sort)
    changes = combinations(read_variation(text, catalog) for text in vary)
    if flow is None and not changes:
        sheets = _at_least_two(_with_the_one_beside(config, asks, sheets))
    taken = take_all(config, asks, sheets or (asks.sheet,), extruder, catalog)
    first = next((one.build for one in taken if one.build is not None), None)
    rows = list(_rows(taken, changes))
    shown = _sorted(rows, sort)[: limit or None]
    return CompareReport(
        extruder=next((one.extruder for one in taken if one.extruder), None),
        variants=tuple(shown),
        left_out=len(rows) - len(shown),
        varied=tuple(change.field.path for change in changes[0]) if changes else (),
        target=None if first is None or flow is None else reach(first.machine, flow, share),
        asked=band_of(first.book.facts.get("demand.asked_flow")) if first is not None else None,
        weighed=taken[0].weighed,
        lacking=tuple(dict.fromkeys(line for one in taken for line in one.lacking)),
        files=tuple(dict.fromkeys(file for one in taken for file in one.files)),
        errors=tuple(dict.fromkeys(line for one in taken for line in one.errors)),
        draws=asks.draws,
    )


def _at_least_two(sheets: Sequence[str]) -> Sequence[str]:
    if len(dict.fromkeys(sheets)) < 2:
        remedy = "give --sheet twice, or --vary name=a,b, or --target 30mm3/s"
        raise UsageError("nothing is compared", remedy)
    return sheets


def _with_the_one_beside(config: str, asks: Asks, sheets: Sequence[str]) -> Sequence[str]:
    """Return the sheets; one alone is set against the one beside the config."""
    beside = sheet_beside(config, asks)
    if len(sheets) != 1 or beside is None or real_path(beside) == real_path(sheets[0]):
        return sheets
    return beside, sheets[0]


def _rows(
    taken: Iterable[SheetOutcome], changes: Sequence[tuple[Variation, ...]]
) -> Iterator[Variant]:
    """Yield each machine as it is, followed by what the variations make of it, by short names."""
    bases, shorts = _called(taken)
    number = 1
    for base, short in zip(bases, shorts, strict=True):
        first = bases[0] if number > 1 else None
        yield dataclasses.replace(variant(number, base, first), short=short)
        beside = len(bases) > 1
        made: dict[int, Variant] = {}
        for place, build in changed_each(base, changes, FIGURES):
            texts = [*([short] if beside else []), *(one.text for one in changes[place])]
            name = f"{base.name}, {build.name}" if beside else build.name
            row = variant(number + 1 + place, build, bases[0])
            made[place] = dataclasses.replace(row, name=name, short=", ".join(texts))
        yield from (made[place] for place in sorted(made))
        number += 1 + len(made)


def _called(taken: Iterable[SheetOutcome]) -> tuple[list[Build], list[str]]:
    """Return the machines by the names that their sheets give, and as they are shown in short.

    A machine without a name, or with one that another has too, is called by its file.
    """
    known = [(one.build, one.called) for one in taken if one.build is not None]
    times = Counter(called for _, called in known)
    files = _beside([build.name for build, _ in known])
    shorts = [
        called if called is not None and times[called] == 1 else file
        for (_, called), file in zip(known, files, strict=True)
    ]
    builds = [
        build if short == file else dataclasses.replace(build, name=short)
        for (build, _), short, file in zip(known, shorts, files, strict=True)
    ]
    return builds, shorts


def _beside(names: Sequence[str]) -> list[str]:
    """Return the names of files without the folders that all of them have in common."""
    folders = [name.replace("\\", "/").split("/")[:-1] for name in names]
    common = 0
    for level in zip(*folders, strict=False):
        if len(set(level)) > 1:
            break
        common += 1
    if len(names) < 2:
        return list(names)
    return ["/".join(name.replace("\\", "/").split("/")[common:]) for name in names]


def _target(text: str) -> float:
    try:
        flow = parse_quantity(text, parse_unit("mm3/s")).typical
    except InputError as err:
        raise UsageError(f"--target: {err.problem}", "write a flow, such as 30mm3/s") from None
    if flow <= 0.0 or not within(flow, 0.0, _MOST_TARGET):
        raise UsageError(f"--target {text} is out of range", "give 0.1 to 400 mm3/s")
    return flow


def _share(text: str, flow: float | None) -> float:
    if flow is None:
        raise UsageError("--sure is of a flow to reach", "give --target too, such as 30mm3/s")
    try:
        share = parse_quantity(text, parse_unit("%")).typical
    except InputError as err:
        raise UsageError(f"--sure: {err.problem}", "write a share, such as 90%") from None
    if not within(share, *_SURE):
        raise UsageError(f"--sure {text} is out of range", "give 50% to 99%")
    return share


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
