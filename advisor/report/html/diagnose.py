"""The page of a diagnosis, for a telephone beside the machine: every word of the text.

The text is written once, for the terminal; here its entries are taken down and laid out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from advisor.answers import DiagnoseReport
from advisor.report.diagnose_text import write
from advisor.report.html.layout import (
    Child,
    Markup,
    Part,
    Place,
    document,
    element,
    path_of,
    section,
    terms,
)
from advisor.report.html.marks import nozzle
from advisor.report.look import Look
from advisor.report.page import Page, Piece

__all__ = ["render_diagnose"]

_PLACE = Place("", 2)
_TITLE = "Diagnosis"
_NOTES = "What the readings tell"
_GOES_ON = " \\"
_ALONE = "What to do"
_ANSWERS = ("answer", "first")


@dataclass
class _Entry:
    """A label and its words, or a command; `deep` stands below the entry before it."""

    label: str
    text: str
    style: str = ""
    deep: bool = False
    command: bool = False


@dataclass(slots=True)
class _Told(Page):
    """Takes down what is written, under its headings, in place of laying it out in lines."""

    parts: list[tuple[str, list[_Entry]]] = field(default_factory=lambda: [("", [])])

    def blank(self) -> None:
        """Begin what stands apart from a list, once there is a heading."""
        if self.parts[-1][0] and self.parts[-1][1]:
            self.parts.append((_NOTES, []))

    def heading(self, text: str) -> None:
        """Begin a part."""
        self.parts.append((text, []))

    def row(self, *pieces: Piece) -> None:
        """Take a line as it is: a command, or what goes on with it."""
        text = "".join(text for text, _ in pieces).strip()
        told = self.parts[-1][1]
        if told and told[-1].command and told[-1].text.endswith(_GOES_ON):
            told[-1].text = told[-1].text.removesuffix(_GOES_ON) + f" {text}"
        else:
            told.append(_Entry("", text, command=True))

    def entry(self, label: str, text: str, *, label_style: str = "", style: str = "") -> None:
        """Take a label and its words."""
        deep = label.startswith(" ")
        self.parts[-1][1].append(_Entry(label.strip(), text, style or label_style, deep))

    def indented(self, text: str, depth: int, *, style: str = "") -> None:
        """Take words that have no label."""
        self.parts[-1][1].append(_Entry("", text, style))


def render_diagnose(
    report: DiagnoseReport, *, command: str, version: str, full: bool = False
) -> str:
    """Return the whole page, complete in itself.

    Parameters
    ----------
    report : DiagnoseReport
        What it shows.
    command : str
        How it is made again.
    version : str
        Of the program.
    full : bool
        Whether it tells all causes and remedies, as `--full` of the text.
    """
    told = _Told(Look())
    write(told, report, full=full)
    (_, first), *others = told.parts
    if not others:
        first, others = first[:1], [(_ALONE, first[1:])]
    parts = [_part(title, entries) for title, entries in others if entries]
    made = f"Made by feedwright {version}. To make it again: "
    foot = element("footer", nozzle(), element("p", made, _command(command)), class_="foot")
    body = element(
        "body",
        element("a", "Skip to the main part", href="#main", class_="skip"),
        _head(report, first),
        _contents(parts),
        element("main", *(part.markup for part in parts), id="main", tabindex="-1"),
        foot,
    )
    return document(f"{_TITLE}: {report.config}", version, body, sheet="session.css")


def _head(report: DiagnoseReport, entries: Sequence[_Entry]) -> Markup:
    seen = "; ".join(report.said)
    return element(
        "header",
        element("p", "feedwright", class_="maker"),
        element("h1", f"{_TITLE}: ", path_of(report.config)),
        element("p", seen, class_="quiet") if seen else None,
        *_laid_out(entries),
        class_="head",
    )


def _contents(parts: Sequence[Part]) -> Markup:
    points = [element("li", element("a", part.title, href=f"#{part.id}")) for part in parts]
    return element("nav", element("ul", points), aria_label="On this page", class_="contents")


def _part(title: str, entries: Sequence[_Entry]) -> Part:
    name = "-".join(title.lower().split()[:2]).strip(":")
    return section(_PLACE, name, title, *_laid_out(entries))


def _laid_out(entries: Sequence[_Entry]) -> Iterator[Child]:
    """Yield the answer large, commands as such, and the others as terms, those below indented."""
    pairs: list[tuple[str, Child]] = []
    kind = ""
    for one in entries:
        alone = _alone(one)
        own = "below" if one.deep else ""
        if pairs and (alone is not None or own != kind):
            yield terms(pairs, kind=kind)
            pairs = []
        kind = own
        if alone is not None:
            yield alone
        else:
            pairs.append((one.label, element("strong", one.text) if _is_cause(one) else one.text))
    yield terms(pairs, kind=kind)


def _alone(one: _Entry) -> Markup | None:
    """Return what stands as a paragraph of its own; None for a term."""
    if one.command:
        return element("p", _command(one.text))
    if one.label in _ANSWERS:
        return element("p", one.text, class_="verdict error" if one.style == "error" else "verdict")
    if not one.label:
        return element("p", one.text, class_="trouble" if one.style == "error" else None)
    return None


def _is_cause(one: _Entry) -> bool:
    return one.label.endswith("in 10")


def _command(text: str) -> Markup:
    """Return a command whose words are not torn apart where it wraps."""
    return element("code", [[" ", element("span", x, class_="whole")] for x in text.split(" ")])
