"""The pieces every section is laid out with: headings, tables, figures, lists of terms, numbers.

They give each part of the page an id of its own and headings in order. The frame of every page is
one self-contained document that loads nothing, known as ours.

Elements of HTML and SVG are built from plain text, so that no value of the user's is ever markup.
Whatever is no `Markup` is text: control characters become escapes, units are written as people
write them, the rest is quoted. What is to be typed or stands in a file (`code`, `verbatim`) keeps
its letters. It can make no element that loads anything: an address may only point into the page.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from html import escape
from importlib.resources import files
from typing import TypeAlias

from advisor.base import Band, frozen
from advisor.report.clean import plain
from advisor.report.json import number
from advisor.report.look import typeset
from advisor.report.pictures.palette import PALETTE

__all__ = [
    "MARK",
    "Child",
    "Markup",
    "Part",
    "Place",
    "data",
    "document",
    "element",
    "heading",
    "join",
    "list_of",
    "path_of",
    "section",
    "table",
    "terms",
    "verbatim",
]

VOID = frozenset({"br", "col", "hr", "link", "meta", "wbr"})
_AS_IT_IS = frozenset({"code", "pre", "style"})
_HEARD = frozenset({"aria_label", "title"})
_LOADING = frozenset({"src", "srcset", "poster", "action", "formaction", "background"})
_RANGE = re.compile(r"(\(-?[\d.]+(?:-| to )[\d.]+\))")
_PROSE = 28  # characters from which a cell is a sentence
MARK = '<meta name="generator" content="feedwright'
"""By this a file is known as a page of ours."""
_POLICY = "default-src 'none'; style-src 'unsafe-inline'"


class Markup(str):
    """Text that is markup already, made by `element`."""

    __slots__ = ()


Child: TypeAlias = "Markup | str | int | Iterable[Child] | None"


def element(name: str, /, *children: Child, **attributes: str | float | bool | None) -> Markup:
    """Return one element.

    Parameters
    ----------
    name : str
        Of the element.
    *children : str, int, None, or iterables of them
        What is in it: markup as it is, anything else as text.
    **attributes : str, float, bool or None
        ``class_`` is ``class``, ``aria_label`` is ``aria-label``; True stands alone, None and
        False are left out.

    Raises
    ------
    ValueError
        For an attribute that would load something, or an address outside the page.
    """
    opened = f"<{name}{''.join(_attribute(key, value) for key, value in attributes.items())}>"
    if name in VOID:
        return Markup(opened)
    return Markup(f"{opened}{join(children, typed=name in _AS_IT_IS)}</{name}>")


def join(children: Child, *, typed: bool = False) -> Markup:
    """Return children one after another; `typed` keeps units as they are."""
    if children is None:
        return Markup("")
    if isinstance(children, Markup):
        return children
    if isinstance(children, str | int):
        text = str(children)
        return verbatim(text if typed else typeset(text))
    return Markup("".join(join(child, typed=typed) for child in children))


def verbatim(text: str) -> Markup:
    """Return a text of a file, a path or a command as it is, quoted."""
    return Markup(escape(plain(text)))


def _attribute(key: str, value: str | float | bool | None) -> str:
    if value is None or value is False:
        return ""
    name = key.rstrip("_").replace("_", "-")
    if value is True:
        return f" {name}"
    if name in _LOADING or (name == "href" and not str(value).startswith("#")):
        raise ValueError(f"{name}={value!r} would leave the page")
    text = typeset(str(value)) if key in _HEARD else str(value)
    return f' {name}="{escape(plain(text))}"'


@frozen
class Place:
    """A place of the page: what ids there begin with, the level of its headings, whose it is."""

    prefix: str
    level: int
    whose: str = ""  # ", extruder1" where there are several; said in headings
    config: str = ""  # ", printer.cfg" where there are several; not said in headings

    @property
    def label(self) -> str:
        """What tells its tables and pictures from those of other places, when read out alone."""
        return f"{self.whose}{self.config}"

    def id(self, name: str) -> str:
        """Return an id that no other place has."""
        return f"{self.prefix}{name}"


@frozen
class Part:
    """A section of the page, with its id, its title and whose it is for the list of contents."""

    id: str
    title: str
    markup: Markup
    whose: str = ""  # the extruder, where there are several


def heading(place: Place, text: Child, *, deeper: int = 0, name: str | None = None) -> Markup:
    """Return a heading of the place's level or one below it."""
    return element(f"h{place.level + deeper}", text, id=place.id(name) if name else None)


def section(place: Place, name: str, title: str, *children: Child) -> Part:
    """Return a section with its heading, to which `name` leads."""
    own, head = place.id(name), heading(place, title + place.whose)
    whole = element("section", head, *children, id=own, class_=f"part on-{name}")
    return Part(own, title, whole, place.whose.removeprefix(", "))


def terms(pairs: Iterable[tuple[str, Child]], *, kind: str = "") -> Markup | None:
    """Return a list of terms; None where there are none. Those without words are left out."""
    rows = [
        element("div", element("dt", term), element("dd", words)) for term, words in pairs if words
    ]
    return element("dl", *rows, class_=f"terms {kind}".strip()) if rows else None


def list_of(children: Iterable[Child], *, kind: str | None = None) -> Markup | None:
    """Return a list of points; None where there are none."""
    points = [element("li", child) for child in children]
    return element("ul", *points, class_=kind) if points else None


def table(
    caption: str,
    heads: Sequence[str],
    rows: Iterable[Sequence[Child]],
    *,
    label: str = "",
    marked: Iterable[int] = (),
    fits: bool = False,
) -> Markup:
    """Return a table that scrolls alone where it is wider than the page.

    Parameters
    ----------
    caption : str
        What it shows.
    heads : sequence of str
        Of the columns.
    rows : iterable of sequence
        The first cell of each heads its row.
    label : str, optional
        Said with the caption to tell tables apart that have the same.
    marked : iterable of int, optional
        The rows to stand out.
    fits : bool, optional
        Whether it has so few columns that its cells may wrap and it fits a phone.
    """
    marked = frozenset(marked)
    body = [_row(row, number in marked) for number, row in enumerate(rows)]
    head = element("tr", *(element("th", text, scope="col") for text in heads))
    whole = element(
        "table", element("caption", caption), element("thead", head), element("tbody", *body),
        class_="fits" if fits else None,
    )  # fmt: skip
    return element(
        "div", whole, class_="wide", role="region", aria_label=f"{caption}{label}", tabindex="0"
    )


def _row(row: Sequence[Child], marked: bool) -> Markup:
    first, *others = row
    cells = [element("th", first, scope="row"), *map(_cell, others)]
    return element("tr", *cells, class_="marked" if marked else None)


def _cell(child: Child) -> Markup:
    """Return a cell; only sentences wrap, so that no number is torn apart."""
    prose = isinstance(child, list) or (isinstance(child, str) and len(child) > _PROSE)
    prose = prose and not isinstance(child, Markup)
    return element("td", _whole(child), class_="prose" if prose else None)


def _whole(child: Child) -> Child:
    """Return a text whose ranges in brackets are not torn apart where it wraps."""
    if not isinstance(child, str) or isinstance(child, Markup):
        return child
    parts = _RANGE.split(child)
    return [element("span", x, class_="whole") if i % 2 else x for i, x in enumerate(parts)]


def path_of(text: str) -> Markup:
    """Return a path or place that breaks behind its slashes, not within a name."""
    parts: list[Child] = []
    for piece in map(verbatim, text.split("/")):
        parts += ["/", element("wbr"), piece] if parts else [piece]
    return element("span", parts, class_="path")


def data(shown: Child, band: Band | None) -> Markup:
    """Return a number with its exact value and ends beside the text that is shown."""
    if band is None or number(band.value) is None:
        return element("span", _whole(shown))
    return element(
        "data", _whole(shown),
        value=number(band.value), data_low=number(band.low), data_high=number(band.high),
    )  # fmt: skip


def document(title: str, version: str, body: Markup, *, sheet: str = "style.css") -> str:
    """Return a whole page.

    Parameters
    ----------
    title : str
        Of the page.
    version : str
        Of the program that made it.
    body : Markup
        The page's ``body``.
    sheet : str
        The style sheet beside ours that its layout is in.
    """
    head = element(
        "head",
        element("meta", charset="utf-8"),
        element("meta", name="generator", content=f"feedwright {version}"),
        element("meta", http_equiv="Content-Security-Policy", content=_POLICY),
        element("meta", name="viewport", content="width=device-width, initial-scale=1"),
        element("meta", name="color-scheme", content="light dark"),
        element("title", title),
        element("style", Markup(_style(sheet))),
    )
    return f"<!DOCTYPE html>\n{element('html', head, body, lang='en')}\n"


def _style(sheet: str = "style.css") -> str:
    """Return the style sheet of a page, by the file its layout is in, as one text."""
    layout = files("advisor.report.html").joinpath(sheet).read_text(encoding="utf-8")
    light, dark = _colours("light"), _colours("dark")
    return (
        f":root{{color-scheme:light dark;{light}}}\n"
        f"@media screen and (prefers-color-scheme:dark){{:root{{{dark}}}}}\n"
        f"{layout}"
    )


def _colours(kind: str) -> str:
    return "".join(f"--{name}:{value};" for name, value in PALETTE[kind].items())
