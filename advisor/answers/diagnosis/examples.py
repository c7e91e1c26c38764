"""Tries the examples of a cause: of what people would say of it, its family is a first one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from advisor.answers.diagnosis.answer import odds_for
from advisor.answers.diagnosis.cause_book import Cause, CauseBook, CauseExample
from advisor.answers.diagnosis.evidence import evidence_of
from advisor.answers.diagnosis.odds import Odds
from advisor.answers.diagnosis.sightings import SeenTexts, read_seen
from advisor.base import parse_unit
from advisor.data import parse_quantity
from advisor.machine import Change, Machine

__all__ = ["misses"]


def misses(cause: Cause, machine: Machine, book: CauseBook) -> Iterator[str]:
    """Yield a sentence for each example of a cause in which it comes too far down.

    Parameters
    ----------
    cause : Cause
        One of the book's.
    machine : Machine
        The machine that the examples are told of; their 'with' goes on top.
    book : CauseBook
        All causes.
    """
    for number, example in enumerate(cause.examples, start=1):
        stated = {name: _value(machine, name, text) for name, text in example.stated.items()}
        one = machine.with_(stated) if stated else machine
        seen = read_seen(_texts(example), book)
        odds, _ = odds_for(one, evidence_of(seen, book), book)
        families = _families(odds)
        if not any(fit.causes[0] is cause for fit in odds.fits):
            yield f"{cause.place}: '{cause.name}' does not apply in its example {number}"
        elif cause.family not in families[: example.among]:
            first, place = ", ".join(families[: example.among]), families.index(cause.family) + 1
            yield (
                f"{cause.place}: the family of '{cause.name}' is number {place} in its example "
                f"{number}, after {first}"
            )


def _families(odds: Odds) -> list[str]:
    """Return the families, the likeliest first: what is of one family few words can part."""
    summed: dict[str, float] = {}
    for fit, share in zip(odds.fits, odds.shares, strict=True):
        family = fit.causes[0].family
        summed[family] = summed.get(family, 0.0) + share
    return sorted(summed, key=lambda family: -summed[family])


def _texts(example: CauseExample) -> SeenTexts:
    given: Mapping[str, str] = example.measured
    fed = (given["fed"],) if "fed" in given else ()
    single = {name: value for name, value in given.items() if name != "fed"}
    return SeenTexts(
        sees=example.sees, sees_not=example.sees_not, did=example.did, fed=fed, **single
    )


def _value(machine: Machine, name: str, text: object) -> Change:
    """Return what a fact is set to, in SI; 'none' takes back what is stated."""
    if text == "none":
        return None
    info = machine.catalog.fact(name)
    if info.type != "number":
        return text if isinstance(text, bool) else str(text)
    return float(parse_quantity(str(text), parse_unit(info.unit)).typical)
