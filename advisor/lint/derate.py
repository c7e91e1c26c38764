"""Answers `derate`: the RMS current to set for a rating, and what it does to the motor."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from advisor.catalog import Catalog, load_catalog
from advisor.errors import DataError, InputError, UsageError
from advisor.facts import chain_motor
from advisor.facts.catalogue_inputs import band_samples, put_entry
from advisor.facts.current_facts import put_driver
from advisor.facts.graph import FactBook
from advisor.facts.set_current import LIMITS, limit_set_by, put_set_current
from advisor.facts.summary import band_of
from advisor.model import Band, Fact, Origin, OriginKind
from advisor.records import DerateReport
from advisor.units import parse_unit
from advisor.values import Quantity, parse_number, parse_quantity

__all__ = ["derate"]

_COMMAND = Origin(OriginKind.COMMAND)
_BASES = ("peak", "rms", "unsure")
_SANE_AMPERES = (0.01, 50.0)


def derate(
    rating: str,
    *,
    basis: str = "unsure",
    share: str | None = None,
    ambient: str | None = None,
    mount: str | None = None,
    driver: str | None = None,
    sense_resistor: str | None = None,
) -> DerateReport:
    """Return the current to set for a motor rated `rating` per phase.

    Parameters
    ----------
    rating : str
        Rated current per phase, such as ``1.0A`` or ``850 mA``.
    basis : str
        ``peak``, ``rms`` or ``unsure`` (read as peak, the cautious side).
    share : str, optional
        Share of the rated RMS current to use, such as ``0.8`` or ``80 %``.
    ambient : str, optional
        Air temperature at the motor, such as ``45 degC``.
    mount : str, optional
        What the motor is bolted to: an entry of the catalogue's mounts.
    driver : str, optional
        Driver chip, by the word of its config section.
    sense_resistor : str, optional
        Sense resistor (or the reference resistor, in kohm, of a chip that has one).

    Raises
    ------
    UsageError
        For a value that cannot be read; the sentence says what was expected.
    """
    catalog = load_catalog()
    if basis not in _BASES:
        raise UsageError(f"unknown basis '{basis}'", f"write one of {', '.join(_BASES)}")
    amperes = _quantity("rating", rating, "A", _SANE_AMPERES).typical
    given = {"share": share, "ambient": ambient}
    book = _book(catalog, amperes, basis, given)
    _put_motor(book, catalog, mount)
    _put_chip(book, catalog, driver, sense_resistor)
    put_set_current(book, catalog)
    _put_setting(book, catalog)
    book.derive_all(chain_motor.CURRENT)
    asked = {"basis": basis, "mount": mount, "driver": driver, "ambient": ambient}
    return _report(book, amperes, asked)


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


def _book(
    catalog: Catalog, amperes: float, basis: str, given: Mapping[str, str | None]
) -> FactBook:
    book = FactBook({name: info.unit for name, info in catalog.facts.items()})
    _put(book, "motor.rated_current", amperes)
    _put(book, "motor.rating_basis", basis)
    share, ambient = given["share"], given["ambient"]
    if share is not None:
        read = _quantity("share", share, "", (0.05, 1.0))
        _put(book, "motor.derating_share", _samples(book, "motor.derating_share", read))
    if ambient is not None:
        read = _quantity("ambient", ambient, "degC", (233.15, 473.15))
        _put(book, "ambient.motor", _samples(book, "ambient.motor", read))
    return book


def _samples(book: FactBook, name: str, read: Quantity) -> Any:
    return band_samples(book.ensemble, name, low=read.low, typical=read.typical, high=read.high)


def _put(book: FactBook, name: str, value: Any) -> None:
    book.put(Fact(name, book.units[name], value, origin=_COMMAND))


def _put_motor(book: FactBook, catalog: Catalog, mount: str | None) -> None:
    """Put what heat needs; the resistance cancels, the rise hangs on the share of the rating."""
    try:
        entry = catalog.lookup("mounts", mount or "unstated")
    except InputError as err:
        raise UsageError(err.problem, err.remedy) from None
    if mount is None:  # an unknown mount slows the cooling, but sets no limit of its own
        book.put(_unlimited_mount(book))
    put_entry(book, entry, stated=mount is not None)
    motor = next(iter(catalog.motors.values())).numbers
    for name in ("motor.resistance", "motor.insulation_limit"):
        _put(book, name, motor[name].typical)
    put_entry(book, catalog.model, stated=False)


def _unlimited_mount(book: FactBook) -> Fact:
    return Fact("drive.mount_limit", book.units["drive.mount_limit"], 1000.0, origin=_COMMAND)


def _put_chip(book: FactBook, catalog: Catalog, driver: str | None, resistor: str | None) -> None:
    if driver is None:
        if resistor is not None:
            raise UsageError("a sense resistor needs its driver", "add --driver, e.g. tmc2209")
        return
    try:
        entry = catalog.lookup("drivers", driver)
    except InputError as err:
        raise UsageError(err.problem, err.remedy) from None
    _put(book, "driver.chip", entry.name)
    by_reference = entry.texts["driver.kind"] == "reference-resistor"
    name, unit, sane = (
        ("driver.reference_resistor", "kohm", (1e3, 1e6))
        if by_reference
        else ("driver.sense_resistor", "ohm", (0.005, 2.0))
    )
    if resistor is not None:
        _put(book, name, _quantity("sense resistor", resistor, unit, sane).typical)
    elif name not in entry.numbers:
        raise UsageError(f"the resistor beside a {entry.name} is not known", "add --sense-resistor")


def _put_setting(book: FactBook, catalog: Catalog) -> None:
    """The current that flows is that of the setting, with the driver's rounding and tolerance."""
    setting = book.samples("motor.set_current")
    if setting is not None:
        _put(book, "motor.run_current", setting)
        put_driver(book, catalog)


def _report(book: FactBook, amperes: float, asked: Mapping[str, Any]) -> DerateReport:
    bands = {limit.name: _band(book, limit.fact) for limit in LIMITS}
    if asked["mount"] is None:
        bands.pop("mount")
    limits = {name: band for name, band in bands.items() if band is not None}
    setting = book.samples("motor.set_current")
    share, ambient = _sure(book, "motor.derating_share"), _sure(book, "ambient.motor")
    cautious, thermal = _sure(book, "motor.rating_as_peak"), _sure(book, "motor.rating_as_rms")
    derated, rated = _sure(book, "motor.derated_current"), _sure(book, "motor.rated_current_rms")
    lowest = limit_set_by(book, of=limits)
    governed = lowest.name if lowest is not None else ""
    chip = asked["driver"] is not None
    return DerateReport(
        rating=amperes,
        basis=asked["basis"],
        share=share.value,
        rated_current_rms=rated,
        derated_current=derated,
        set_current=setting,
        no_setting=None if setting is not None else _no_setting(governed, derated, ambient),
        applied_current=_band(book, "motor.applied_current") if chip else None,
        winding_temperature=_band(book, "motor.winding_temperature"),
        case_temperature=_band(book, "motor.case_temperature"),
        limits=limits,
        governed_by=governed,
        cautious=_scaled(cautious, share.value),
        thermal=thermal,
        peak_amplitude=setting * math.sqrt(2.0) if setting is not None else None,
        ambient=ambient,
        mount=asked["mount"],
        driver=book.samples("driver.chip"),
        sense_resistor=book.samples("driver.sense_resistor"),
        full_scale_current=_band(book, "driver.full_scale_current"),
        assumptions=_assumptions(book, asked),
        cautions=_CAUTIONS,
    )


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
            f"air of {ambient.value:.0f} degC at the motor already meets the limit of {part}: "
            "no current is safe there; change the mount or cool the motor"
        )
    return (
        f"the driver's smallest step is above {derated.value:.3f} A; "
        "a larger sense resistor makes finer steps"
    )


def _assumptions(book: FactBook, asked: Mapping[str, Any]) -> tuple[str, ...]:
    said = []
    if asked["basis"] == "unsure":
        said.append(
            "The rating is read as a peak per phase, the cautious way; if the datasheet means "
            "RMS with both phases on, the motor bears the thermal figure."
        )
    if asked["ambient"] is None:
        said.append(f"Air at the motor: {_said(book, 'ambient.motor')}.")
    if asked["mount"] is None:
        said.append(
            "Mount: not stated, so it sets no limit here; a printed mount softens and cools "
            f"less (heat resistance over the rating's: {_said(book, 'motor.mount_factor')})."
        )
    if asked["driver"] is None:
        said.append("Driver: not stated; its rounding can move the current by a few percent.")
    rise = _said(book, "motor.rated_rise")
    said.append(f"Winding rise at the full rating, both phases on: {rise}.")
    return tuple(said)


def _said(book: FactBook, name: str) -> str:
    fact, band = book.facts[name], _sure(book, name)
    unit = f" {fact.unit}" if fact.unit not in ("-", "") else ""
    return f"{band.value:.3g} ({band.low:.3g}-{band.high:.3g}){unit}"


_CAUTIONS = (
    "A motor case can burn skin long before the motor is harmed: let it cool, or measure it.",
    "The motor's and the driver's datasheets hold over these figures.",
    "Change the current with the machine idle, then feed slowly; measure the case after 10 min.",
)
