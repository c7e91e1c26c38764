"""Assembles the page: head, contents, a part for each config, cautions, foot."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from advisor.base import Band
from advisor.report.html.edits import edits_section
from advisor.report.html.findings import findings_section
from advisor.report.html.grip import grip_section
from advisor.report.html.header import answer, machines_table, page_head, title_of
from advisor.report.html.layout import (
    Child,
    Markup,
    Part,
    Place,
    document,
    element,
    heading,
    list_of,
    path_of,
    section,
)
from advisor.report.html.marks import nozzle
from advisor.report.html.open_points import assumptions_section, measure_section
from advisor.report.html.parts import ConfigPart, ExtruderPart, PageParts
from advisor.report.html.prints import no_print_section, print_section
from advisor.report.html.torque import force_section, torque_section
from advisor.report.html.way import way_section
from advisor.report.html.weighed import weighed_section
from advisor.report.numbers import bands

__all__ = ["render"]

_Numbers = Mapping[str, Mapping[str, Band]]

_HOT = (
    "The motor may be hot enough to burn, the hot end always is: let both cool before you touch "
    "them."
)
_MOVING = "Gears and belts pull in fingers, hair and sleeves: work on them with the machine off."
_MAINS = (
    "Heater and power supply may carry mains voltage: unplug the machine before you open it, and "
    "leave work on the mains to those who are licensed for it."
)
_CURRENT = (
    "A current above what motor and mount are rated for can melt a printed mount or start a fire; "
    "do not leave a machine alone while you try a new setting."
)
_DEFER = (
    "Datasheets, local codes and licensed practice go before any figure on this page: these are "
    "estimates, and 1 in 10 machines lies outside the brackets."
)


def render(parts: PageParts) -> str:
    """Return the whole page, complete in itself.

    Parameters
    ----------
    parts : PageParts
        What it shows.
    """
    several = len(parts.configs) > 1
    numbers = [_numbers(part) for part in parts.configs]
    shown = [_config(number, parts, own) for number, own in enumerate(numbers, 1)]
    ends = _cautions(Place("", 2))
    listed = [part for listed, _ in shown for part in listed]
    body = element(
        "body",
        element("a", "Skip to the main part", href="#main", class_="skip"),
        page_head(parts, machines_table(parts) if several else _answer(1, parts, numbers[0])),
        _contents([*listed, ends]),
        element("main", [markup for _, markup in shown], ends.markup, id="main", tabindex="-1"),
        _foot(parts),
    )
    return document(title_of(parts), parts.version, body)


def _contents(listed: Iterable[Part]) -> Markup:
    """Return links to all parts; what each of several extruders has stands in one point."""
    by_title: dict[str, list[Part]] = {}
    for part in listed:
        by_title.setdefault(part.title if part.whose else part.id, []).append(part)
    points = [element("li", *_links(same)) for same in by_title.values()]
    return element("nav", element("ul", *points), aria_label="On this page", class_="contents")


def _links(same: Sequence[Part]) -> Iterator[Child]:
    if same[0].whose:
        yield f"{same[0].title}: "
    for number, part in enumerate(same):
        yield ", " if number else None
        yield element("a", part.whose or part.title, href=f"#{part.id}")


def _numbers(part: ConfigPart) -> _Numbers:
    return {one.report.name: bands(one.report.facts) for one in part.extruders}


def _place(number: int, parts: PageParts) -> Place:
    if len(parts.configs) == 1:
        return Place("", 2)
    return Place(f"c{number}-", 3, config=f", {parts.configs[number - 1].config}")


def _answer(number: int, parts: PageParts, numbers: _Numbers) -> Markup:
    return answer(_place(number, parts), parts.configs[number - 1], numbers)


def _config(number: int, parts: PageParts, numbers: _Numbers) -> tuple[list[Part], Markup]:
    """Return what the list of contents has of a config, and the config's part of the page."""
    part, place = parts.configs[number - 1], _place(number, parts)
    told = [one for one in _sections(place, part, parts, numbers) if one is not None]
    shown = [one.markup for one in told]
    if len(parts.configs) == 1:
        return told, element("div", shown, class_="config")
    above = Place(place.prefix, place.level - 1)
    called = part.extruders[0].report.called if part.extruders else None
    words = [f"{called}, " if called else "", path_of(part.config)]
    head = heading(above, words, name="config")
    whole = element("div", head, _answer(number, parts, numbers), shown, class_="config")
    return [Part(above.id("config"), part.config, whole)], whole


def _sections(
    place: Place, part: ConfigPart, parts: PageParts, numbers: _Numbers
) -> Iterator[Part | None]:
    several = len(part.extruders) > 1
    owned = [(_place_of(place, part, n, several=several), one)
             for n, one in enumerate(part.extruders, 1)]  # fmt: skip
    for own, one in owned:
        yield way_section(own, one.report, numbers[one.report.name])
    if not part.extruders and part.report.errors and not part.report.findings:
        return
    yield findings_section(place, part.report, parts.sources, several=several)
    yield edits_section(place, part.mend)
    for own, one in owned:
        yield from _extruder(own, one, parts, numbers[one.report.name])


def _place_of(place: Place, part: ConfigPart, number: int, *, several: bool) -> Place:
    name = part.extruders[number - 1].report.name
    if not several:
        return place
    return Place(place.id(f"e{number}-"), place.level, f", {name}", place.config)


def _extruder(
    place: Place, one: ExtruderPart, parts: PageParts, numbers: Mapping[str, Band]
) -> Iterator[Part | None]:
    if one.force is not None:
        yield force_section(place, one.force)
    if one.torque is not None:
        yield torque_section(place, one.torque)
    if one.grip is not None:
        yield grip_section(place, one.grip)
    if one.demand is not None:
        yield print_section(place, one.demand)
    elif one.no_demand:
        yield no_print_section(place, one.no_demand)
    if one.tests:
        yield weighed_section(place, one.tests, one.report)
    yield measure_section(place, one.report)
    yield assumptions_section(place, one.report, numbers, parts.facts, parts.sources)


def _cautions(place: Place) -> Part:
    """Return the section of the cautions that always hold; others stand where they belong."""
    told = (_HOT, _MOVING, _MAINS, _CURRENT, _DEFER)
    return section(place, "cautions", "Cautions", list_of(told))


def _foot(parts: PageParts) -> Markup:
    """Return the foot of the page."""
    command = element("code", parts.command)
    return element(
        "footer",
        nozzle(),
        element("p", f"Made by feedwright {parts.version}. To make it again: ", command),
        element("p", "The page loads nothing and holds no time of day: the same files give the "
                "same page."),
        class_="foot",
    )  # fmt: skip
