"""The page's style sheet: its layout from a file, its colours from the palette."""

from __future__ import annotations

from importlib.resources import files

from advisor.report.pictures.palette import PALETTE

__all__ = ["style"]


def style(sheet: str = "style.css") -> str:
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
