"""How sliced prints are written, read from rules/dialects/prints.yaml into frozen records.

It knows the syntax of that file, explained there, and no command of a print.

`Notes` counts what the reader could not take as it stands; the sentences are data of the dialect.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, TypedDict

from advisor.base import InputError, frozen, parse_unit
from advisor.data import Row, artifact
from advisor.prints.records import Note

if TYPE_CHECKING:
    from advisor.data import Kind, Node

__all__ = ["ARTIFACTS", "AXES", "Command", "Container", "Notes", "PrintDialect", "load_dialect"]

_FILE = "dialects/prints.yaml"
AXES = ("x", "y", "z", "e", "feed", "arc_x", "arc_y", "arc_z", "radius", "turns")
MOTIONS = {"line": 1, "clockwise": 2, "counterclockwise": 3}
_DOES = (*MOTIONS, "dwell", "inches", "millimetres", "plane-xy", "plane-zx", "plane-yz", "absolute",
         "relative", "absolute-e", "relative-e", "set-position", "home", "wait", "retract",
         "unretract", "set", "temperature", "nothing")  # fmt: skip
_CAPS = ("within", "heap", "stray", "spread", "near", "gained")
_GIVES = ("feature", "width", "layer-height", "height", "time", "setting")
_SAMPLE = 60  # characters of the first such line that are kept


@frozen
class Command:
    """What a command does; see rules/dialects/prints.yaml."""

    name: str
    does: str
    unless: frozenset[str]
    sets: Mapping[str, tuple[tuple[str, ...], ...]]
    obeyed: bool
    seconds: str | None
    milliseconds: str | None
    degrees: str | None
    waits: bool


@frozen
class Container:
    """First bytes of a file that is no plain G-code."""

    starts: bytes
    name: str
    remedy: str | None
    skip: bool


@frozen
class PrintDialect:
    """All that is data about how prints are written; lengths in m, speeds in m/s."""

    first_feed: float
    limits: Mapping[str, float]
    slowed: Mapping[str, float]
    caps: Mapping[str, float]
    own_time: Mapping[str, float]
    time_words: Mapping[str, float]  # [s]
    containers: tuple[Container, ...]
    letters: Mapping[str, int]  # a word's letter: its place in AXES
    factors: Mapping[str, float]  # target of a setting: SI factor of its number
    commands: Mapping[str, Command]
    harmless: frozenset[str]
    motions: Mapping[int, int]  # digit after the motion letter: 1 line, 2 clockwise, 3 counter
    motion_letter: str
    tool_letter: str
    largest_tool: int
    comment: re.Pattern[bytes]
    comment_gives: tuple[str, ...]  # by group of `comment`
    comment_known: tuple[bool, ...]
    trailing_comments: bool
    features: Mapping[str, str]  # spelling in lower case: our name
    settings: Mapping[str, str]  # slicer's key: our name
    notes: Mapping[str, str]


def _build() -> Row:
    """Return the file, checked: the artifact ``prints-dialect``."""
    from advisor.data import schema as s

    texts, letters = s.listed(s.text), s.listed(s.text, least=1)
    amount = s.either((str, s.checked(s.text, _amount)), (object, s.number()))
    kinds = {
        "before_first_feed": amount,
        "limits": s.names(amount),
        "slowed": s.row(dict.fromkeys(("beyond", "times", "longer"), amount)),
        "caps": s.row(dict.fromkeys(_CAPS, s.number())),
        "own_time": s.row(dict.fromkeys(("alike", "plain"), s.number())),
        "time_words": s.names(amount),
        "containers": s.listed(_container_kind()),
        "words": s.names(letters, AXES, "axis"),
        "targets": s.names(s.unit()),
        "commands": s.names(_command_kind()),
        "harmless": texts,
        "tools": s.row({"letter": s.text, "largest": s.whole}),
        "comments": s.listed(_comment_kind(), least=1),
        "trailing_comments": s.flag,
        "features": s.names(texts),
        "settings": s.names(texts),
        "notes": s.names(s.text),
    }
    return s.read_data(_FILE, s.checked(s.row(kinds), _known_targets))


def _command_kind() -> Kind[Row]:
    from advisor.data import schema as s

    texts, letters = s.listed(s.text), s.listed(s.text, least=1)
    return s.row(
        {"does": s.word(_DOES)},
        {"unless": texts, "sets": s.names(letters), "obeyed": s.flag, "seconds": s.text,
         "milliseconds": s.text, "degrees": s.text, "waits": s.flag},
    )  # fmt: skip


def _container_kind() -> Kind[Row]:
    from advisor.data import schema as s

    start = s.checked(s.text, _bytes)
    return s.row({"starts": start, "is": s.text}, {"remedy": s.text, "skip": s.flag})


def _comment_kind() -> Kind[Row]:
    from advisor.data import schema as s

    return s.row({"gives": s.word(_GIVES), "pattern": s.pattern(1)}, {"known": s.flag})


def _amount(node: Node, value: str) -> str:
    number, _, unit = value.partition(" ")
    try:
        float(number), parse_unit(unit)
    except (ValueError, InputError):
        raise node.wrong(f"is '{value}', no number with a unit", "write '25 mm/s'") from None
    return value


def _bytes(node: Node, value: str) -> str:
    try:
        bytes.fromhex(value)
    except ValueError:
        raise node.wrong(f"is '{value}', no bytes", "write them in hexadecimal") from None
    return value


def _known_targets(node: Node, data: Row) -> Row:
    from advisor.data import word

    for name, command in data["commands"].items():
        for target in command.get("sets", {}):
            known = word(data["targets"], "target", "add it under 'targets:'")
            known(replace(node.into("commands", name, "sets"), data=target))
    return data


ARTIFACTS: Mapping[str, Callable[[], object]] = {"prints-dialect": _build}


@functools.cache
def load_dialect() -> PrintDialect:
    """Return the dialect, from the compiled data or from the YAML file.

    Raises
    ------
    DataError
        With the place, if the file has a mistake in it.
    """
    data = artifact("prints-dialect", _build)
    commands = {name: _command(name, raw) for name, raw in data["commands"].items()}
    motions = {name: MOTIONS[c.does] for name, c in commands.items() if c.does in MOTIONS}
    return PrintDialect(
        first_feed=_quantity(data["before_first_feed"]),
        limits={name: _quantity(value) for name, value in data["limits"].items()},
        slowed={name: _quantity(value) for name, value in data["slowed"].items()},
        caps={name: float(value) for name, value in data["caps"].items()},
        own_time={name: float(value) for name, value in data["own_time"].items()},
        time_words={name: _quantity(value) for name, value in data["time_words"].items()},
        containers=tuple(_container(raw) for raw in data["containers"]),
        letters={c: AXES.index(axis) for axis, names in data["words"].items() for c in names},
        factors={name: parse_unit(unit).factor for name, unit in data["targets"].items()},
        commands=commands,
        harmless=frozenset(data["harmless"]),
        motions={int(name[1:]): code for name, code in motions.items()},
        motion_letter=next(iter(motions))[0],
        tool_letter=data["tools"]["letter"],
        largest_tool=data["tools"]["largest"],
        trailing_comments=bool(data["trailing_comments"]),
        features={text: name for name, texts in data["features"].items() for text in texts},
        settings={key: name for name, keys in data["settings"].items() for key in keys},
        notes=data["notes"],
        **_comments(data["comments"]),
    )


class _Comments(TypedDict):
    """What the dialect says of comments: a field of `PrintDialect` each."""

    comment: re.Pattern[bytes]
    comment_gives: tuple[str, ...]
    comment_known: tuple[bool, ...]


def _comments(rows: Sequence[Row]) -> _Comments:
    return {
        "comment": re.compile(b"|".join(f"(?:{row['pattern']})".encode() for row in rows)),
        "comment_gives": tuple(row["gives"] for row in rows),
        "comment_known": tuple(bool(row.get("known")) for row in rows),
    }


def _quantity(value: float | str) -> float:
    if not isinstance(value, str):
        return float(value)
    number, _, unit = value.partition(" ")
    return float(number) * parse_unit(unit).factor


def _container(raw: Row) -> Container:
    starts = bytes.fromhex(raw["starts"])
    return Container(starts, raw["is"], raw.get("remedy"), bool(raw.get("skip")))


def _command(name: str, raw: Row) -> Command:
    sets = {
        target: tuple(tuple(alternative.split()) for alternative in alternatives)
        for target, alternatives in raw.get("sets", {}).items()
    }
    return Command(
        name=name,
        does=raw["does"],
        unless=frozenset(raw.get("unless", ())),
        sets=sets,
        obeyed=raw.get("obeyed", True),
        seconds=raw.get("seconds"),
        milliseconds=raw.get("milliseconds"),
        degrees=raw.get("degrees"),
        waits=raw.get("waits", raw["does"] in ("wait", "dwell")),
    )


class Notes:
    """Counters by kind, each with the first line it was met in."""

    def __init__(self) -> None:
        self._seen: dict[str, list[int]] = {}
        self._texts: dict[str, str] = {}

    def add(self, kind: str, line: int, text: bytes | str = b"", count: int = 1) -> None:
        """Count `kind`; the first line and its text are kept."""
        if kind in self._seen:
            self._seen[kind][0] += count
            return
        self._seen[kind] = [count, line]
        plain = text if isinstance(text, str) else text[: 2 * _SAMPLE].decode("utf-8", "replace")
        shown = "".join(c if c.isprintable() else "?" for c in plain.strip()[:_SAMPLE])
        self._texts[kind] = shown

    def count(self, kind: str) -> int:
        """Return how often `kind` was counted."""
        return self._seen.get(kind, [0, 0])[0]

    def records(self, dialect: PrintDialect) -> tuple[Note, ...]:
        """Return the notes in the order of the dialect's list."""
        records = []
        for kind, sentence in dialect.notes.items():
            if kind in self._seen:
                count, line = self._seen[kind]
                records.append(Note(kind, sentence, count, line, self._texts[kind]))
        return tuple(records)
