"""Builds the fact graph of one extruder: what is stated, then defaults, then the catalogue.

Precedence: command line, sheet, profile, config, firmware default, catalogue; kinematics
always from the config (the caller merges what is stated by `merge_stated`).
"""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Mapping
from dataclasses import field

from advisor.base import BOUNDING, Fact, Origin, OriginKind, State, Trace, Value, frozen
from advisor.catalog import Catalog, Entry
from advisor.inputs import Default, Measurement
from advisor.machine import chain_feed, chain_flow, chain_motion, chain_motor
from advisor.machine.catalogue_inputs import put_entry, put_number, put_stated, put_text
from advisor.machine.choices import ClassChoice, default_value, put_shared, scale_winding, suggested
from advisor.machine.driver import put_working_current
from advisor.machine.ensemble import Ensemble, plausible
from advisor.machine.graph import FactBook, Memory
from advisor.machine.measured import put_measured_case, put_measured_flow, put_measured_forces
from advisor.machine.names import check_names
from advisor.machine.set_current import put_exceeded, put_set_current, safe_currents
from advisor.machine.summary import CAP_FORMULAS, put_cap

__all__ = ["FORMULAS", "ExtruderInputs", "build_facts", "merge_stated", "put_asked", "units_of"]


_WORDS = {"torque": "motor", "grip": "grip", "buckling": "gap", "melt": "melt zone",
          "heater": "heater"}  # fmt: skip
_PER_MM3 = 1e9


def put_asked(book: FactBook) -> None:
    """Put ``demand.limits_below`` where something is asked.

    Parameters
    ----------
    book : FactBook
        With the flow at every limit and what is asked [m3/s]; the typical machine counts.
    """
    if not book.known("demand.asked_flow"):
        return
    asked = _typical(book, "demand.asked_flow")
    flows = {
        name: _typical(book, f"flow.{name}") for name in BOUNDING if book.known(f"flow.{name}")
    }
    below = sorted((flow, name) for name, flow in flows.items() if flow < asked)
    if not below:
        return
    uses = ("demand.asked_flow", *(f"flow.{name}" for _, name in below))
    words = ", ".join(f"{_WORDS[name]} {_figure(flow)}" for flow, name in below)
    book.put_words("demand.limits_below", f"{words} mm3/s", uses, "the flow limits below the ask")


def _figure(flow: float) -> str:
    value = flow * _PER_MM3
    return f"{value:.0f}" if value >= 100.0 else f"{value:.2g}"


def _typical(book: FactBook, name: str) -> float:
    value = book.nominal(name)
    assert value is not None, name
    return value


@frozen
class ExtruderInputs:
    """What is stated for one extruder, and the firmware's defaults for what is not.

    ``stated`` holds the merged facts (missing and unreadable ones of the config too);
    ``defaults`` maps a fact to the firmware's default;
    ``measured`` holds the records of measurements in the sheet by name.
    """

    name: str
    stated: Mapping[str, Fact]
    defaults: Mapping[str, Default] = field(default_factory=dict)
    incomplete: bool = False  # an include is missing: a default may not be what applies
    measured: Mapping[str, Measurement] = field(default_factory=dict)

    @property
    def skips(self) -> tuple[Measurement, ...]:
        """The clicks at lowered currents that the sheet states, as often as it does."""
        return tuple(one for name, one in self.measured.items() if name.startswith(_SKIPS))


_SKIPS = "measured_skip"


def merge_stated(*layers: Mapping[str, Fact]) -> dict[str, Fact]:
    """Merge stated facts, the first layer winning; a known fact beats one that is not known."""
    merged: dict[str, Fact] = {}
    for layer in layers:
        for name, fact in layer.items():
            present = merged.get(name)
            if present is None or (fact.known and not present.known):
                merged[name] = fact
    return merged


def build_facts(
    inputs: ExtruderInputs,
    catalog: Catalog,
    ensemble: Ensemble | None = None,
    *,
    memory: Memory | None = None,
    wanted: frozenset[str] | None = None,
) -> FactBook:
    """Return all facts of one extruder, from its inputs to its capacity.

    Parameters
    ----------
    inputs : ExtruderInputs
        What is stated.
    catalog : Catalog
        What is assumed for the rest.
    ensemble : Ensemble, optional
        The machines to work out; the plausible ones where not given.
    memory : Memory, optional
        What other machines of the family were made of; what is common is shared.
    wanted : frozenset of str, optional
        The facts of the last stages that are asked for; all where not given.

    Returns
    -------
    FactBook
        Every fact of the chain; those that cannot be had are there with the reason.
    """
    memory = memory or Memory()
    book = _before_current(inputs, catalog, ensemble or plausible(), memory)
    fixed = plausible()
    known = None
    if book.ensemble is not fixed:  # a safe current is that of all plausible machines
        typical = _at_typical(inputs, fixed.size)
        known = safe_currents(_before_current(typical, catalog, fixed, memory), catalog)
    put_set_current(book, catalog, known)
    put_working_current(book)
    book.derive_all(chain_motor.CURRENT)
    put_exceeded(book)
    put_measured_forces(book, inputs.measured)
    book.wanted = None if wanted is None else needed_for(wanted)
    book.derive_all((*chain_motor.PUSH, *chain_feed.FEED, *chain_flow.MELT))
    book.derive_all((*chain_flow.LIMIT_FLOWS, *chain_motion.DEMAND, *chain_motion.MOTION))
    put_cap(book)
    if wanted is None:
        put_asked(book)
    return book


def _at_typical(inputs: ExtruderInputs, size: int) -> ExtruderInputs:
    """Return the inputs with the nominal value of what is stated sample by sample.

    Samples over another ensemble than `size` machines do not go with theirs.
    """
    many = {
        name: fact.holding(fact.number.nominal)
        for name, fact in inputs.stated.items()
        if fact.number is not None and fact.number.size not in (1, size)
    }
    return dataclasses.replace(inputs, stated={**inputs.stated, **many}) if many else inputs


def _before_current(
    inputs: ExtruderInputs, catalog: Catalog, ensemble: Ensemble, memory: Memory
) -> FactBook:
    """Return what is stated, the defaults and the catalogue's numbers, up to the set current."""
    book = FactBook(_units(catalog), {}, ensemble, memory)
    for fact in inputs.stated.values():
        put_stated(book, fact)
    _put_print(book, catalog)
    book.derive_all(chain_feed.GEARS[:1])
    _put_defaults(book, inputs, catalog)
    book.derive_all(chain_feed.GEARS)
    _put_hardware(book, catalog)
    put_measured_flow(book, catalog, inputs.measured)
    book.derive_all(chain_feed.GEARS)
    put_measured_case(book, inputs.measured)
    return book


def units_of(catalog: Catalog) -> dict[str, str]:
    """Return the trade unit of every fact of the vocabulary."""
    return {name: info.unit for name, info in catalog.facts.items()}


_checked: dict[int, tuple[Catalog, dict[str, str]]] = {}


def _units(catalog: Catalog) -> dict[str, str]:
    """Return the units of a catalogue's facts; its formulas are checked against them once."""
    held = _checked.get(id(catalog))
    if held is None:
        check_names(FORMULAS, catalog.facts)
        held = _checked[id(catalog)] = catalog, units_of(catalog)
    return held[1]


_LAST = (
    *chain_motor.PUSH, *chain_feed.FEED, *chain_flow.MELT, *chain_flow.LIMIT_FLOWS,
    *chain_motion.DEMAND, *chain_motion.MOTION, *CAP_FORMULAS,
)  # fmt: skip
FORMULAS = (
    *chain_feed.GEARS, *chain_motor.RATING, *chain_motor.HEAT, *chain_motor.SAFE,
    *chain_motor.CURRENT, *chain_motor.WARMING, *_LAST,
)  # fmt: skip
"""Every formula of the chain, in the order of their stages."""


@functools.cache
def needed_for(wanted: frozenset[str]) -> frozenset[str]:
    """Return these facts and all that formulas of the last stages make them of."""
    needed = set(wanted)
    for formula in reversed(_LAST):
        if formula.output in needed:
            needed |= {name.removesuffix("?") for name in formula.inputs.values()}
    return frozenset(needed)


def _put_print(book: FactBook, catalog: Catalog) -> None:
    """Put the material, and what a print is assumed to be where nobody says."""
    chain = catalog.model
    material = _choose(book, catalog, _MATERIAL)
    for name in ("filament.diameter", "nozzle.diameter"):
        put_number(book, name, chain.numbers[name])
    put_entry(book, material.entry, stated=material.stated, hangs_on="filament.material")
    _put_temperature(book, material.entry, chain)


def _put_temperature(book: FactBook, material: Entry, chain: Entry) -> None:
    """Assume the upper usual nozzle temperature of the material, less the trade's margin.

    It may lie a good deal colder, and as hot as the material's range goes.
    """
    low, high = (material.numbers[f"material.nozzle_{end}"] for end in ("low", "high"))
    margin = chain.numbers["model.temperature_credit"].typical
    typical = max(low.typical, high.typical - margin)
    coldest = typical - chain.numbers["model.temperature_doubt"].typical
    number = type(high)(coldest, typical, high.typical, "degC", high.source, high.status)
    put_number(book, "hotend.temperature", number)


def _put_defaults(book: FactBook, inputs: ExtruderInputs, catalog: Catalog) -> None:
    """Put the firmware's defaults; one may hang on another, so go round until none is added."""
    waiting = dict(inputs.defaults)
    while waiting:
        made = {
            name: value
            for name, default in waiting.items()
            if (value := default_value(default, book.facts, catalog)) is not None
        }
        for name, value in made.items():
            del waiting[name]
            _put_default(book, name, value, inputs)
        if not made:
            return


def _put_default(book: FactBook, name: str, value: Value, inputs: ExtruderInputs) -> None:
    present = book.facts.get(name)
    if present is not None and present.state in (State.KNOWN, State.UNREADABLE):
        return
    setting = present.origin.setting if present else None
    hangs = frozenset({name})
    book.put(
        Fact(
            name,
            value,
            origin=Origin(OriginKind.DEFAULT, setting=setting),
            trace=Trace(assumed=hangs if inputs.incomplete else frozenset(), defaulted=hangs),
            home=present.home if present else None,
        )
    )


_MATERIAL = ClassChoice("materials", "filament.material")
_HARDWARE = (
    ClassChoice("motors", "motor.class"),
    ClassChoice("drives", "drive.class"),
    ClassChoice("hotends", "hotend.class"),
    ClassChoice("inserts", "hotend.insert"),
    ClassChoice("mounts", "drive.mount"),
    ClassChoice("paths", "drive.path"),
)


@frozen
class _Chosen:
    entry: Entry
    stated: bool


def _choose(book: FactBook, catalog: Catalog, choice: ClassChoice) -> _Chosen:
    """Return the entry the user named, else the suggested one, else the model's."""
    entries = catalog.category(choice.category)
    fact = book.facts.get(choice.fact)
    stated = (book.text(choice.fact) or "").lower()
    if stated in entries:
        return _Chosen(entries[stated], stated=True)
    fallback = catalog.model.texts.get(choice.fact) or "unstated"
    name = suggested(choice.category, catalog, book.facts) or fallback
    name = name if name in entries else next(iter(entries))
    if fact is None or not fact.known:
        put_text(book, choice.fact, name)
    return _Chosen(entries[name], stated=False)


def _put_usual_resistor(book: FactBook, catalog: Catalog) -> None:
    """Put the resistors that go with the chip, whatever the config states."""
    entry = catalog.drivers.get(book.text("driver.chip") or "")
    numbers = entry.numbers if entry is not None else {}
    for name, put in _RESISTORS.items():
        if name in numbers:
            put_number(book, put, numbers[name])


_RESISTORS = {
    "driver.sense_resistor": "driver.usual_resistor",
    "driver.internal_resistance": "driver.internal_resistance",
    "driver.least_resistor": "driver.least_resistor",
    "driver.largest_resistor": "driver.largest_resistor",
}


def _put_hardware(book: FactBook, catalog: Catalog) -> None:
    for choice in _HARDWARE:
        chosen = _choose(book, catalog, choice)
        if not chosen.stated:
            put_shared(book, catalog, choice.category, chosen.entry)
        put_entry(book, chosen.entry, stated=chosen.stated)
        if choice.category == "motors":
            scale_winding(book, chosen.entry)
        if choice.category == "drives" and chosen.stated:
            book.derive_all(chain_feed.USUAL_GEARS)
    _put_usual_resistor(book, catalog)
    put_entry(book, catalog.model, stated=False)
    for name, text in catalog.model.texts.items():
        put_text(book, name, text)
