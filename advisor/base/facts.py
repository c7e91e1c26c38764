"""Facts: a named value with its state, its origin and what it hangs on; and as answers hold it."""

from __future__ import annotations

import dataclasses
import enum
from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import NamedTuple

from advisor.base.errors import Span
from advisor.base.number import Band, Number, Quantity, Raw, Value, value_of
from advisor.base.record import frozen

__all__ = ["Fact", "Figure", "Figures", "Origin", "OriginKind", "State", "Trace"]


class State(enum.StrEnum):
    """What is known of a fact."""

    KNOWN = "known"
    MISSING = "missing"  # nobody states it and there is no default
    UNKNOWN = "unknown"  # not stated in what could be read, and an include is missing
    UNREADABLE = "unreadable"  # stated, but its text is no value


class OriginKind(enum.StrEnum):
    """Where a value comes from."""

    COMMAND = "command"
    SHEET = "sheet"
    PROFILE = "profile"
    CONFIG = "config"
    MEASURED = "measured"
    DEFAULT = "default"  # the firmware applies it when the setting is missing
    CATALOGUE = "catalogue"  # assumed
    DERIVED = "derived"


@frozen
class Origin:
    """Where a value comes from: kind, place, and the cited source of catalogue values."""

    kind: OriginKind
    at: Span | None = None
    source: str | None = None  # "id (status)" of rules/sources.yaml, or a formula in words
    setting: str | None = None  # the input's own key, as the user writes it
    text: str | None = None  # the user's own text of the value


class Trace(NamedTuple):
    """What a fact was made of, and what it hangs on.

    ``assumed`` names the primary inputs it hangs on that nobody stated (catalogue entries of
    hardware and material); ``modelled`` those that are constants of the model itself;
    ``defaulted`` those that are the firmware's defaults.
    """

    inputs: tuple[str, ...] = ()
    formula: str | None = None
    assumed: frozenset[str] = frozenset()
    modelled: frozenset[str] = frozenset()
    defaulted: frozenset[str] = frozenset()

    @classmethod
    def joined(cls, parts: Collection[Fact], formula: str, *, inputs: Iterable[str]) -> Trace:
        """Return the trace of what is made of other facts: it hangs on all they hang on."""
        traces = [part.trace for part in parts]
        return cls(
            inputs=tuple(inputs),
            formula=formula,
            assumed=frozenset().union(*(trace.assumed for trace in traces)),
            modelled=frozenset().union(*(trace.modelled for trace in traces)),
            defaulted=frozenset().union(*(trace.defaulted for trace in traces)),
        )


_NO_TRACE, _DERIVED = Trace(), Origin(OriginKind.DERIVED)


@frozen
class Fact:
    """A named value with unit, spread, origin and trace.

    ``value`` is None unless ``state`` is known; ``home`` is where a missing value would be
    stated: its section's header.
    """

    name: str
    value: Value | None = None
    state: State = State.KNOWN
    origin: Origin = _DERIVED
    trace: Trace = _NO_TRACE
    home: Span | None = None

    @classmethod
    def of(
        cls,
        name: str,
        unit: str,
        raw: Raw | Fact,
        *,
        origin: Origin = _DERIVED,
        trace: Trace = _NO_TRACE,
        home: Span | None = None,
    ) -> Fact:
        """Return the fact of what a reader hands in, in SI units; `unit` is that of a number.

        A fact that is handed in stays what it is.
        """
        if isinstance(raw, Fact):
            return raw
        return cls(name, value_of(raw, unit), origin=origin, trace=trace, home=home)

    def holding(self, si: Quantity) -> Fact:
        """Return the same fact, a number, with other samples: [SI]."""
        unit = "" if self.number is None else self.number.unit
        return dataclasses.replace(self, value=Number(si, unit))

    def traced(self, trace: Trace) -> Fact:
        """Return the same fact with another trace."""
        return dataclasses.replace(self, trace=trace)

    @property
    def known(self) -> bool:
        """Whether there is a value."""
        return self.state is State.KNOWN

    @property
    def number(self) -> Number | None:
        """Its number; None where it is a word, or not known."""
        return None if self.value is None else self.value.number

    @property
    def nominal(self) -> float | None:
        """The number of the nominal machine, in SI units; None where it has none."""
        number = self.number
        return None if number is None else number.nominal

    @property
    def text(self) -> str | None:
        """Its text; None where it is a number or a flag, or not known."""
        return None if self.value is None else self.value.text

    @property
    def word(self) -> str | bool | None:
        """Its text or flag; None where it is a number, or not known."""
        return None if self.value is None else self.value.word


class Figure:
    """What is known of one fact, in its trade unit: what answers hold and reports show.

    Attributes
    ----------
    name, title, unit : str
        Of rules/facts.yaml; the unit is '-' for a plain number and '' for a word.
    """

    __slots__ = ("_band", "_fact", "name", "title", "unit")

    def __init__(self, fact: Fact, title: str, unit: str) -> None:
        self._fact, self.name, self.title, self.unit = fact, fact.name, title, unit
        self._band: Band | None = None

    @property
    def known(self) -> bool:
        """Whether there is a value."""
        return self._fact.known

    @property
    def state(self) -> State:
        """What is known of it."""
        return self._fact.state

    @property
    def origin(self) -> Origin:
        """Where it comes from."""
        return self._fact.origin

    @property
    def home(self) -> Span | None:
        """Where a missing value would be stated: its section's header."""
        return self._fact.home

    @property
    def inputs(self) -> tuple[str, ...]:
        """The facts it was worked out from."""
        return self._fact.trace.inputs

    @property
    def formula(self) -> str | None:
        """How it was worked out."""
        return self._fact.trace.formula

    @property
    def assumed(self) -> frozenset[str]:
        """The primary facts it hangs on that nobody stated."""
        return self._fact.trace.assumed

    @property
    def modelled(self) -> frozenset[str]:
        """The constants of the model itself that it hangs on."""
        return self._fact.trace.modelled

    @property
    def defaulted(self) -> frozenset[str]:
        """The settings it hangs on at which the firmware's default holds."""
        return self._fact.trace.defaulted

    @property
    def word(self) -> str | bool | None:
        """Its text or flag; None where it is a number, or not known."""
        return self._fact.word

    @property
    def text(self) -> str | None:
        """Its text; None where it is a number or a flag, or not known."""
        return self._fact.text

    @property
    def said(self) -> str | None:
        """Its text, or its flag as people say it; None where it is a number, or not known."""
        if self.word is True:
            return "yes"
        return "no" if self.word is False else self.word

    @property
    def band(self) -> Band | None:
        """Its number for the typical machine, and the range of 9 in 10 machines like it."""
        if self._band is None and (number := self._fact.number) is not None:
            self._band = number.band()
        return self._band

    @property
    def value(self) -> float | str | bool | None:
        """Its number in `unit`, its text or flag; None where it is not known."""
        return self.word if self.band is None else self.band.value

    @property
    def low(self) -> float | None:
        """The low end of the range, in `unit`; None where it is no number."""
        return None if self.band is None else self.band.low

    @property
    def high(self) -> float | None:
        """The high end of the range, in `unit`; None where it is no number."""
        return None if self.band is None else self.band.high

    def __str__(self) -> str:
        band, unit = self.band, "" if self.unit == "-" else f" {self.unit}"
        if band is None:
            return f"not known ({self.state.value})" if self.word is None else str(self.word)
        return f"{band}{unit}"

    def __repr__(self) -> str:
        return f"<Figure {self.name}: {self}>"


class Figures(Mapping[str, Figure]):
    """The facts of one machine by name, each in its trade unit."""

    __slots__ = ("_figures",)

    def __init__(self, figures: Iterable[Figure] = ()) -> None:
        self._figures = {figure.name: figure for figure in figures}

    def __getitem__(self, name: str) -> Figure:
        return self._figures[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._figures)

    def __len__(self) -> int:
        return len(self._figures)

    def __repr__(self) -> str:
        return f"<Figures: {len(self)} facts>"
