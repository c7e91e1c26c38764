"""Reads a picture back: its texts with the room they take, and places along its scales."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator
from dataclasses import dataclass
from xml.etree import ElementTree as ET

import numpy as np
from matplotlib.font_manager import FontProperties
from matplotlib.textpath import text_to_path

SVG = "{http://www.w3.org/2000/svg}"


@dataclass(frozen=True)
class Word:
    text: str
    left: float
    right: float
    above: float
    below: float
    anchor: str
    x: float
    y: float


def read(picture: str) -> ET.Element:
    return ET.fromstring(picture)


def words(root: ET.Element) -> list[Word]:
    """Return the texts with the boxes they take in the font the picture was laid out with."""
    return [_word(node) for node in root.iter(f"{SVG}text")]


def _word(node: ET.Element) -> Word:
    text, x, y = node.text or "", float(node.get("x", "nan")), float(node.get("y", "nan"))
    size = float(node.get("font-size", "nan").removesuffix("px"))
    font = FontProperties(family="DejaVu Sans", size=size)
    width, height, descent = text_to_path.get_text_width_height_descent(text, font, ismath=False)
    anchor = node.get("text-anchor", "start")
    left = x - {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * width
    return Word(text, left, left + width, y - (height - descent), y + descent, anchor, x, y)


def overlaps(root: ET.Element) -> Iterator[tuple[str, str]]:
    """Yield pairs of texts that cover each other."""
    for one, other in itertools.combinations(words(root), 2):
        across = min(one.right, other.right) - max(one.left, other.left)
        along = min(one.below, other.below) - max(one.above, other.above)
        if across > 0.0 and along > 0.0:
            yield one.text, other.text


def named(root: ET.Element, name: str) -> ET.Element:
    """Return the one part of the picture that shows `name`."""
    (found,) = (node for node in root.iter() if node.get("data-of") == name)
    return found


def points(root: ET.Element, name: str) -> np.ndarray:
    """Return the corners of a drawn line or area, in units of the picture."""
    node = named(root, name)
    paths = [node, *node.iter(f"{SVG}path")]
    (path,) = {path.get("d") for path in paths if path.get("d")}
    (use,) = [*node.iter(f"{SVG}use")] or [node]
    moved = [float(use.get("x", "0")), float(use.get("y", "0"))]
    numbers = re.findall(r"[ML] (\S+) (\S+)", path or "")
    return np.array([[float(x), float(y)] for x, y in numbers]) + moved


def marks(root: ET.Element, name: str) -> np.ndarray:
    """Return where the marks of that name stand, in units of the picture."""
    found = [node for node in root.iter() if node.get("data-of") == name]
    uses = [use for node in found for use in (node, *node.iter(f"{SVG}use")) if use.get("href")]
    return np.array([[float(use.get("x", "nan")), float(use.get("y", "nan"))] for use in uses])


class Scales:
    """The scales of a picture, as a reader takes them from the numbers beside them."""

    def __init__(self, root: ET.Element) -> None:
        foot = points(root, "foot")
        self.line = float(foot[0, 1])
        written = words(root)
        below = [word for word in written if word.anchor == "middle" and _number(word.text)]
        first = min(word.y for word in below if word.y > self.line)
        along = [word for word in below if abs(word.y - first) < 1.0]
        up = [word for word in written if word.anchor == "end" and _number(word.text)]
        self._x = np.polyfit([word.x for word in along], [_value(w.text) for w in along], 1)
        self._y = np.polyfit([word.y for word in up], [_value(word.text) for word in up], 1)
        lowest = max(up, key=lambda word: word.y)
        at_foot = _value(lowest.text) == 0.0
        drop = lowest.y - self.line if at_foot else 12.0 * 0.73 / 2
        self._y[1] += self._y[0] * drop

    def flow(self, x: np.ndarray) -> np.ndarray:
        """Return what stands along at these places."""
        return np.polyval(self._x, x)

    def height(self, y: np.ndarray) -> np.ndarray:
        """Return what stands up at these places."""
        return np.polyval(self._y, y)


def _number(text: str) -> bool:
    return re.fullmatch(r"[0-9.]+( %)?", text) is not None


def _value(text: str) -> float:
    return float(text.removesuffix(" %"))
