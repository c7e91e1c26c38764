"""Puts a picture beside its figures: drawn where the optional library is there, the table always.

It draws nothing itself; it gives the ids within each picture a name of their own, so that several
can stand on one page.
"""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Callable

from advisor.report.clean import plain
from advisor.report.html.layout import Child, Markup, Place, element

__all__ = ["SHADED", "drawn", "figure_with_table", "how_to_get", "with_own_ids"]

SHADED = "Shaded: the range for 9 in 10 machines like this one."

_ID = re.compile(r'(?<=\s)id="([^"]+)"')
_HEAD = re.compile(r"^.*?(?=<svg)", re.DOTALL)


def drawn(name: str, record: object, place: Place) -> Markup | None:
    """Return the picture of a record, with ids that begin as the place's; None where there is none.

    Parameters
    ----------
    name : str
        Of the function in `advisor.report.pictures` that draws it.
    record : object
        What it draws.
    place : Place
        Where it stands.
    """
    from advisor.report import pictures

    if not pictures.available():
        return None
    svg = getattr(pictures, name)(shown(record))
    return with_own_ids(svg, place.id(name.replace("_", "-"))) if svg else None


def shown(value: object) -> object:
    """Return the same record with all its text as it may be shown, without control characters."""
    if type(value) is str:
        return plain(value)
    if isinstance(value, tuple):
        return value if value and isinstance(value[0], float) else tuple(map(shown, value))
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        fields = {x.name: shown(getattr(value, x.name)) for x in dataclasses.fields(value)}
        return dataclasses.replace(value, **fields)
    return value


def with_own_ids(svg: str, prefix: str) -> Markup:
    """Return an SVG element whose ids, and what points at them, begin with `prefix`."""
    svg = _HEAD.sub("", svg, count=1).strip()
    ids = set(_ID.findall(svg))
    if not ids:
        return Markup(svg)
    named = "|".join(sorted(map(re.escape, ids), key=len, reverse=True))
    svg = re.sub(rf'(?<=\sid=")({named})(?=")', rf"{prefix}-\1", svg)
    svg = re.sub(rf"(?<=#)({named})(?=[\"')])", rf"{prefix}-\1", svg)
    return Markup(re.sub(r'(?<=aria-labelledby=")([^"]*)(?=")', _labelled(prefix, ids), svg))


def _labelled(prefix: str, ids: set[str]) -> Callable[[re.Match[str]], str]:
    def replaced(match: re.Match[str]) -> str:
        return " ".join(f"{prefix}-{x}" if x in ids else x for x in match[1].split())

    return replaced


def figure_with_table(
    picture: Markup | None, caption: str, *tables: Child, label: str = ""
) -> Markup:
    """Return a picture with its figures below it; without a picture the figures stand open."""
    if picture is None:
        return element("div", tables, class_="figures")
    shown = element("summary", "The figures as a table")
    return element(
        "figure",
        element("div", picture, class_="wide drawing", role="region", tabindex="0",
                aria_label=f"Picture: {caption}{label}"),
        element("figcaption", caption),
        element("details", shown, tables, class_="figures"), class_="picture",
    )  # fmt: skip


def how_to_get() -> Markup | None:
    """Return the sentence on how to get the pictures; None where they are there."""
    from advisor.report import pictures

    if pictures.available():
        return None
    command = element("code", "pip install 'feedwright[pictures]'")
    copy = element("code", "pip install '.[pictures]'")
    return element(
        "p", "The figures stand in tables here; with ", command, " (in a copy of the project: ",
        copy, ") the page draws them too.", class_="lead",
    )  # fmt: skip
