"""The frame of every page: one self-contained document that loads nothing, known as ours."""

from __future__ import annotations

from importlib.resources import files

from advisor.report.html.elements import Markup, element
from advisor.report.pictures.palette import PALETTE

__all__ = ["MARK", "document"]

MARK = '<meta name="generator" content="feedwright'
"""By this a file is known as a page of ours."""

_POLICY = "default-src 'none'; style-src 'unsafe-inline'"


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
