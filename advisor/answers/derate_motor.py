"""Answers `derate`: the RMS current to set for a rating, and what it does to the motor.

The current comes from the same facts as everywhere else: what the command line and the sheet state,
then the catalogue; nothing is known of the gears.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from advisor.answers.derate_records import DerateReport
from advisor.answers.session import sheet_alone
from advisor.base import (
    Band,
    DataError,
    Fact,
    InputError,
    Origin,
    OriginKind,
    Quantity as Samples,
    Raw,
    Text,
    UsageError,
    parse_unit,
)
from advisor.catalog import Catalog, Entry, load_catalog
from advisor.data import Quantity, parse_number, parse_quantity
from advisor.machine import (
    CURRENT_LIMITS,
    ExtruderInputs,
    FactBook,
    band_of,
    build_facts,
    chain_motor,
    limit_set_by,
    merge_stated,
)
from advisor.physics import heat

__all__ = ["derate", "stop_reading"]

_COMMAND = Origin(OriginKind.COMMAND)
_BASES = ("peak", "rms", "unsure")
_SANE_AMPERES = (0.01, 50.0)
_WANTED = frozenset(
    {"motor.standstill_torque", *(formula.output for formula in chain_motor.WARMING)}
)
_CAUTIOUS = 0.10  # share of likely motors that would end above the limit in spite of the reading


def derate(
    rating: str | None = None,
    *,
    basis: str | None = None,
    share: str | None = None,
    ambient: str | None = None,
    mount: str | None = None,
    driver: str | None = None,
    sense_resistor: str | None = None,
    reference_resistor: str | None = None,
    material: str | None = None,
    motor: str | None = None,
    sheet: str | None = None,
    fields: Sequence[str] = (),
) -> DerateReport:
    """Return the current to set for a motor rated `rating` per phase.

    Parameters
    ----------
    rating : str, optional
        Rated current per phase, such as ``1.0A`` or ``850 mA``; the sheet's where not given. With
        ``peak`` or ``RMS`` behind it, it states the basis too.
    basis : str, optional
        ``peak``, ``rms`` or ``unsure`` (read as peak, the cautious side); the sheet's, or unsure.
    share : str, optional
        Share of the rated RMS current to use, such as ``0.8`` or ``80 %``.
    ambient : str, optional
        Air temperature at the motor, such as ``45 degC``.
    mount : str, optional
        What the motor is bolted to: an entry of the catalogue's mounts.
    driver : str, optional
        Driver chip, by the word of its config section.
    sense_resistor : str, optional
        Sense resistor; of a chip with a reference resistor, that one.
    reference_resistor : str, optional
        Reference resistor, in kohm, of a chip that has one.
    material : str, optional
        Filament: what its drive gear may reach is told; it sets no current.
    motor : str, optional
        Motor class: an entry of the catalogue's motors. By the rating where nobody states it.
    sheet : str, optional
        Path of a hardware sheet; what is given here goes before it.
    fields : sequence of str
        Fields of the sheet that the command line states, as ``motor.class=round-36``.

    Raises
    ------
    UsageError
        For a value that cannot be read; the sentence says what was expected.
    SheetError
        For a sheet that cannot be read.
    """
    catalog = load_catalog()
    if basis is not None and basis not in _BASES:
        raise UsageError(f"unknown basis '{basis}'", f"write one of {', '.join(_BASES)}")
    rating, basis = _with_basis(rating, basis)
    part = sheet_alone(sheet, fields, catalog)
    stated = {
        **_numbers(rating, share, ambient),
        **_words(catalog, {"mounts": mount, "materials": material, "motors": motor}),
        **({} if basis is None else {"motor.rating_basis": basis}),
        **_chip(catalog, driver, sense_resistor, reference_resistor),
    }
    facts = {
        name: Fact.of(name, catalog.facts[name].unit, value, origin=_COMMAND)
        for name, value in stated.items()
    }
    inputs = ExtruderInputs("", merge_stated(facts, part.facts), measured=part.measured)
    inputs, assumed_motor = _with_motor(inputs, catalog)
    book = build_facts(inputs, catalog, wanted=_WANTED)
    setting = book.nominal("motor.set_current")
    if setting is not None:  # what flows is the setting, with the driver's rounding and tolerance
        book = build_facts(_setting(inputs, book, setting), catalog, wanted=_WANTED)
        book.derive_all(chain_motor.WARMING)
    report = _report(book, setting, assumed_motor=assumed_motor)
    return report if setting is None else _with_setting(report, book)


def _setting(inputs: ExtruderInputs, book: FactBook, setting: float) -> ExtruderInputs:
    run = book.stated("motor.run_current", setting, _COMMAND)
    return dataclasses.replace(inputs, stated={**inputs.stated, run.name: run})


def _quantity(what: str, text: str, unit: str, sane: tuple[float, float]) -> Quantity:
    """Read an option; a bare number counts in the option's own unit."""
    bare = parse_number(text)
    shown = f"{text} {unit}" if bare is not None else text
    try:
        quantity = parse_quantity(shown, parse_unit(unit))
    except InputError as err:
        raise UsageError(f"{what} '{text}': {err.problem}", err.remedy) from None
    low, high = sane
    if not low <= quantity.low <= quantity.high <= high:
        ends = [f"{parse_unit(unit).from_si(end):g}" for end in sane]
        raise UsageError(
            f"{what} '{text}' is out of range", f"give {ends[0]} to {ends[1]} {unit}".strip()
        )
    return quantity


def _numbers(rating: str | None, share: str | None, ambient: str | None) -> dict[str, Raw]:
    rows = (
        ("motor.rated_current", "rating", rating, "A", _SANE_AMPERES),
        ("motor.derating_share", "share", share, "", (0.05, 1.0)),
        ("ambient.motor", "ambient", ambient, "degC", (233.15, 473.15)),
    )
    return {
        name: _band_or_number(_quantity(what, text, unit, sane))
        for name, what, text, unit, sane in rows
        if text is not None
    }


def _with_basis(rating: str | None, basis: str | None) -> tuple[str | None, str | None]:
    """Return a rating without the word for its basis, and the basis; ``1.0A peak`` states both."""
    words = (rating or "").split()
    word = words[-1].lower() if len(words) > 1 else ""
    if word not in _SPOKEN:
        return rating, basis
    if basis not in (None, word):
        problem = f"the rating '{rating}' and the basis '{basis}' disagree"
        raise UsageError(problem, "keep one of them")
    return " ".join(words[:-1]), word


_SPOKEN = ("peak", "rms")


def _band_or_number(read: Quantity) -> Raw:
    return read.typical if read.low == read.high else (read.low, read.typical, read.high)


_FACTS = {"mounts": "drive.mount", "materials": "filament.material", "motors": "motor.class"}


def _words(catalog: Catalog, named: Mapping[str, str | None]) -> dict[str, str]:
    try:
        return {
            _FACTS[category]: catalog.lookup(category, name).name
            for category, name in named.items()
            if name is not None
        }
    except InputError as err:
        raise UsageError(err.problem, err.remedy) from None


def _driver(catalog: Catalog, name: str) -> Entry:
    try:
        return catalog.lookup("drivers", name)
    except InputError as err:
        raise UsageError(err.problem, err.remedy) from None


def _chip(
    catalog: Catalog, driver: str | None, sense: str | None, reference: str | None
) -> dict[str, Raw]:
    what, resistor = ("sense", sense) if reference is None else ("reference", reference)
    if driver is None:
        if resistor is not None:
            raise UsageError(f"a {what} resistor needs its driver", "add --driver, e.g. tmc2209")
        return {}
    if sense is not None and reference is not None:
        raise UsageError("a chip has a sense resistor or a reference resistor", "keep one")
    entry = _driver(catalog, driver)
    by_reference = entry.texts["driver.kind"] == "reference-resistor"
    name, unit, sane = (
        ("driver.reference_resistor", "kohm", (1e3, 1e6))
        if by_reference
        else ("driver.sense_resistor", "ohm", (0.005, 2.0))
    )
    if reference is not None and not by_reference:
        raise UsageError(f"a {entry.name} has no reference resistor", "use --sense-resistor")
    if resistor is not None:
        what = "reference resistor" if by_reference else "sense resistor"
        typical = _quantity(what, resistor, unit, sane).typical
        return {"driver.chip": entry.name, name: typical}
    if name not in entry.numbers:
        raise UsageError(f"the resistor beside a {entry.name} is not known", "add --sense-resistor")
    return {"driver.chip": entry.name}


def _with_motor(inputs: ExtruderInputs, catalog: Catalog) -> tuple[ExtruderInputs, str | None]:
    """Return inputs with a motor class, and its title where it was only assumed by the rating.

    Raises
    ------
    UsageError
        Where neither the command line nor the sheet states a rating.
    """
    rated = inputs.stated.get("motor.rated_current")
    if rated is None or not rated.known:
        raise UsageError(
            "no rated current is stated",
            "name it: feedwright derate 1.0A, or a sheet's (see feedwright derate --help)",
        )
    if "motor.class" in inputs.stated and inputs.stated["motor.class"].known:
        return inputs, None
    amperes = rated.nominal or 0.0
    entry = min(
        catalog.motors.values(),
        key=lambda motor: abs(math.log(amperes / motor.numbers["motor.rated_current"].typical)),
    )
    fact = Fact("motor.class", Text(entry.name), origin=Origin(OriginKind.CATALOGUE))
    return dataclasses.replace(inputs, stated={**inputs.stated, fact.name: fact}), entry.title


def _report(book: FactBook, setting: float | None, *, assumed_motor: str | None) -> DerateReport:
    limits = _limits(book)
    share, ambient = _sure(book, "motor.derating_share"), _sure(book, "ambient.motor")
    derated = _sure(book, "motor.derated_current")
    governed = _governed(book, limits)
    return DerateReport(
        rating=_sure(book, "motor.rated_current").value,
        basis=str(book.text("motor.rating_basis")),
        share=share.value,
        rated_current_rms=_sure(book, "motor.rated_current_rms"),
        derated_current=derated,
        set_current=setting,
        no_setting=None if setting is not None else _no_setting(governed, derated, ambient),
        applied_current=_band(book, "motor.applied_current") if book.known("driver.chip") else None,
        winding_temperature=_band(book, "motor.winding_temperature"),
        case_temperature=_band(book, "motor.case_temperature"),
        limits=limits,
        governed_by=governed,
        cautious=_scaled(_sure(book, "motor.rating_as_peak"), share.value),
        thermal=_sure(book, "motor.rating_as_rms"),
        peak_amplitude=setting * math.sqrt(2.0) if setting is not None else None,
        ambient=ambient,
        mount=_stated_word(book, "drive.mount"),
        driver=book.text("driver.chip"),
        sense_resistor=book.nominal("driver.sense_resistor"),
        full_scale_current=_band(book, "driver.full_scale_current"),
        assumptions=tuple(_assumptions(book, assumed_motor)),
        cautions=_CAUTIONS,
        motor=str(book.text("motor.class")),
        material=_stated_word(book, "filament.material"),
    )


def _governed(book: FactBook, limits: Mapping[str, Band]) -> str:
    lowest = limit_set_by(book, of=limits)
    return "" if lowest is None else lowest.name


def _limits(book: FactBook) -> dict[str, Band]:
    bands = {limit.name: _band(book, limit.fact) for limit in CURRENT_LIMITS}
    return {name: band for name, band in bands.items() if band is not None}


def _with_setting(report: DerateReport, book: FactBook) -> DerateReport:
    """Return it with what is left of torque and push at the setting, and how the case warms."""
    left, push = _left(book)
    told = _stated_word(book, "filament.material") is not None
    return dataclasses.replace(
        report,
        torque_share=left,
        push_share=push,
        case_soon=_band(book, "motor.case_soon"),
        case_later=_band(book, "motor.case_later"),
        time_constant=_band(book, "motor.time_constant"),
        stop_reading=stop_reading(book),
        gear_temperature=_band(book, "drive.gear_temperature") if told else None,
        filament_limit=_band(book, "material.drive_limit") if told else None,
        filament_current=_band(book, "motor.current_for_filament") if told else None,
    )


def _left(book: FactBook) -> tuple[float | None, float | None]:
    """Return torque and push at the setting over those at the rated current, typical motor."""
    names = ("motor.standstill_torque", "motor.detent_torque", "motor.rated_current_rms",
             "motor.flowing_current")  # fmt: skip
    known = [value for name in names if (value := book.nominal(name)) is not None]
    if len(known) < len(names):
        return None, None
    torque, detent, rated, flowing = known
    at_rated = torque * rated / flowing
    if at_rated <= detent:
        return flowing / rated, None
    return flowing / rated, max(torque - detent, 0.0) / (at_rated - detent)


def stop_reading(book: FactBook) -> float | None:
    """Return the case [degC] after 10 min that ends at its limit after an hour, the careful way.

    The limit is that of the mount, or where none is stated the one at which the winding is at its
    own; of 10 motors like this one 9 that read this stay below it.
    """
    names = ("ambient.motor", "motor.time_constant", "motor.heating_current", "motor.resistance",
             "motor.thermal_resistance", "model.copper_coefficient", "motor.insulation_limit",
             "model.winding_margin", "motor.case_share")  # fmt: skip
    values = book.each(names)
    if values is None:
        return None
    ambient, constant, flowing, ohm, resistance, copper, insulation, margin, share = values
    end = heat.case_temperature(insulation - margin - ambient, ambient=ambient, case_share=share)
    mount = book.samples("drive.mount_limit")
    if mount is not None:
        end = np.minimum(end, mount)
    warming = {
        "time_constant": constant,
        "resistance_20c": ohm,
        "thermal_resistance": resistance,
        "ambient": ambient,
        "temperature_coefficient": copper,
    }
    reading = ambient + np.maximum(end - ambient, 0.0) * _share_of_later(flowing, **warming)
    likely = np.atleast_1d(reading)[1:] if np.size(reading) > 1 else np.atleast_1d(reading)
    kelvin = float(np.quantile(likely, _CAUTIOUS, method="lower"))
    return float(math.floor(parse_unit("degC").from_si(kelvin)))


def _share_of_later(current: Samples, **warming: Samples) -> Samples:
    """Return the rise after 10 minutes over that after an hour; 0 where it runs away at once."""
    soon, later = (
        heat.rise_after(time, current, **warming) for time in (chain_motor.SOON, chain_motor.LATER)
    )
    usable = np.isfinite(later) & np.greater(later, 0.0)
    share: Samples = np.where(usable, soon, 0.0) / np.where(usable, later, 1.0)
    return share


def _stated_word(book: FactBook, name: str) -> str | None:
    fact = book.facts.get(name)
    stated = fact is not None and fact.known and fact.origin.kind is not OriginKind.CATALOGUE
    return fact.text if stated and fact is not None else None


def _band(book: FactBook, name: str) -> Band | None:
    return band_of(book.facts.get(name))


def _sure(book: FactBook, name: str) -> Band:
    """The band of a fact that is always there: its inputs are stated or in the catalogue."""
    band = _band(book, name)
    if band is None:
        raise DataError(f"the catalogue gives no value for {name}", "mend rules/catalogue/")
    return band


def _scaled(band: Band, share: float) -> Band:
    return Band(band.value * share, band.low * share, band.high * share)


def _no_setting(governed: str, derated: Band, ambient: Band) -> str:
    if derated.value <= 0.0:
        part = {"mount": "the mount", "winding": "the winding"}.get(governed, "the motor")
        return (
            f"the ambient of {ambient.value:.0f} degC already meets the limit of {part}: no "
            "current is safe there; change the mount or cool the motor"
        )
    return (
        f"the driver's smallest step is above {derated.value:.3f} A; "
        "a larger sense resistor makes finer steps"
    )


def _assumptions(book: FactBook, assumed_motor: str | None) -> Iterator[str]:
    if book.text("motor.rating_basis") == "unsure":
        yield (
            "The rating is read as a peak per phase, the cautious way; if the datasheet means "
            "RMS with both phases on, the motor is rated for the larger figure."
        )
    if book.facts["ambient.motor"].origin.kind is OriginKind.CATALOGUE:
        yield f"Ambient at the motor: {_said(book, 'ambient.motor')}."
    if _stated_word(book, "drive.mount") is None:
        yield (
            "Mount: not stated, so it sets no limit here; a printed mount softens and cools "
            f"less (heat resistance over the rating's: {_said(book, 'motor.mount_factor')})."
        )
    if assumed_motor is not None:
        yield (
            f"Motor: not stated, taken as a {assumed_motor}, the class nearest to the rating; "
            "--motor or --sheet says which it is."
        )
    if not book.known("driver.chip"):
        yield "Driver: not stated; its rounding can move the current by a few percent."
    yield (
        f"Thermal resistance, winding to ambient: {_said(book, 'motor.thermal_resistance')}, from "
        f"the rating (a rise of {_said(book, 'motor.rated_rise')}) and the motor's surface."
    )


def _said(book: FactBook, name: str) -> str:
    unit, band = book.units[name], _sure(book, name)
    unit = f" {unit}" if unit not in ("-", "") else ""
    return f"{band.value:.3g} ({band.low:.3g}-{band.high:.3g}){unit}"


_CAUTIONS = (
    "A motor case burns skin long before the motor is harmed: let it cool, or measure it.",
    "The motor's and the driver's datasheets win over these figures.",
    "Change the current with the machine idle, then feed slowly; measure the case after 10 min.",
    "Tape the probe to the case: infrared on bare metal reads low.",
)
