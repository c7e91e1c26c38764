"""A dialect: which sections and keys of a config state which facts, and what is the default.

All of it is data under rules/dialects/; the compiled form is the artifact ``dialects``. It
reads no config (see `extruders`) and evaluates no default.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Callable, Iterator, Mapping

from advisor.base import frozen
from advisor.data import Range, Row, artifact

__all__ = [
    "ARTIFACTS",
    "Default",
    "Dialect",
    "Key",
    "Role",
    "build",
    "dialect_from",
    "load_dialect",
]

_PARTS = re.compile(r"<(\w+)>")


@frozen
class Default:
    """What the firmware applies where a key is missing.

    Exactly one of ``value`` (SI), ``expression`` (text, over facts) and ``catalogue`` (a
    category; the number that the entry has for this fact) is given.
    """

    fact: str
    setting: str
    value: float | bool | None = None
    expression: str | None = None
    catalogue: str | None = None
    source: str = ""
    status: str = ""


@frozen
class Key:
    """One key of a section: the fact it states and what the firmware allows.

    ``above``, ``at_least``, ``at_most`` and ``range`` (what any machine could have; None for
    flags) are in the config's ``unit``. ``gives`` is what an old-style key states of another fact.
    """

    name: str
    fact: str
    unit: str
    type: str = "number"
    own: bool = False
    above: float | None = None
    at_least: float | None = None
    at_most: float | None = None
    range: Range | None = None
    default: Default | None = None
    missing: str = ""
    stages: str | None = None
    lone_pair: float | None = None
    replaces: tuple[str, ...] = ()
    gives: Default | None = None
    source: str = ""
    status: str = ""

    @property
    def seldom(self) -> bool:
        """Whether most configs do without: it is not missed where an include is not there."""
        return self.missing.startswith("normal")


@frozen
class Role:
    """A kind of section: how its name looks, whose facts it states, its keys.

    ``others`` are settings of such a section that are not read; a '*' stands for any ending.
    """

    name: str
    pattern: re.Pattern[str]
    scope: str
    keys: Mapping[str, Key]
    partner: str | None = None
    others: tuple[str, ...] = ()

    @property
    def drives(self) -> bool:
        """Whether this is the section of a driver chip: its name holds an extruder's."""
        return "owner" in self.pattern.groupindex

    def match(self, section: str) -> re.Match[str] | None:
        """Match a section name exactly, its blanks made single."""
        return self.pattern.fullmatch(section)


@frozen
class Dialect:
    """A firmware's config language.

    A section that names an extruder and has the setting ``retuned_by`` is an add-on's that sets
    what the driver's keys in ``retuned`` state.
    """

    name: str
    title: str
    roles: Mapping[str, Role]
    retuned_by: str = ""
    retuned: tuple[str, ...] = ()

    def expressions(self) -> Iterator[str]:
        """Yield the text of every default that is an expression over facts."""
        for role in self.roles.values():
            for key in role.keys.values():
                for default in (key.default, key.gives):
                    if default is not None and default.expression is not None:
                        yield default.expression


def build() -> Row:
    """Return the compiled dialects: the artifact ``dialects``."""
    from advisor.inputs.dialect_build import build_dialects

    return build_dialects()


@functools.cache
def load_dialect(name: str = "ini_firmware") -> Dialect:
    """Return a dialect by the name of its file; it is read once.

    Raises
    ------
    DataError
        If a file under rules/ has a mistake in it.
    """
    return dialect_from(name, artifact("dialects", build)[name])


def dialect_from(name: str, data: Row) -> Dialect:
    """Return the records of the JSON that `build` makes."""
    patterns = _patterns(data)
    keys = {role: _keys(rows) for role, rows in data["keys"].items()}
    roles = {
        role: Role(
            name=role,
            pattern=re.compile(patterns[role]),
            scope=row["scope"],
            keys=keys[row.get("keys", role)],
            partner=row.get("partner"),
            others=tuple(data["others"].get(row.get("keys", role), ())),
        )
        for role, row in data["roles"].items()
    }
    retuned = data["retuned"] or {"names": "", "keys": ()}
    return Dialect(name, data["title"], roles, retuned["names"], tuple(retuned["keys"]))


def _patterns(data: Row) -> dict[str, str]:
    """Return one regular expression for the section names of each role."""
    parts = {"n": "[1-9][0-9]?", "name": r"\S.*", "chip": rf"(?P<chip>{data['chip']})"}
    plain: dict[str, list[str]] = {}
    driving: dict[str, list[str]] = {}
    for role, row in data["roles"].items():
        group = driving if any("<extruder>" in text for text in row["sections"]) else plain
        group[role] = row["sections"]
    made = {role: _alternatives(sections, parts) for role, sections in plain.items()}
    owners = [made[role] for role in plain if data["roles"][role]["scope"] == "extruder"]
    parts["extruder"] = f"(?P<owner>{'|'.join(owners)})"
    return made | {role: _alternatives(sections, parts) for role, sections in driving.items()}


def _alternatives(sections: list[str], parts: Mapping[str, str]) -> str:
    return "|".join(
        "".join(
            parts[piece] if index % 2 else re.escape(piece)
            for index, piece in enumerate(_PARTS.split(section))
        )
        for section in sections
    )


def _keys(rows: Row) -> dict[str, Key]:
    return {name: _key(name, row) for name, row in rows.items()}


def _key(name: str, row: Row) -> Key:
    given = dict(row)
    for part in ("default", "gives"):
        if part in given:
            given[part] = Default(setting=name, **{"fact": row["fact"], **given[part]})
    if "range" in given:
        given["range"] = Range(*given["range"])
    if "replaces" in given:
        given["replaces"] = tuple(given["replaces"])
    return Key(name, **given)


ARTIFACTS: Mapping[str, Callable[[], object]] = {"dialects": build}
