"""Builds HTML and SVG elements from plain text, so that no value of the user's is ever markup.

Whatever is no `Markup` is text: control characters become escapes, units are written as people
write them, the rest is quoted. What is to be typed or stands in a file (`code`, `verbatim`) keeps
its letters. It can make no element that loads anything: an address may only point into the page.
"""

from __future__ import annotations

from collections.abc import Iterable
from html import escape
from typing import TypeAlias

from advisor.report.clean import plain
from advisor.report.look import typeset

__all__ = ["Child", "Markup", "element", "join", "verbatim"]

VOID = frozenset({"br", "col", "hr", "link", "meta", "wbr"})
_AS_IT_IS = frozenset({"code", "pre", "style"})
_HEARD = frozenset({"aria_label", "title"})
_LOADING = frozenset({"src", "srcset", "poster", "action", "formaction", "background"})


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
