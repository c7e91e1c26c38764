"""Answers `weigh plan`: a weighed flow test for a config's own limits, or why there is none."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from advisor.answers.asks import Asks
from advisor.answers.checked import CheckedConfig
from advisor.answers.derate_motor import stop_reading
from advisor.answers.flow_limit import chosen_extruder
from advisor.answers.lint import check_config
from advisor.answers.session import need_sheet
from advisor.base import InputError, OriginKind, UsageError, parse_unit
from advisor.catalog import Catalog, load_catalog
from advisor.data import parse_quantity, within
from advisor.machine import FactBook, Machine, chain_motor, exceeded
from advisor.weigh import (
    Bench,
    Plan,
    PlanReport,
    Wishes,
    first_loss,
    harmless,
    load_words,
    make_plan,
    one_by_one,
    ramp_share,
    weigh_numbers,
    write_gcode,
    write_table,
)

__all__ = [
    "WishTexts",
    "built_in",
    "conditions_of",
    "plan_test",
    "read_wish",
    "refusals",
    "selection",
    "spoken",
    "stops_of",
    "too_hot",
    "unnameable",
    "weighing_bench",
]  # fmt: skip

_NEEDED = (
    "filament.area",
    "material.density",
    "hotend.temperature",
    "motion.max_extrude_only_velocity",
    "motion.max_extrude_only_accel",
    "motion.max_extrude_only_distance",
)
_NOT_ASKED = ("material", "temperature", "nozzle", "diameter")  # there already; of the spool
_SAME_TEMPERATURE = 0.01  # K
_TOLD_RAMP = 0.01  # share of a step that starting and stopping may take untold


@dataclass(frozen=True, slots=True)
class WishTexts:
    """What the command line asks of the plan, as typed; None where not given."""

    lowest: str | None = None
    highest: str | None = None
    steps: int | None = None
    scale: str | None = None
    uncertainty: str | None = None
    lift: str | None = None
    one_by_one: bool = False  # the first two pieces alone; `weigh next` chooses the others


def plan_test(
    config: str, asks: Asks, texts: WishTexts | None = None, *, extruder: str | None = None
) -> PlanReport:
    """Return a weighed test for an extruder, with its G-code and its table.

    Parameters
    ----------
    config : str
        A config, or ``-``.
    asks : Asks
        The sheet and what else the command line states.
    texts : WishTexts, optional
        Range, number of steps, scale.
    extruder : str, optional
        The extruder's section name; the first one where not given.

    Raises
    ------
    UsageError
        For an extruder the config does not have, or wishes that cannot be.
    SheetError
        If the sheet cannot be used.
    """
    texts = texts or WishTexts()
    wishes = _wishes(texts)
    checked = check_config(config, asks)
    need_sheet(checked.report.files)
    name = chosen_extruder(checked, extruder)
    files, errors = checked.report.files, checked.report.errors
    if name is None:
        lacking = () if errors else ("The config has no extruder section.",)
        return PlanReport(None, None, {}, refused=lacking, files=files, errors=errors)
    book, catalog = checked.books[name], load_catalog()
    conditions = conditions_of(book)
    refused = (*refusals(book, catalog), *selection(checked, name))
    if refused or errors:
        return PlanReport(name, None, conditions, refused=refused, files=files, errors=errors)
    made = _planned(name, wishes, checked, asks, conditions, alone=texts.one_by_one)
    return replace(made, files=files)


def _planned(
    name: str, wishes: Wishes, checked: CheckedConfig, asks: Asks, conditions: Mapping[str, str],
    *, alone: bool,
) -> PlanReport:  # fmt: skip
    """Return the plan, its G-code and its table, with what is to be said of them."""
    book = checked.books[name]
    bench = weighing_bench(book)
    whole = make_plan(bench, wishes)
    plan = one_by_one(whole, bench, wishes) if alone else whole
    stops = tuple(stops_of(plan, book, light=not alone))
    told = spoken(conditions, load_catalog())
    select, first = name if len(checked.books) > 1 else None, next(iter(checked.books))
    title = f"{name}, {conditions['material']} at {conditions['temperature']}"
    return PlanReport(
        extruder=name,
        plan=plan,
        conditions=conditions,
        gcode=write_gcode(plan, told, stops=stops, select=select, first=first),
        table=write_table(plan, {**conditions, **built_in(checked.machines[name])}, title),
        cautions=load_words().cautions,
        stops=stops,
        remarks=(
            *_less_filament(plan, bench, wishes),
            *_of_material(book, asks),
            *_remarks(whole, bench, book, checked),
        ),
        whole=whole if alone else None,
    )


def _wishes(texts: WishTexts) -> Wishes:
    numbers = weigh_numbers("plan")
    wishes = Wishes(
        lowest=read_wish("--from", texts.lowest, "mm3/s", (0.1e-9, 400e-9)),
        highest=read_wish("--to", texts.highest, "mm3/s", (0.1e-9, 400e-9)),
        steps=texts.steps,
        scale=read_wish("--scale", texts.scale, "g", (1e-7, 1e-3)),
        uncertainty=read_wish("--uncertainty", texts.uncertainty, "%", (1e-4, 0.2)),
        lift=read_wish("--lift", texts.lift, "mm", (1e-3, numbers["most_lift"])),
    )
    if wishes.lowest and wishes.highest and wishes.lowest >= wishes.highest:
        raise UsageError(f"--from {texts.lowest} is not below --to {texts.highest}", "swap them")
    return wishes


def read_wish(
    option: str, text: str | None, unit: str, bounds: tuple[float, float]
) -> float | None:
    """Return a quantity of the command line in SI units; None where it was not given.

    Raises
    ------
    UsageError
        For a text that is none, or a quantity out of `bounds` (SI).
    """
    if text is None:
        return None
    try:
        value = parse_quantity(text, parse_unit(unit)).typical
    except InputError as err:
        raise UsageError(f"{option}: {err.problem}", err.remedy) from None
    if not within(value, *bounds):
        low, high = (f"{parse_unit(unit).from_si(end):g}" for end in bounds)
        raise UsageError(f"{option} {text} is out of range", f"give {low} to {high} {unit}")
    return float(value)


def conditions_of(book: FactBook) -> Mapping[str, str]:
    """Return material, nozzle temperature and nozzle of a machine, in words."""
    words = {"material": str(book.text("filament.material"))}
    for name, key, unit in (
        ("temperature", "hotend.temperature", "degC"), ("nozzle", "nozzle.diameter", "mm"),
    ):  # fmt: skip
        value = _typical(book, key)
        if value is not None:
            words[name] = f"{parse_unit(unit).from_si(value):.4g} {unit}"
    return words


def built_in(machine: Machine) -> Mapping[str, str]:
    """Return by what a test that is kept is told: the machine's parts as stated, in notes."""
    words: dict[str, str] = {}
    for note in load_words().notes.values():
        name = note.fact or f"filament.{note.name}"
        fact = machine.facts.get(name)
        if name in machine.inputs.stated and fact is not None and fact.text is not None:
            words[note.names[0]] = fact.text
        elif note.ask:
            words[note.names[0]] = ""
        elif note.fact and note.unit and fact is not None and not fact.trace.assumed:
            unit = "" if note.unit == "-" else f" {note.unit}"
            value = fact.nominal
            if value is not None:
                words[note.names[0]] = f"{parse_unit(note.unit).from_si(value):.6g}{unit}"
    return {name: text for name, text in words.items() if name not in _NOT_ASKED}


def spoken(conditions: Mapping[str, str], catalog: Catalog) -> dict[str, str]:
    """Return the conditions with the material as the trade writes it, in plain ASCII."""
    entry = catalog.materials.get(conditions["material"])
    words = {name: text.replace("degC", "C") for name, text in conditions.items()}
    return words if entry is None else {**words, "material": entry.title}


def stops_of(plan: Plan, book: FactBook, *, light: bool = True) -> Iterator[str]:
    """Yield what ends the test before its last step; light pieces where it runs on by itself."""
    words, numbers = load_words().stops, weigh_numbers("plan")
    book.derive_all(chain_motor.WARMING)
    case = stop_reading(book)
    yield words["touch"] if case is None else words["case"].format(case=f"{case:.0f}")
    full = plan.mass / len(plan.steps) * 1e3
    if light:
        yield words["light"].format(
            pieces=f"{numbers['stop_pieces']:.0f}",
            light=f"{100 * numbers['stop_light']:.0f}",
            mass=f"{full * (1.0 - numbers['stop_light']):.2f}",
            full=f"{full:.2f}",
        )
    yield words["click"]
    yield words["dust"]


def _less_filament(plan: Plan, bench: Bench, wishes: Wishes) -> Iterator[str]:
    """Yield what would save filament, where the scale asks for a great deal of it."""
    usual = weigh_numbers("plan")
    if plan.length <= usual["much"]:
        return
    ways = []
    if plan.scale > usual["scale"]:
        finer = make_plan(bench, replace(wishes, scale=usual["scale"]))
        ways.append(f"with a {usual['scale'] * 1e3:g} g scale {finer.length:.1f} m will do")
    if (wishes.uncertainty or 0.0) < usual["loose_uncertainty"]:
        loose = usual["loose_uncertainty"]
        rough = make_plan(bench, replace(wishes, uncertainty=loose))
        ways.append(f"with --uncertainty {100 * loose:g}% {rough.length:.1f} m")
    if ways:
        yield f"{plan.length:.0f} m of filament is a lot: {', '.join(ways)}"


def _typical(book: FactBook, name: str) -> float | None:
    return book.nominal(name)


def too_hot(book: FactBook) -> Iterator[str]:
    """Yield why nothing may be fed at this temperature or current."""
    if book.known("hotend.temperature"):
        yield from _temperature(book)
    yield from _current(book)


def refusals(book: FactBook, catalog: Catalog) -> Iterator[str]:
    """Yield why no test is planned: temperature, current, or what is not known."""
    lacking = [catalog.facts[name].title for name in _NEEDED if not book.known(name)]
    if first_loss(book) is None:
        lacking.append("any limit of the flow")
    if lacking:
        yield f"Not known: {', '.join(lacking)}; complete the config first."
        return
    yield from too_hot(book)
    if (_typical(book, "motion.max_extrude_only_distance") or 0.0) < weigh_numbers("plan")[
        "step_prime"
    ]:
        yield (
            "The config allows no moves of filament alone that are long enough (its extrude-only "
            "distance limit); raise that limit."
        )


def _temperature(book: FactBook) -> Iterator[str]:
    celsius = parse_unit("degC").from_si
    asked = _typical(book, "hotend.temperature") or 0.0
    highest = _typical(book, "hotend.max_temperature")
    lowest = _typical(book, "hotend.min_extrude_temperature")
    usual = _typical(book, "material.nozzle_high")
    if highest is not None and asked > highest:
        yield (
            f"{celsius(asked):.0f} degC is above the highest temperature the config allows, "
            f"{celsius(highest):.0f} degC; test cooler."
        )
    if usual is not None and asked > usual + weigh_numbers("plan")["temperature_margin"]:
        yield (
            f"{celsius(asked):.0f} degC is far above the usual range of "
            f"{book.text('filament.material')} (up to {celsius(usual):.0f} degC): it decomposes "
            "and fumes; test cooler."
        )
    yield from _cold(book, asked)
    if lowest is not None and asked < lowest:
        yield (
            f"{celsius(asked):.0f} degC is below the {celsius(lowest):.0f} degC from which the "
            "config lets the extruder move; test hotter."
        )


def _cold(book: FactBook, asked: float) -> Iterator[str]:
    """Yield that a material would be pushed colder than it melts, whatever the config allows."""
    least = _typical(book, "material.nozzle_low")
    if least is not None and asked < least - _SAME_TEMPERATURE:
        celsius = parse_unit("degC").from_si
        yield (
            f"{celsius(asked):.0f} degC is below the usual range of "
            f"{book.text('filament.material')} (from {celsius(least):.0f} degC): cold filament "
            "grinds, skips and may push the hot end apart; test hotter, or name the right material."
        )


def selection(checked: CheckedConfig, name: str) -> Iterator[str]:
    """Yield that an extruder cannot be named in G-code, where it has to be."""
    if len(checked.books) > 1:
        yield from unnameable(checked, name)


def unnameable(checked: CheckedConfig, name: str) -> Iterator[str]:
    """Yield that G-code cannot name an extruder, or the first one, to which it goes back."""
    names = [name, next(iter(checked.books))]
    odd = [one for one in names if harmless(one) != one or " " in one]
    if odd:
        yield (
            f"The name of [{odd[0]}] cannot stand in G-code; give the extruder a name of letters, "
            "digits and '_'."
        )


def _of_material(book: FactBook, asks: Asks) -> Iterator[str]:
    """Say whether a material that the command line names brought its temperature."""
    fact = book.facts["hotend.temperature"]
    if asks.material is None or asks.temperature is not None or not fact.known:
        return
    assert fact.number is not None  # a temperature that is known
    degrees = f"{fact.number.in_trade():.0f} degC"
    if fact.origin.kind is OriginKind.CATALOGUE:
        yield f"{degrees} is a usual temperature of {book.text('filament.material')}"
        return
    where = f" ({fact.origin.at})" if fact.origin.at is not None else ""
    yield (
        f"--material brings no temperature of its own here: {degrees} is stated{where} and stays; "
        "give --temperature for another"
    )


def _current(book: FactBook) -> Iterator[str]:
    limit = exceeded(book)
    if limit is None:
        return
    working, most = (_typical(book, name) for name in ("motor.working_current", limit.fact))
    if book.known("driver.silent_exceeds"):
        floor = _typical(book, "driver.silent_floor")
        yield (
            f"In silent mode at least {floor:.2f} A RMS flows, whatever is set; the {limit.words} "
            f"is rated for {most:.2f} A RMS. Turn silent mode off first (see 'feedwright lint')."
        )
        return
    yield (
        f"The motor's current, {working:.2f} A RMS, is above its derated limit of {most:.2f} A RMS "
        f"(set by the {limit.words}); lower it first (see 'feedwright lint')."
    )


def weighing_bench(book: FactBook) -> Bench:
    """Return a machine as a weighed test needs it."""
    values = {name: _typical(book, name) or 0.0 for name in _NEEDED}
    loss = first_loss(book)
    return Bench(
        area=values["filament.area"],
        density=values["material.density"],
        temperature=values["hotend.temperature"],
        loss=np.zeros(book.ensemble.size) if loss is None else loss,
        largest_speed=values["motion.max_extrude_only_velocity"],
        largest_accel=values["motion.max_extrude_only_accel"],
        largest_move=values["motion.max_extrude_only_distance"],
        fan=_part_fan(str(book.text("filament.material"))),
    )


def _part_fan(material: str) -> float:
    """Return the part fan of a usual print in a material, as a share of its full speed."""
    fans = weigh_numbers("fan")
    return fans.get(material, fans["usual"])


def _remarks(plan: Plan, bench: Bench, book: FactBook, checked: CheckedConfig) -> Iterator[str]:
    top = bench.largest_speed * bench.area
    if plan.steps[-2].flow < plan.knee.high:
        limit = f", {top * 1e9:.1f} mm3/s is the most the firmware feeds" if (
            top < 1.1 * plan.knee.high) else ""  # fmt: skip
        yield (
            f"the last flow is below {plan.knee.high * 1e9:.1f} mm3/s, up to which the limit may "
            f"lie{limit}"
        )
    ramps = ramp_share(plan, bench.largest_accel)
    if ramps > _TOLD_RAMP:
        yield (
            f"starting and stopping takes {100 * ramps:.0f} % of the fastest step: the mean flow "
            "is that much lower (longer moves or more extrude-only acceleration would help)"
        )
    split = max(step.moves for step in plan.steps)
    if split > 1:
        yield (
            f"each piece takes {split} moves: the config allows "
            f"{bench.largest_move * 1e3:.0f} mm in one"
        )
    if not book.known("motor.working_current"):
        yield "the motor's current is not known; watch its temperature"
    if any(one.note and one.note.files for one in checked.taken.values()):
        yield "planned around what was weighed before"
