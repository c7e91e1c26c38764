"""The main job: configs in, a report out. It renders nothing."""

from __future__ import annotations

import dataclasses
import os
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import partial
from typing import TYPE_CHECKING, TypeVar

from advisor.answers.asks import Asks, OneOrMore
from advisor.answers.checked import CheckedConfig, CheckedExtruder, Family
from advisor.answers.fitting import fitted
from advisor.answers.narrow import next_step
from advisor.answers.noticed import (
    bearing,
    conflicts,
    later_settings,
    of_profiles,
    unknown_extruders,
)
from advisor.answers.session import (
    InputFiles,
    command_facts,
    read_config_tree,
    read_given,
    stated_flow,
)
from advisor.answers.which_configs import copies_in, expand
from advisor.base import (
    MACHINES,
    Event,
    ExtruderReport,
    Fact,
    Figure,
    Figures,
    FileStatus,
    Finding,
    InputError,
    MeasureGroup,
    OnDemand,
    OriginKind,
    Report,
    Span,
    UsageError,
    frozen,
)
from advisor.catalog import Catalog, load_catalog
from advisor.config import Tree
from advisor.inputs import (
    ConfigFacts,
    ExtruderFacts,
    Macros,
    MacroSetting,
    Sheet,
    SheetPart,
    flow_asked,
    load_dialect,
    read_asked,
    read_config,
    read_macros,
)
from advisor.judge import (
    Judgement,
    evaluate_rules,
    joined,
    load_rulebook,
    sift,
    told_once,
    within_budget,
)
from advisor.machine import (
    FEWEST,
    MOST,
    Ensemble,
    ExtruderInputs,
    FactBook,
    Machine,
    Memory,
    cases_of,
    lever_gains,
    load_measures,
    macro_facts,
    measure_groups,
    merge_stated,
    plausible,
    profile_facts,
    set_facts,
    with_solved,
)
from advisor.mend import Snapshot

if TYPE_CHECKING:
    pass

__all__ = ["check", "check_config", "check_each", "fixes_fitted", "within_run"]


def check(paths: OneOrMore, asks: Asks) -> Report:
    """Return the report on one or more configs.

    Parameters
    ----------
    paths : str, path or sequence of them
        Config files, folders of configs, ``-``.
    asks : Asks
        Sheet, profiles and what else the command line states.

    Raises
    ------
    UsageError
        For a command line that cannot be.
    InputError
        For what cannot be read, where `asks` is strict; else it is in the report.
    """
    reports = [checked.report for checked in check_each(paths, asks)]
    whole = reports[0] if len(reports) == 1 else joined(reports)
    return dataclasses.replace(whole, copies=copies_in(paths))


def check_each(paths: OneOrMore, asks: Asks) -> list[CheckedConfig]:
    """Return each of the configs worked out, the fixes of its report fitting each other.

    Takes what `check` takes, and raises what it raises.
    """
    memory = Memory()

    def made(path: str) -> CheckedConfig:
        return fixes_fitted(check_config(path, asks, family=Family(memory)))

    checked, left = within_run(expand(paths), made, lambda one: len(one.machines))
    return [*checked, *(CheckedConfig(Report(errors=(words,))) for words in left)]


_T = TypeVar("_T")
_TOO_MANY = (
    f"{{left}} more configs, from '{{first}}' on, were not looked at: one run takes {MACHINES} "
    "extruders; name the others in a run of their own"
)


def within_run(
    roots: Sequence[str], make: Callable[[str], _T], extruders: Callable[[_T], int]
) -> tuple[list[_T], tuple[str, ...]]:
    """Return what is made of configs, as many as one run takes, and what is said of the others.

    Parameters
    ----------
    roots : sequence of str
        The configs.
    make : callable
        Works one out.
    extruders : callable
        Tells how many extruders there were in it; one without any counts as one.
    """
    made: list[_T] = []
    taken = 0
    for number, root in enumerate(roots):
        if taken >= MACHINES:
            return made, (_TOO_MANY.format(left=len(roots) - number, first=root),)
        made.append(make(root))
        taken += max(1, extruders(made[-1]))
    return made, ()


def fixes_fitted(checked: CheckedConfig) -> CheckedConfig:
    """Return a config as it is told: the fixes of its findings fitting each other."""
    findings = fitted(checked.report.findings, checked.machines, load_rulebook())
    report = dataclasses.replace(checked.report, findings=findings)
    return dataclasses.replace(checked, report=report)


def check_config(
    path: str | os.PathLike[str],
    asks: Asks,
    *,
    files: Snapshot | None = None,
    family: Family | None = None,
) -> CheckedConfig:
    """Return one config worked out.

    Parameters
    ----------
    path : str or path
        A config file, or ``-``.
    asks : Asks
        Sheet, profiles and what else the command line states.
    files : Snapshot, optional
        Where files are read from, with edits laid over them; the disk where not given.
    family : Family, optional
        What was worked out of this config before, with other edits; what is common is shared.
    """
    path = os.fspath(path)
    catalog = load_catalog()
    draw = _Draw(_ensemble(asks), family or Family())
    command = command_facts(asks, catalog)
    try:
        tree = read_config_tree(path, asks, files)
    except InputError as err:
        if asks.strict:
            raise
        status = FileStatus(asks.stdin_name if path == "-" else path, _status(path))
        return CheckedConfig(Report(files=(status,), errors=(str(err),)))
    config = read_config(tree, load_dialect(), catalog=catalog)
    given = read_given(path, asks, catalog, files, nozzle=_nozzle(config))
    _hold_strict(asks, given)
    read = _ReadConfig(asks, tree, config, given, read_macros(tree), catalog, draw)
    taken = {
        name: _with_limits(one, draw.family) for name, one in _worked_out(read, command).items()
    }
    return CheckedConfig(_report(read, taken), tree, given.profiles, taken)


def _hold_strict(asks: Asks, given: InputFiles) -> None:
    """Raise the first thing that could not be read, where that is not told in the answer."""
    if asks.strict and given.errors:
        raise given.errors[0]


def _set_later(read: _ReadConfig, extruder: ExtruderFacts, *, alone: bool) -> Mapping[str, Fact]:
    """Return what macros and start code set for one extruder."""
    fact = extruder.facts.get("drive.rotation_distance")
    distance = None if fact is None else fact.nominal
    return set_facts(read.later, extruder.name, alone=alone, rotation_distance=distance)


def _worked_out(read: _ReadConfig, command: Mapping[str, Fact]) -> dict[str, CheckedExtruder]:
    """Return each extruder worked out; a print asks the first one, by what it made of itself."""
    asks, config, given = read.asks, read.config, read.given
    stated = {**command, **macro_facts(read.macros)}
    alone = len(config.extruders) == 1
    own = {one.name: {**stated, **_set_later(read, one, alone=alone)} for one in config.extruders}
    taken = {
        one.name: _asked(asks, one, config, given, own[one.name], read.catalog, read.draw)
        for one in config.extruders
    }  # fmt: skip
    if asks.sliced is not None and taken:
        from advisor.answers.print_run import sliced_facts

        first = config.extruders[0]
        asked = sliced_facts(asks.sliced, taken[first.name].machine.book, given)
        _hold_strict(asks, given)
        stated = {**own[first.name], **asked}
        taken[first.name] = _taken(first, config, given, stated, read.catalog, read.draw)
    return taken


def _report(read: _ReadConfig, taken: Mapping[str, CheckedExtruder]) -> Report:
    """Return what is told of a config: its extruders, and the findings that are not allowed."""
    given, catalog = read.given, read.catalog
    books = {name: one.machine.book for name, one in taken.items()}
    events = [event for one in taken.values() for event in one.events]
    events += _no_extruder(read.tree, read.config)
    found = _findings(read.config, given, books, catalog, events)
    told = Judgement(found, ())
    if read.asks.allow:
        told = sift(found, read.tree, given.sheet, load_rulebook())
    root, family = read.tree.root.path, read.draw.family
    return Report(
        files=(*read.tree.files, *given.files),
        extruders=OnDemand(
            partial(_extruder, one, catalog, root, family, read.asks, given, several=len(taken) > 1)
            for one in taken.values()
        ),
        findings=told.told,
        allowed=told.allowed,
        errors=tuple(line for err in given.errors for line in str(err).splitlines()),
        draws=read.asks.draws,
        unread_moves=read.macros.skipped,
        later=later_settings(read.later, read.config, catalog),
    )


@frozen
class _Draw:
    """Over what machines are worked out, and what was worked out of them before."""

    ensemble: Ensemble
    family: Family


@frozen(eq=False)
class _ReadConfig:
    """A config as it was read, with what was given beside it and what it is worked out over."""

    asks: Asks
    tree: Tree
    config: ConfigFacts
    given: InputFiles
    macros: Macros
    catalog: Catalog
    draw: _Draw

    @property
    def later(self) -> tuple[MacroSetting, ...]:
        """What macros, and the start code of the profiles, set when they run."""
        profiles = self.given.profiles
        return (*self.macros.settings, *(profiles.set_later if profiles else ()))


def _ensemble(asks: Asks) -> Ensemble:
    if asks.draws is None:
        return plausible()
    if not FEWEST <= asks.draws <= MOST:
        problem = f"{asks.draws} likely machines cannot be drawn"
        raise UsageError(problem, f"draw {FEWEST} to {MOST}")
    return plausible(asks.draws)


def _status(path: str) -> str:
    return "unreadable" if path == "-" or os.path.exists(path) else "missing"


def _no_extruder(tree: Tree, config: ConfigFacts) -> Iterator[Event]:
    """Yield an event where a config has no extruder, and none can stand in a missing include."""
    if tree.incomplete:
        return
    if not config.extruders and all(event.kind not in _NO_CONFIG for event in config.events):
        fields = {"count": str(len(tree.section_names))}
        yield Event("no-extruder", Span(tree.root.path, 1), fields)


_NO_CONFIG = frozenset({"binary-file", "utf-16-file", "no-section"})


def _nozzle(config: ConfigFacts) -> float | None:
    """Return the nozzle diameter of the first extruder, [m]; None where it is not stated."""
    facts = config.extruders[0].facts if config.extruders else {}
    fact = facts.get("nozzle.diameter")
    return fact.nominal if fact is not None else None


def _sheet_part(sheet: Sheet | None, extruder: str) -> SheetPart:
    return sheet.part(extruder) if sheet is not None else SheetPart()


def _asked(
    asks: Asks,
    extruder: ExtruderFacts,
    config: ConfigFacts,
    given: InputFiles,
    command: Mapping[str, Fact],
    catalog: Catalog,
    draw: _Draw,
) -> CheckedExtruder:
    """Return one extruder worked out, what is asked turned into a flow by its own filament."""
    taken = _taken(extruder, config, given, command, catalog, draw)
    asked = None if asks.asked is None else read_asked(asks.asked)
    if asked is None or not asked.needs_filament:
        return taken
    book = taken.machine.book
    area, density = book.nominal("filament.area"), book.nominal("material.density")
    try:
        flow = flow_asked(asked, area=area, density=density)
    except InputError as err:
        raise UsageError(err.problem, err.remedy) from None
    command = {**command, "demand.stated_flow": stated_flow(flow)}
    return _taken(extruder, config, given, command, catalog, draw)


def _taken(
    extruder: ExtruderFacts,
    config: ConfigFacts,
    given: InputFiles,
    command: Mapping[str, Fact],
    catalog: Catalog,
    draw: _Draw,
) -> CheckedExtruder:
    """Return one extruder worked out; kinematics are the config's, whatever else says."""
    part = _sheet_part(given.sheet, extruder.name)
    profile = profile_facts(given.profiles, catalog, {**part.facts, **command})
    kinematics = {
        name: fact for name, fact in extruder.facts.items() if name in _KINEMATICS and fact.known
    }
    layers = (kinematics, command, part.facts, profile, extruder.facts, config.machine)
    inputs = ExtruderInputs(
        name=extruder.name,
        stated=_with_named(merge_stated(*layers), part.facts),
        defaults={**config.machine_defaults, **extruder.defaults},
        incomplete=config.incomplete,
        measured=part.measured,
    )
    tested = given.weighed or given.skips or given.kept or given.left_out
    if not (tested or inputs.skips):
        return CheckedExtruder(draw.family.machine(inputs, catalog, draw.ensemble))
    from advisor.answers.weighed import take_in

    names = [one.name for one in config.extruders]
    return take_in(inputs, given, catalog, draw.ensemble, extruders=names)


def _with_named(stated: Mapping[str, Fact], sheet: Mapping[str, Fact]) -> Mapping[str, Fact]:
    """Return what is stated, and a material that the command line names without its temperature.

    Not where the sheet is for that material: its temperature is meant for it.
    """
    material, heat = stated.get("filament.material"), stated.get("hotend.temperature")
    if material is None or heat is None or not (material.known and heat.known):
        return stated
    own = sheet.get("filament.material")
    if own is not None and own is not material and own.text == material.text:
        return stated
    kinds = [one.origin.kind is OriginKind.COMMAND for one in (material, heat)]
    if kinds != [True, False]:
        return stated
    named = dataclasses.replace(material, name="filament.named_material")
    return {**stated, named.name: named}


def _with_limits(taken: CheckedExtruder, family: Family) -> CheckedExtruder:
    """Return it with what too large settings may be at most.

    Not where a test contradicts what is stated: the machine is another one then.
    """
    if taken.contradicted:
        return taken
    machine = family.completed(taken.machine, with_solved)
    return dataclasses.replace(taken, machine=machine)


_KINEMATICS = frozenset(
    {"drive.gear_ratio", "drive.rotation_distance", "drive.step_distance", "filament.diameter"}
)


def _extruder(
    taken: CheckedExtruder,
    catalog: Catalog,
    root: str,
    family: Family,
    asks: Asks,
    given: InputFiles,
    *,
    several: bool,
) -> ExtruderReport:
    report = family.report(taken.machine, lambda: _told(taken, catalog, root))
    shown = "-" if asks.stdin is not None else root
    named = ("--extruder", taken.machine.inputs.name) if several else ()
    step = next_step("lint", shown, taken.machine, report.cases, asks, given.files,
                     contradicted=named if taken.events else None)  # fmt: skip
    called = given.sheet.name if given.sheet is not None else None
    return dataclasses.replace(report, next=step, called=called)


def _told(taken: CheckedExtruder, catalog: Catalog, root: str) -> ExtruderReport:
    machine = taken.machine
    lowest, level = taken.bottleneck
    return ExtruderReport(
        name=machine.inputs.name,
        facts=_figures(machine, catalog),
        limits=machine.limits(),
        bottleneck=lowest,
        level_with=level,
        gains=() if taken.contradicted else lever_gains(machine),
        cases=cases_of(machine),
        measure_next=machine.told("open", _open),
        config=root,
        weighed=taken.note,
    )


def _open(machine: Machine) -> tuple[MeasureGroup, ...]:
    infos, memory = machine.catalog.facts, machine.book.memory
    return measure_groups(machine.facts, infos, load_measures(), memory=memory)


def _figures(machine: Machine, catalog: Catalog) -> Figures:
    infos = catalog.facts
    return Figures(
        Figure(fact, infos[name].title, infos[name].unit) for name, fact in machine.facts.items()
    )


def _findings(
    config: ConfigFacts,
    given: InputFiles,
    books: Mapping[str, FactBook],
    catalog: Catalog,
    weighed: Iterable[Event],
) -> tuple[Finding, ...]:
    events = [*bearing(config, books), *unknown_extruders(given.sheet, config), *weighed]
    if given.profiles is not None:
        events += of_profiles(given.profiles, books)
    for extruder in config.extruders:
        part = _sheet_part(given.sheet, extruder.name)
        events += conflicts(extruder, part, books[extruder.name])
    by_extruder = {name: book.facts for name, book in books.items()}
    machine = _machine(config, books, catalog)
    found = evaluate_rules(load_rulebook(), by_extruder, machine, within_budget(events))
    return told_once(found, config.extruders)


def _machine(
    config: ConfigFacts, books: Mapping[str, FactBook], catalog: Catalog
) -> Mapping[str, Fact]:
    """Return the facts that belong to no extruder: those of the first book, else the config's."""
    facts = next((book.facts for book in books.values()), None) or config.machine
    return {
        name: fact
        for name, fact in facts.items()
        if name in catalog.facts and catalog.facts[name].scope == "machine"
    }
