"""Answers `session`: the page at the machine for a speed-tuning session.

It joins what the other questions find; no figure of theirs is worked out again in another way.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Sequence
from typing import TypedDict

from advisor.answers.asks import Asks
from advisor.answers.checked import CheckedConfig
from advisor.answers.flow_limit import NO_EXTRUDER, MadeFor, chosen_extruder, flow_report, made_for
from advisor.answers.lint import check_config
from advisor.answers.machine_records import FlowReport
from advisor.answers.narrow import next_step, weigh_step
from advisor.answers.tuning.bench_data import session_cautions, usual_materials
from advisor.answers.tuning.caps import cap_rows
from advisor.answers.tuning.inside import AtFlow, advance_limits, retract_limits
from advisor.answers.tuning.lines import Lines, ceilings_of, lines_of, named_materials, values_in
from advisor.answers.tuning.steps import current_of, figures_of, steps_of
from advisor.answers.tuning_records import AdvanceLimits, SessionCurrent, SessionReport
from advisor.answers.weigh_plan import too_hot
from advisor.base import Band, Case, FileStatus, Level, Weighed, frozen
from advisor.catalog import load_catalog
from advisor.machine import Machine, band_of, stated_classes

__all__ = ["SessionTexts", "tuning_session"]

_MM3 = 1e9
_HEATS = (323.15, 773.15)  # K: what a nozzle temperature could be
_REFUSED = frozenset({"hotend.temperature", "motor.working_current", "motor.run_current"})


@frozen
class SessionTexts:
    """What the command line asks of the page, as typed; None or empty where not given."""

    widths: str | None = None
    heights: str | None = None
    materials: tuple[str, ...] = ()
    temperatures: str | None = None


def tuning_session(
    config: str, asks: Asks, texts: SessionTexts | None = None, *, extruder: str | None = None
) -> SessionReport:
    """Return the page for a session at the machine.

    Parameters
    ----------
    config : str
        A config, or ``-``.
    asks : Asks
        The profiles, the sheet, weighed tests and what else the command line states.
    texts : SessionTexts, optional
        Which lines, materials and temperatures are shown.
    extruder : str, optional
        The extruder's section name; the first one where not given.

    Raises
    ------
    UsageError
        For an extruder the config does not have, or a list that cannot be read.
    """
    texts, catalog = texts or SessionTexts(), load_catalog()
    materials = named_materials(texts.materials, catalog)
    heats = None
    if texts.temperatures is not None:
        heats = values_in("--temperatures", texts.temperatures, "degC", _HEATS)
    checked = check_config(config, asks)
    name = chosen_extruder(checked, extruder)
    if name is None:
        report = checked.report
        lacking = () if report.errors else (NO_EXTRUDER,)
        return SessionReport(extruder=None, lacking=lacking, files=report.files,
                             errors=report.errors)  # fmt: skip
    machine = checked.machines[name]
    lines = lines_of(machine.book, checked.profiles, widths=texts.widths, heights=texts.heights)
    page = _page(name, checked, lines)
    caps = cap_rows(machine, materials or usual_materials(), heats, catalog)
    plan = None if config == "-" else weigh_step(config, asks)
    step = (
        next_step("session", config, machine, page.cases, asks, page.files) if page.cases else None
    )
    return dataclasses.replace(page, config=config, caps=caps, plan=plan, next=step)


def _page(name: str, checked: CheckedConfig, lines: Lines) -> SessionReport:
    """Return what the page says of an extruder, whatever else was asked of it."""
    machine, told = checked.machines[name], flow_report(name, checked)
    places = tuple(_places(machine, told))
    advance = advance_limits(machine, lines, places)
    current = current_of(machine)
    line = None if advance is None else advance.line
    weighed = told.weighed is not None and told.weighed.agrees
    figures = figures_of(machine, current, cap=told.set_to, weighed=weighed, line=line)
    return SessionReport(
        extruder=name,
        flow_ratio=machine.book.nominal("profile.flow_ratio"),
        first=tuple(_first(checked, name, current)),
        ceilings=ceilings_of(lines, _as_cases(told)),
        advance=advance,
        no_advance=_no_advance(machine, advance, places),
        retracts=retract_limits(machine),
        current=current,
        steps=steps_of(figures),
        cautions=session_cautions(),
        **_of_machine(machine),
        **_of_flow(told),
    )


class _OfMachine(MadeFor):
    """What all figures of the page are for, and where steps and filament are lost."""

    skip: Band | None
    slip: Band | None


def _of_machine(machine: Machine) -> _OfMachine:
    book = machine.book
    return {
        **made_for(book),
        "skip": band_of(book.facts.get("flow.skip")),
        "slip": band_of(book.facts.get("flow.slip")),
    }


class _OfFlow(TypedDict):
    """What `flow` says, as it says it."""

    cap: float | None
    no_cap: str | None
    capacity: Band | None
    bottleneck: str | None
    cases: tuple[Case, ...]
    assumed: tuple[str, ...]
    lacking: tuple[str, ...]
    weighed: Weighed | None
    draws: int | None
    files: tuple[FileStatus, ...]
    errors: tuple[str, ...]


def _of_flow(told: FlowReport) -> _OfFlow:
    return {
        "cap": told.set_to,
        "no_cap": told.no_set_to,
        "capacity": told.capacity,
        "bottleneck": told.bottleneck,
        "cases": told.cases if _hangs(told) else (),
        "assumed": told.assumed,
        "lacking": told.lacking,
        "weighed": told.weighed,
        "draws": told.draws,
        "files": told.files,
        "errors": told.errors,
    }


def _hangs(told: FlowReport) -> bool:
    """Whether there is a cap in each case and none for all."""
    return told.set_to is None and bool(told.cases)


def _as_cases(told: FlowReport) -> Sequence[Case]:
    """Return the cases, or the machine as the one case there is."""
    if _hangs(told):
        return told.cases
    if told.capacity is None:
        return ()
    return (Case("", "", told.capacity, told.set_to),)


def _places(machine: Machine, told: FlowReport) -> Iterator[AtFlow]:
    """Yield the machine at the cap, or with each class of hotend at the cap of that class."""
    if not _hangs(told):
        if told.set_to is not None:
            yield AtFlow(None, machine, told.set_to / _MM3)
        return
    for case in told.cases:
        if case.set_to is not None:
            made = machine.with_({**stated_classes(machine.book), case.field: case.name})
            yield AtFlow(case.name, made, case.set_to / _MM3)


def _first(checked: CheckedConfig, name: str, current: SessionCurrent) -> Iterator[str]:
    """Yield what has to be changed before anything is fed: what would be refused, and errors."""
    for file in checked.report.files:
        if file.role == "sheet" and file.status != "read":
            yield f"{file.path} was not used; currents and flows here are without it: mend it."
    refused = tuple(too_hot(checked.books[name]))
    yield from refused
    if current.too_high and current.silent_gives is not None:
        yield (
            f"Turn the driver's silent mode off too: in it {current.silent_gives:.2f} A RMS flow, "
            "whatever is set below (see 'feedwright lint')."
        )
    for finding in checked.report.findings:
        ours = finding.extruder in (None, name) and finding.stage != "slicer"
        said = bool(refused) and bool(_REFUSED & set(finding.facts))
        if ours and finding.level is Level.ERROR and not said:
            yield f"{finding.message} (feedwright explain {finding.rule})"


def _no_advance(
    machine: Machine, advance: AdvanceLimits | None, places: Sequence[AtFlow]
) -> str | None:
    if advance is not None:
        return None
    if not machine.book.nominal("motion.pressure_advance"):
        return "none is set; the advance step of the session measures it"
    return "not known at this flow" if places else "not known without a cap"
