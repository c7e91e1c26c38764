"""Turns a plotted SVG document into one element that a page can hold several of.

Colours become the page's, styles become attributes (a page may forbid inline styles), ids are its
own, whatever nothing refers to is dropped, and the picture tells itself to a screen reader.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterator
from xml.etree import ElementTree as ET

from advisor.base import frozen
from advisor.report.clean import plain
from advisor.report.look import typeset
from advisor.report.pictures.palette import PALETTE

__all__ = ["Telling", "finished", "marker"]

_SVG = "http://www.w3.org/2000/svg"
_MARKERS = {name: f"#0f1e{place:02x}" for place, name in enumerate(PALETTE["light"])}
_BACK = {colour: f"var(--{name})" for name, colour in _MARKERS.items()}
_REFERENCE = re.compile(r"url\(#([^)]+)\)")
_NUMBER = re.compile(r"-?\d+\.\d{3,}")
_FONT = re.compile(r"(?:(bold)\s+)?([\d.]+)px")
_DROPPED = {"metadata", "style"}
_DROPPED_STYLES = {"font-family"}
_HALO = {"paint-order": "stroke", "stroke": "var(--paper)", "stroke-width": "3"}


@frozen
class Telling:
    """A picture in words: its title, and its main numbers."""

    title: str
    words: str


def marker(name: str) -> str:
    """Return the colour to plot with where the page's colour `name` is meant."""
    return _MARKERS[name]


def finished(document: str, kind: str, telling: Telling) -> str:
    """Return the document as one inline element, the same for the same input.

    Parameters
    ----------
    document : str
        As it was plotted.
    kind : str
        Of the picture.
    telling : Telling
        What it is called and what it shows, in words.
    """
    root = ET.fromstring(document)
    viewbox = root.get("viewBox", "")
    _prune(root)
    named = _references(root)
    for node in root.iter():
        _settle(node, named)
    _unwrap(root)
    told = hashlib.sha256(f"{kind}{telling.title}{telling.words}".encode())
    told.update(ET.tostring(root))
    prefix = f"{kind}-{told.hexdigest()[:8]}-"
    for node in root.iter():
        _prefix(node, prefix)
    frame = {"class": f"plot {kind}", "viewBox": viewbox}
    return _written(list(root), prefix, frame, telling)


def _written(held: list[ET.Element], prefix: str, frame: dict[str, str], telling: Telling) -> str:
    head = [ET.Element("title", id=f"{prefix}title"), ET.Element("desc", id=f"{prefix}desc")]
    head[0].text, head[1].text = plain(telling.title), plain(typeset(telling.words))
    outer = {
        "xmlns": _SVG,
        **frame,
        "width": "100%",
        "role": "img",
        "aria-labelledby": f"{prefix}title {prefix}desc",
        "fill": "none",
        "stroke-linejoin": "round",
        "font-family": "inherit",
    }
    made = ET.Element("svg", outer)
    made.extend([*head, *held])
    return ET.tostring(made, encoding="unicode")


def _prune(node: ET.Element) -> None:
    """Take out comments, metadata and styles that would reach beyond the picture."""
    for child in list(node):
        if not isinstance(child.tag, str) or _local(child.tag) in _DROPPED:
            node.remove(child)
            continue
        _prune(child)
        if _local(child.tag) == "defs" and not len(child):
            node.remove(child)


def _references(root: ET.Element) -> frozenset[str]:
    return frozenset(name for node in root.iter() for name in _referred(node))


def _referred(node: ET.Element) -> Iterator[str]:
    for key, value in node.attrib.items():
        if _local(key) == "href":
            yield value.removeprefix("#")
        yield from _REFERENCE.findall(value)


def _settle(node: ET.Element, named: frozenset[str]) -> None:
    """Make names local, styles attributes, ids that are only names of ours `data-of`."""
    node.tag = _local(node.tag)
    node.text, node.tail = (_trimmed(text) for text in (node.text, node.tail))
    kept: dict[str, str] = {}
    for key, value in node.attrib.items():
        if key == "style":
            kept.update(_styles(value))
        elif key == "transform" and value.startswith("rotate(-0 "):
            continue
        elif key == "id" and value not in named:
            kept.update({"data-of": value[3:]} if value.startswith("of-") else {})
        else:
            kept[_local(key)] = value
    if node.tag == "text":
        node.text = typeset(node.text) if node.text else node.text
        kept.update(_HALO)
        kept.setdefault("fill", "var(--ink)")
    node.attrib.clear()
    node.attrib.update({key: _rounded(key, value) for key, value in kept.items()})


def _unwrap(node: ET.Element) -> None:
    """Take the contents out of groups that say nothing."""
    for child in list(node):
        _unwrap(child)
    held: list[ET.Element] = []
    for child in node:
        held += list(child) if child.tag == "g" and not child.attrib else [child]
    node[:] = held


def _trimmed(text: str | None) -> str | None:
    return text if text and text.strip() else None


def _styles(style: str) -> Iterator[tuple[str, str]]:
    for part in style.split(";"):
        key, _, value = (piece.strip() for piece in part.partition(":"))
        font = _FONT.match(value) if key == "font" else None
        if font is not None:
            yield "font-size", font[2]
            if font[1]:
                yield "font-weight", font[1]
        elif key and key not in _DROPPED_STYLES:
            yield key, _BACK.get(value, value)


def _rounded(key: str, value: str) -> str:
    """Return what is measured to 0.01 units, far below what can be seen."""
    if key in {"id", "href", "data-of"}:
        return value
    return _NUMBER.sub(lambda match: f"{float(match[0]):.2f}".rstrip("0").rstrip("."), value)


def _prefix(node: ET.Element, prefix: str) -> None:
    for key, value in node.attrib.items():
        if key == "id":
            node.set(key, f"{prefix}{value}")
        elif key == "href":
            node.set(key, f"#{prefix}{value.removeprefix('#')}")
        else:
            node.set(key, _REFERENCE.sub(rf"url(#{prefix}\1)", value))


def _local(name: str) -> str:
    return name.rpartition("}")[2]
