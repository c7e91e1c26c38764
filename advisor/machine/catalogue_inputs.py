"""Turns numbers of the catalogue into facts with samples; chooses nothing itself."""

from __future__ import annotations

from collections.abc import Mapping

from advisor.base import Fact, Origin, OriginKind, Quantity, Span, State, Text, Trace
from advisor.catalog import CatalogNumber, Entry
from advisor.machine.ensemble import Ensemble
from advisor.machine.graph import FactBook

__all__ = ["MACHINE", "WHOLE", "band_samples", "put_entry", "put_number", "put_stated", "put_text"]

MACHINE = frozenset(
    {
        "drive.driven_gears",
        "drive.mount_limit",
        "filament.diameter",
        "filament.material",
        "hotend.melt_length",
        "hotend.temperature",
        "motor.holding_torque",
        "motor.rated_current",
        "motor.run_current",
        "nozzle.diameter",
    }
)
"""The facts that make up "the machine": one that nobody states is an assumption.

Whatever else the catalogue supplies counts as part of the model: its spread is in the band.
"""

WHOLE = frozenset(
    {"drive.driven_gears", "drive.stages", "hotend.channels", "motor.full_steps", "motor.phases_on"}
)


def band_samples(
    ensemble: Ensemble, name: str, *, low: float, typical: float, high: float
) -> Quantity:
    """Return the samples of a band: a float where it has no spread, whole where it must be."""
    if low == high:
        return typical
    samples = ensemble.spread(name, low=low, typical=typical, high=high)
    return samples.round() if name in WHOLE else samples


def put_stated(book: FactBook, fact: Fact) -> None:
    """Put a stated fact; its band, if it has one, as samples."""
    number = fact.number
    if number is None or number.ends is None:
        book.facts[fact.name] = fact
        return
    key = ("stated", id(fact), id(book.ensemble))
    low, high = number.ends
    band = {"low": low, "typical": number.nominal, "high": high}
    book.take(key, (fact, book.ensemble), lambda: _sampled(book.ensemble, fact, band))


def _sampled(ensemble: Ensemble, fact: Fact, band: Mapping[str, float]) -> Fact:
    return fact.holding(band_samples(ensemble, fact.name, **band))


def put_number(
    book: FactBook, name: str, number: CatalogNumber, *, assumed: frozenset[str] | None = None
) -> None:
    """Put a catalogue number where nobody states the fact.

    Parameters
    ----------
    book : FactBook
        Where to.
    name : str
        The fact.
    number : CatalogNumber
        Its band in SI units.
    assumed : frozenset of str, optional
        What the number hangs on that nobody stated; None: the fact itself where it is one of
        `MACHINE`, else nothing (it then counts as modelled).
    """
    present = book.facts.get(name)
    if present is not None and present.state in (State.KNOWN, State.UNREADABLE):
        return
    hangs = frozenset({name}) & MACHINE if assumed is None else assumed
    home = present.home if present else None
    parts = (number.low, number.typical, number.high, number.source, number.status)
    key = ("number", name, parts, hangs, home, id(book.ensemble))
    book.take(key, (book.ensemble,), lambda: _of_number(book, name, number, hangs, home))


def _of_number(
    book: FactBook, name: str, number: CatalogNumber, hangs: frozenset[str], home: Span | None
) -> Fact:
    samples = band_samples(
        book.ensemble, name, low=number.low, typical=number.typical, high=number.high
    )
    modelled = frozenset() if hangs or number.exact else frozenset({name})
    return Fact(
        name,
        book.of(name, samples),
        origin=Origin(OriginKind.CATALOGUE, source=f"{number.source} ({number.status})"),
        trace=Trace(assumed=hangs, modelled=modelled),
        home=home,
    )


def put_text(book: FactBook, name: str, text: str, *, source: str | None = None) -> None:
    """Put an assumed text, e.g. a class, where nobody states one."""
    if not book.known(name):
        origin = Origin(OriginKind.CATALOGUE, source=source)
        trace = Trace(assumed=frozenset({name}) & MACHINE)
        book.put(Fact(name, Text(text), origin=origin, trace=trace))


def put_entry(book: FactBook, entry: Entry, *, stated: bool, hangs_on: str | None = None) -> None:
    """Put all numbers of a catalogue entry.

    Parameters
    ----------
    book : FactBook
        Where to.
    entry : Entry
        A material, a class of hardware, a driver or the model.
    stated : bool
        Whether the user named this entry.
    hangs_on : str, optional
        The one fact all numbers hang on where the entry was not named (the material).
    """
    for name, number in entry.numbers.items():
        if stated:
            kept = {"motor.rated_current"} & {name}  # ratings differ too much within a class
            put_number(book, name, number, assumed=frozenset(kept))
        elif hangs_on is not None:
            put_number(book, name, number, assumed=frozenset({hangs_on}))
        else:
            put_number(book, name, number)
