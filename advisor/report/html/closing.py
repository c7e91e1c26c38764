"""The end of the page: cautions, and how it was made."""

from __future__ import annotations

from advisor.report.html.elements import Markup, element
from advisor.report.html.layout import Part, Place, list_of, section
from advisor.report.html.marks import nozzle
from advisor.report.html.parts import PageParts

__all__ = ["cautions_section", "page_foot"]

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


def cautions_section(place: Place) -> Part:
    """Return the section of the cautions that always hold; others stand where they belong."""
    told = (_HOT, _MOVING, _MAINS, _CURRENT, _DEFER)
    return section(place, "cautions", "Cautions", list_of(told))


def page_foot(parts: PageParts) -> Markup:
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
