"""What is still open on the page: what to measure next, what was assumed, and what was stated."""

from __future__ import annotations

import functools
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from advisor.base import Band, ExtruderReport, Figure, NextStep, Origin, OriginKind
from advisor.report.answer_notes import next_command
from advisor.report.html.findings import cited
from advisor.report.html.layout import (
    Child,
    Markup,
    Part,
    Place,
    data,
    element,
    join,
    path_of,
    section,
    table,
)
from advisor.report.numbers import ranged, share
from advisor.report.open_text import measure_words

if TYPE_CHECKING:
    from advisor.catalog import FactInfo, Source

__all__ = ["assumptions_section", "measure_section"]

_CAPACITY = "flow.capacity"
_HEADS = ("what", "value", "where from, and the source")
_GROUPS = (
    "Assumed, because nothing states it",
    "Part of the model: the scatter of these is in every range",
    "Stated, and where",
)
_KINDS = {
    OriginKind.COMMAND: "command line", OriginKind.SHEET: "hardware sheet",
    OriginKind.PROFILE: "slicer profile", OriginKind.CONFIG: "config",
    OriginKind.MEASURED: "measured", OriginKind.DEFAULT: "the firmware's default",
    OriginKind.CATALOGUE: "assumed", OriginKind.DERIVED: "worked out",
}  # fmt: skip


def measure_section(place: Place, extruder: ExtruderReport) -> Part | None:
    """Return the section on what to measure next; None where nothing is open that one can."""
    if not extruder.measure_next:
        return None
    points = []
    for entry in extruder.measure_next:
        head = element("b", f"{share(entry.share)}: {measure_words(entry)}")
        points.append(element("li", head, ": ", entry.how))
    lead = "In %: how much of the remaining uncertainty of the capacity it would settle."
    return section(place, "measure", "Measure next", element("p", lead, class_="lead"),
                   element("ol", *points, class_="measures"), _next(extruder.next))  # fmt: skip


def _next(step: NextStep | None) -> Markup | None:
    if step is None:
        return None
    return element("p", f"Next, {step.words}: ", element("code", next_command(step)))


def assumptions_section(
    place: Place,
    extruder: ExtruderReport,
    bands: Mapping[str, Band],
    infos: Mapping[str, FactInfo],
    sources: Mapping[str, Source],
) -> Part | None:
    """Return the section on all that the capacity is made of; None where it is not known.

    Parameters
    ----------
    place : Place
        Where it stands.
    extruder : ExtruderReport
        With the facts.
    bands : mapping of str to Band
        Their numbers.
    infos : mapping of str to FactInfo
        Titles and sheet fields.
    sources : mapping of str to Source
        The cited works.
    """
    capacity = extruder.facts.get(_CAPACITY)
    if capacity is None or not capacity.known:
        return None
    assumed = sorted(capacity.assumed | capacity.defaulted)
    modelled = sorted(capacity.modelled - capacity.assumed - capacity.defaulted)
    stated = sorted(_stated(extruder.facts))
    rows = {
        words: list(_rows(names, extruder.facts, bands, infos, sources))
        for words, names in zip(_GROUPS, (assumed, modelled, stated), strict=True)
    }
    first, *others = (_table(words, found, place) for words, found in rows.items())
    none = None if assumed else element("p", "Nothing about the machine was assumed.")
    return section(place, "assumptions", "Assumptions and sources", none, first, others)


def _table(words: str, rows: Sequence[Sequence[Child]], place: Place) -> Markup | None:
    """Return the table of a group; all but the first wait to be opened."""
    if not rows:
        return None
    made = table(words, _HEADS, rows, label=place.label, fits=True)
    if words == _GROUPS[0]:
        return made
    return element("details", element("summary", f"{words} ({len(rows)})"), made)


def _rows(
    names: Sequence[str],
    facts: Mapping[str, Figure],
    bands: Mapping[str, Band],
    infos: Mapping[str, FactInfo],
    sources: Mapping[str, Source],
) -> Iterator[Sequence[Child]]:
    for name in names:
        fact, info = facts.get(name), infos.get(name)
        if fact is None:
            continue
        title = info.title if info is not None else name
        cites = "; ".join(cited(fact.origin.source, sources))
        field = info.sheet if info is not None else None
        value = _value(fact.said, bands.get(name), fact.unit)
        yield _row(name, title, value, fact.origin, field, cites)


@functools.lru_cache(maxsize=512, typed=True)
def _row(
    name: str, title: str, value: str, origin: Origin, field: str | None, cites: str
) -> Sequence[Child]:
    """Return the cells of a row; most are the same for each extruder of a page."""
    where = join([_where(origin, field), element("span", cites, class_="cited")])
    return element("span", title, data_fact=name), value, [where]


@functools.lru_cache(maxsize=512, typed=True)
def _value(said: str | None, band: Band | None, unit: str) -> str:
    if said is not None:
        return said
    return "not known" if band is None else data(ranged(band, unit), band)


def _where(origin: Origin, field: str | None) -> Child:
    """Return where a value is from; of what nobody states, the field of the sheet for it."""
    words = _KINDS[origin.kind]
    if origin.at is not None:
        return [f"{words}, ", path_of(str(origin.at))]
    if field and origin.kind in (OriginKind.CATALOGUE, OriginKind.DEFAULT):
        return [f"{words}; sheet: ", element("code", field)]
    return words


def _stated(facts: Mapping[str, Figure]) -> set[str]:
    """Return the facts under the capacity that somebody states."""
    seen: set[str] = set()
    waiting = [_CAPACITY]
    while waiting:
        name = waiting.pop()
        if name not in seen and name in facts:
            seen.add(name)
            waiting += facts[name].inputs
    silent = (OriginKind.DERIVED, OriginKind.CATALOGUE, OriginKind.DEFAULT)
    return {name for name in seen if facts[name].known and facts[name].origin.kind not in silent}
