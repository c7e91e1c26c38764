"""Answers `skip-test plan`: a skip test for a config's own motor, or why there is none."""

from __future__ import annotations

from collections.abc import Iterator

from advisor.answers.asks import Asks
from advisor.answers.checked import CheckedConfig
from advisor.answers.derate_motor import stop_reading
from advisor.answers.flow_limit import chosen_extruder
from advisor.answers.lint import check_config
from advisor.answers.session import need_sheet
from advisor.answers.weigh_plan import built_in, conditions_of, spoken, too_hot, unnameable
from advisor.catalog import load_catalog
from advisor.inputs import load_dialect, read_config
from advisor.machine import FactBook, Machine, chain_motor, driver_of
from advisor.weigh import (
    SkipFirmware,
    SkipPlan,
    SkipPlanAnswer,
    SkipSetup,
    make_skip_plan,
    skip_numbers,
    skip_words,
    write_skip_gcode,
    write_skip_table,
)

__all__ = ["plan_skip_test"]

_NEEDED = (
    "filament.area",
    "hotend.temperature",
    "hotend.melt_length",
    "motor.run_current",
    "motor.torque_constant",
    "motor.detent_torque",
    "motion.max_extrude_only_velocity",
    "motion.max_extrude_only_distance",
)
_WEAK_ROTOR = "full steps there come at the rotor's own rate"


def plan_skip_test(config: str, asks: Asks, *, extruder: str | None = None) -> SkipPlanAnswer:
    """Return a skip test for an extruder, with its G-code and its table.

    Parameters
    ----------
    config : str
        A config, or ``-``.
    asks : Asks
        The sheet and what else the command line states.
    extruder : str, optional
        The extruder's section name; the first one where not given.

    Raises
    ------
    UsageError
        For an extruder the config does not have.
    SheetError
        If the sheet cannot be used.
    """
    checked = check_config(config, asks)
    need_sheet(checked.report.files)
    name = chosen_extruder(checked, extruder)
    files, errors = checked.report.files, checked.report.errors
    if name is None:
        lacking = () if errors else ("The config has no extruder section.",)
        return SkipPlanAnswer(None, None, {}, refused=lacking, files=files, errors=errors)
    machine = checked.machines[name].plain()
    conditions = conditions_of(machine.book)
    refused = tuple(_refusals(checked, name, machine))
    plan = None if refused or errors else _plan(machine)
    if plan is None:
        refused = refused or (() if errors else (_TOO_COARSE,))
        instead = tuple(_instead(machine.book, config)) if refused else ()
        return SkipPlanAnswer(
            name, None, conditions, refused=refused, instead=instead, files=files, errors=errors
        )
    return _planned(checked, name, machine, plan)


_TOO_COARSE = (
    "The driver has too few current steps between the detent and the set current at which the "
    "first click would lie where you print; a skip test would tell nothing here."
)


def _plan(machine: Machine) -> SkipPlan | None:
    book = machine.book
    driver = driver_of(book, machine.catalog)
    assert driver is not None  # the refusals have it
    run = book.nominal("motor.run_current") or 0.0
    hold = book.nominal("motor.hold_current")
    return make_skip_plan(
        SkipSetup(
            book=book,
            driver=driver,
            set_current=run,
            hold=run if hold is None else min(hold, run),
            largest_speed=book.nominal("motion.max_extrude_only_velocity") or 0.0,
            bottleneck=machine.bottleneck()[0],
        )
    )


def _planned(checked: CheckedConfig, name: str, machine: Machine, plan: SkipPlan) -> SkipPlanAnswer:
    """Return the plan, its G-code and its table, with what is to be said of them."""
    book, conditions = machine.book, conditions_of(machine.book)
    stops = tuple(_stops(checked, name))
    several = len(checked.books) > 1
    firmware = SkipFirmware(
        stepper=name,
        area=book.nominal("filament.area") or 0.0,
        largest_move=0.999 * (book.nominal("motion.max_extrude_only_distance") or 0.0),
        select=name if several else None,
        first=next(iter(checked.books)) if several else None,
    )
    title = f"skip test, {name}, {conditions['material']} at {conditions['temperature']}"
    table = {**conditions, **built_in(machine)}
    return SkipPlanAnswer(
        extruder=name,
        plan=plan,
        conditions=conditions,
        gcode=write_skip_gcode(plan, spoken(conditions, load_catalog()), firmware, stops),
        table=write_skip_table(plan, table, title),
        cautions=skip_words().cautions,
        stops=stops,
        remarks=tuple(_remarks(plan)),
        files=checked.report.files,
    )


def _stops(checked: CheckedConfig, name: str) -> Iterator[str]:
    words, book = skip_words().stops, checked.books[name]
    book.derive_all(chain_motor.WARMING)
    case = stop_reading(book)
    yield words["click"]
    yield words["ground"]
    yield words["dust"]
    yield words["touch"] if case is None else words["case"].format(case=f"{case:.0f}")


def _refusals(checked: CheckedConfig, name: str, machine: Machine) -> Iterator[str]:
    """Yield why no test is planned."""
    book, facts = machine.book, load_catalog().facts
    driver = driver_of(book, machine.catalog)
    if driver is None:
        yield (
            f"The config has no driver section for [{name}] whose current can be set while the "
            "machine runs (or its sense resistor is not known)."
        )
    lacking = [facts[one].title for one in _NEEDED if not book.known(one)]
    if lacking:
        yield f"Not known: {', '.join(lacking)}; complete config and sheet first."
        return
    yield from too_hot(book)
    yield from _second_stepper(checked, name)
    yield from unnameable(checked, name)
    if driver is not None:
        yield from _silent(book)


def _silent(book: FactBook) -> Iterator[str]:
    """Yield that the silent mode works at the test's speed: its floor is above what is set."""
    threshold = book.nominal("driver.silent_threshold") or 0.0
    area, capacity = book.nominal("filament.area"), book.nominal("flow.capacity")
    if not threshold or not area or not capacity:
        return
    slowest = 0.5 * skip_numbers("plan")["least_share"] * capacity / area
    if threshold > slowest:
        yield (
            f"Silent mode is on up to {threshold * 1e3:.0f} mm/s, the test begins at "
            f"{slowest * 1e3:.1f} mm/s: the silent mode cannot regulate small currents, so more "
            "would flow than is set. Turn it off for the extruder first."
        )


def _second_stepper(checked: CheckedConfig, name: str) -> Iterator[str]:
    """Yield that another stepper pushes the same filament: its current is not lowered."""
    if checked.tree is None:
        return
    config = read_config(checked.tree, load_dialect(), catalog=load_catalog())
    section = next((one.section for one in config.extruders if one.name == name), name)
    for one in config.extruders:
        if one.partner is not None and one.name != name and one.partner in (name, section):
            yield (
                f"[{one.section}] is synced to [{name}] and pushes too: with one current lowered "
                "the click says nothing of the push."
            )
        elif one.name == name and one.partner is not None:
            yield f"[{one.section}] is synced to [{one.partner}], which pushes too."


def _instead(book: FactBook, config: str) -> Iterator[str]:
    """Yield what can be done where no skip test can be run."""
    skip = book.nominal("flow.skip")
    rise = skip_numbers("plan")["click_ramp"]
    where = "" if skip is None else f" (about {skip * 1e9:.1f} mm3/s for a machine like this one)"
    yield (
        f"the click ramp at the current as it is, once it is safe: feed 50 mm at a slow flow, then "
        f"each time {100 * rise:.0f} % faster, to the first click{where}; the session page has it "
        f"as the step ramp: feedwright session {config}"
    )
    yield "a weighed test tells more, with a scale: feedwright weigh plan"


def _remarks(plan: SkipPlan) -> Iterator[str]:
    near = [level for level in plan.levels if level.near_rotor]
    if near:
        currents = ", ".join(f"{level.current:.2f}" for level in near)
        yield (
            f"at {currents} A RMS {_WEAK_ROTOR}: a click may come too early there, so these runs "
            "count for less; another temperature moves them"
        )
    if len(plan.levels) < skip_numbers("plan")["points"]:
        yield f"only {len(plan.levels)} steps of the driver can be used here"
