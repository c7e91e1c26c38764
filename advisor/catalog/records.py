"""The frozen records of the catalogue; they hold and look up, and compute nothing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import field

from advisor.base import InputError, Span, frozen, near_miss

__all__ = ["CATEGORIES", "Catalog", "CatalogNumber", "Entry", "FactInfo", "Source"]

CATEGORIES: Mapping[str, str] = {  # attribute and file of the catalogue: one of its entries
    "materials": "material",
    "motors": "motor class",
    "hotends": "hotend class",
    "inserts": "nozzle insert",
    "drives": "drive class",
    "mounts": "motor mount",
    "drivers": "driver chip",
    "supplies": "supply",
    "paths": "filament path",
}


@frozen
class CatalogNumber:
    """A number of the catalogue with its spread, in SI units.

    ``unit`` is the trade unit it was written in; ``status`` is found, memory,
    common-practice or derived; ``source`` an id of rules/sources.yaml.
    """

    low: float
    typical: float
    high: float
    unit: str
    source: str
    status: str
    about: str = ""

    @property
    def exact(self) -> bool:
        """Whether there is no spread."""
        return self.low == self.high


@frozen
class Entry:
    """One thing of the catalogue: numbers and texts by the name of the fact they feed.

    ``suggest`` is a condition over facts under which this class is assumed where none is named.
    Where it is assumed and ``shares_when`` holds, half of the ensemble is of ``shares_with``.
    """

    name: str
    title: str
    numbers: Mapping[str, CatalogNumber]
    texts: Mapping[str, str]
    at: Span
    about: str = ""
    suggest: str | None = None
    shares_with: str | None = None
    shares_when: str | None = None


@frozen
class FactInfo:
    """One name of the vocabulary, rules/facts.yaml.

    ``choices`` holds the words that a text may be in the catalogue, each with the numbers that an
    entry of that word needs.
    """

    name: str
    unit: str
    title: str
    stage: str
    about: str = ""
    scope: str = "extruder"
    type: str = "number"
    sheet: str | None = None
    measure: str | None = None
    choices: Mapping[str, Sequence[str]] | None = None


@frozen
class Source:
    """One cited work or practice of rules/sources.yaml."""

    name: str
    what: str
    status: str
    used_for: str


@frozen
class Catalog:
    """Everything under rules/catalogue/, with the vocabulary and the sources."""

    materials: Mapping[str, Entry] = field(default_factory=dict)
    motors: Mapping[str, Entry] = field(default_factory=dict)
    hotends: Mapping[str, Entry] = field(default_factory=dict)
    inserts: Mapping[str, Entry] = field(default_factory=dict)
    drives: Mapping[str, Entry] = field(default_factory=dict)
    mounts: Mapping[str, Entry] = field(default_factory=dict)
    drivers: Mapping[str, Entry] = field(default_factory=dict)
    supplies: Mapping[str, Entry] = field(default_factory=dict)
    paths: Mapping[str, Entry] = field(default_factory=dict)
    model: Entry = field(default_factory=lambda: Entry("chain", "", {}, {}, Span("", 1)))
    sources: Mapping[str, Source] = field(default_factory=dict)
    facts: Mapping[str, FactInfo] = field(default_factory=dict)

    def category(self, category: str) -> Mapping[str, Entry]:
        """Return the entries of a category of `CATEGORIES`, by name."""
        entries: Mapping[str, Entry] = getattr(self, category)
        return entries

    def lookup(self, category: str, name: str, *, at: Span | None = None) -> Entry:
        """Return an entry by its name, in any case.

        Parameters
        ----------
        category : str
            One of `CATEGORIES`.
        name : str
            The name as the user wrote it.
        at : Span, optional
            Where it was written.

        Raises
        ------
        InputError
            If there is no such entry; names the closest one, or all.
        """
        entries = self.category(category)
        entry = entries.get(name.strip().lower())
        if entry is not None:
            return entry
        known = f"known are {', '.join(entries)}"
        problem = f"unknown {CATEGORIES[category]} '{name.strip()}'"
        raise InputError(problem, near_miss(name.strip(), entries) or known, at)

    def fact(self, name: str, *, at: Span | None = None) -> FactInfo:
        """Return a fact of the vocabulary by its name.

        Raises
        ------
        InputError
            If there is no such fact; names the closest one.
        """
        info = self.facts.get(name)
        if info is None:
            raise InputError(f"unknown fact '{name}'", near_miss(name, self.facts) or None, at)
        return info
