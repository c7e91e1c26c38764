"""Reads YAML into plain values and remembers the place of each; nothing is constructed.

Only the YAML 1.2 core types are made (null, bool, int, float, str, list, dict): no tags,
no aliases that grow without bound. Duplicate keys are refused with both places.
"""

from __future__ import annotations

import functools
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, NoReturn

from advisor.base import InputError, Span
from advisor.data.resources import Plain

if TYPE_CHECKING:
    from ruamel.yaml.composer import Composer
    from ruamel.yaml.nodes import Node as YamlNode

__all__ = ["Placed", "below", "read_yaml"]


Path = tuple[str | int, ...]
_MAX_NODES = 200_000  # of a file of ours
_DEEPEST = 50
_TOO_DEEP = f"this YAML nests deeper than {_DEEPEST} levels"


class _TooDeepError(Exception):
    """A value nests too deep; in the line, from 0."""

    def __init__(self, line: int) -> None:
        super().__init__(line)
        self.line = line


@dataclass(slots=True)
class Placed:
    """A YAML document: its plain `data` and the place of every key path."""

    data: Plain
    file: str
    places: dict[Path, Span] = field(default_factory=dict)
    key_places: dict[Path, Span] = field(default_factory=dict)
    count: int = 0
    most: int = _MAX_NODES

    def get(self, key: str) -> Plain:
        """Return what stands under a key at the top; None where nothing does."""
        return self.data.get(key) if isinstance(self.data, dict) else None

    def at(self, *path: str | int) -> Span:
        """Return the place of the value at `path`, or of its nearest parent."""
        return self._nearest(self.places, path)

    def key_at(self, *path: str | int) -> Span:
        """Return the place of the key at `path`, or of its nearest parent."""
        return self._nearest(self.key_places, path)

    def _nearest(self, places: Mapping[Path, Span], path: Path) -> Span:
        while path and path not in places:
            path = path[:-1]
        return places.get(path, Span(self.file, 1))


def below(data: Plain, step: str | int) -> Plain:
    """Return the value under a key, or at a place of a list.

    Raises
    ------
    LookupError
        If there is none.
    """
    if isinstance(step, str):
        return data[step] if isinstance(data, dict) else _nothing(step)
    return data[step] if isinstance(data, list) else _nothing(step)


def _nothing(step: str | int) -> NoReturn:
    raise LookupError(step)


def read_yaml(text: str, file: str, *, most: int = _MAX_NODES) -> Placed:
    """Return the first document of `text`, of at most so many values; a repeated one counts again.

    Raises
    ------
    InputError
        If the text is no YAML; the place and the reader's own words are in the message.
    """
    from ruamel.yaml.error import MarkedYAMLError, YAMLError

    placed = Placed(None, file, most=most)
    try:
        node = _composed(text)
    except _TooDeepError as err:
        raise InputError(_TOO_DEEP, "flatten it", Span(file, err.line + 1)) from None
    except MarkedYAMLError as err:
        mark = err.problem_mark
        at = Span(file, mark.line + 1, mark.column + 1) if mark else Span(file, 1)
        raise InputError(f"this is no YAML: {err.problem}", "mend this line", at) from None
    except (YAMLError, ValueError) as err:
        words = str(err).strip().splitlines()[0] if str(err).strip() else "it breaks off"
        raise InputError(f"this is no YAML: {words}", "mend it", Span(file, 1)) from None
    if node is not None:
        placed.data = _value(node, (), placed)
    return placed


@functools.lru_cache(maxsize=8)
def _composed(text: str) -> YamlNode | None:
    """Return the nodes of a text: they are only read, so a sheet asked about again has them."""
    from ruamel.yaml import YAML

    reader = YAML(typ="safe", pure=True, plug_ins=[])
    reader.Composer = _bounded_composer()
    node: YamlNode | None = reader.compose(text)
    return node


@functools.cache
def _bounded_composer() -> type[Composer]:
    """Return what makes values of the reader's events, and goes no deeper than it may.

    Nothing behind the first value that is too deep is read: the reader's own work grows with the
    square of the depth.
    """
    from ruamel.yaml.composer import Composer

    class Bounded(Composer):
        deep = 0

        def compose_node(self, parent: object, index: object) -> YamlNode:
            self.deep += 1
            if self.deep > _DEEPEST + 1:
                raise _TooDeepError(self.parser.peek_event().start_mark.line)
            node: YamlNode = super().compose_node(parent, index)
            self.deep -= 1
            return node

    return Bounded


def _span(node: YamlNode, file: str) -> Span:
    start, end = node.start_mark, node.end_mark
    last = end.column + 1 if end.line == start.line else None
    return Span(file, start.line + 1, start.column + 1, last)


def _value(node: YamlNode, path: Path, placed: Placed) -> Plain:
    placed.places[path] = _span(node, placed.file)
    if len(path) > _DEEPEST:  # an alias of itself: as written it is not deep
        raise InputError(_TOO_DEEP, "flatten it", placed.at(*path))
    placed.count += 1
    if placed.count > placed.most:
        problem = f"this YAML has more than {placed.most} values"
        raise InputError(problem, "shorten it", placed.at(*path))
    return _PLAIN[type(node).__name__](node, path, placed)


def _listed(node: YamlNode, path: Path, placed: Placed) -> Plain:
    return [_value(item, (*path, i), placed) for i, item in enumerate(node.value)]


def _mapping(node: YamlNode, path: Path, placed: Placed) -> dict[str, Plain]:
    result: dict[str, Plain] = {}
    for key_node, value_node in node.value:
        key = str(key_node.value)
        where = (*path, key)
        if key in result:
            first = placed.key_places[where]
            problem = f"'{key}' is given twice, first in line {first.line}"
            raise InputError(problem, "keep one", _span(key_node, placed.file))
        placed.key_places[where] = _span(key_node, placed.file)
        result[key] = _value(value_node, where, placed)
    return result


_WORDS = {"": None, "~": None, "null": None, "true": True, "false": False}


def _scalar(node: YamlNode, _: Path, __: Placed) -> Plain:
    text = str(node.value)
    tag = str(node.tag).rpartition(":")[2]
    if getattr(node, "style", None) or tag == "str":
        return text
    if tag in ("null", "bool"):
        return _WORDS.get(text.lower(), text)
    try:
        return int(text, 0) if tag == "int" else float(text) if tag == "float" else text
    except ValueError:
        return text


_PLAIN = {"MappingNode": _mapping, "SequenceNode": _listed, "ScalarNode": _scalar}
