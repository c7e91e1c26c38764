"""Builds HTML and SVG elements from plain text, so that no value of the user's is ever markup.

Whatever is no `Markup` is text: control characters become escapes, the rest is quoted. It can
make no element that loads anything: an address may only point into the page.
"""

from __future__ import annotations

from collections.abc import Iterable
from html import escape
from typing import TypeAlias

from advisor.report.clean import plain

__all__ = ["Child", "Markup", "element", "join"]

VOID = frozenset({"br", "col", "hr", "link", "meta", "wbr"})
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
    return Markup(f"{opened}{join(children)}</{name}>")


def join(children: Child) -> Markup:
    """Return children one after another."""
    if children is None:
        return Markup("")
    if isinstance(children, Markup):
        return children
    if isinstance(children, str | int):
        return Markup(escape(plain(str(children))))
    return Markup("".join(join(child) for child in children))


def _attribute(key: str, value: str | float | bool | None) -> str:
    if value is None or value is False:
        return ""
    name = key.rstrip("_").replace("_", "-")
    if value is True:
        return f" {name}"
    if name in _LOADING or (name == "href" and not str(value).startswith("#")):
        raise ValueError(f"{name}={value!r} would leave the page")
    return f' {name}="{escape(plain(str(value)))}"'
