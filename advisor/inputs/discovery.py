"""Finds the extruders of a config, the driver of each, the sections of the machine; misspelt keys.

How their names look is data (the roles of a dialect). Steppers of other axes and feeder
steppers of add-ons match no role and are no extruders. It reads no values.

A key of an extruder, its driver or the machine is taken for misspelt only where it is no setting of
such a section that we know, and so close to one of ours that nothing else can be meant. What is
merely unknown is not told: firmwares and add-ons have settings of their own.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import field
from typing import TYPE_CHECKING

from advisor.base import Event, frozen
from advisor.inputs.dialect import Dialect, Role

if TYPE_CHECKING:
    from advisor.config import Tree

__all__ = ["Discovery", "Found", "Oddity", "discover", "driver_role", "is_extruder", "misspelt"]

Drivers = dict[str, tuple[str, str]]
_LONG = 10  # letters from which on two slips still leave no doubt
_LONGEST = 60  # letters of a key that is looked at
_MOST = 200  # keys of one section that are looked at; no machine comes near


@frozen
class Found:
    """An extruder: its section's name as written and with single blanks, and its driver."""

    section: str
    name: str
    role: Role
    driver: str | None = None
    chip: str | None = None


@frozen
class Oddity:
    """A section that looks like one of ours and is not: the kind of its event, and words."""

    kind: str
    section: str
    extruder: str | None = None
    fields: Mapping[str, str] = field(default_factory=dict)


@frozen
class Discovery:
    """What was found: extruders in order, machine sections by role, and what is odd."""

    extruders: tuple[Found, ...]
    machine: Mapping[str, str]
    oddities: tuple[Oddity, ...] = ()


def is_extruder(dialect: Dialect, name: str) -> bool:
    """Whether a section of this name is an extruder's."""
    return any(role.match(name) for role in _extruder_roles(dialect))


def driver_role(dialect: Dialect) -> Role:
    """Return the role of the driver sections: the one that names its extruder."""
    return next(role for role in dialect.roles.values() if role.drives)


def discover(names: Iterable[str], dialect: Dialect) -> Discovery:
    """Return the sections among `names` that an extruder check needs.

    Parameters
    ----------
    names : iterable of str
        All section names as they are written.
    dialect : Dialect
        How the names look.
    """
    plain = {" ".join(name.split()): name for name in reversed(list(names))}
    plain = dict(reversed(plain.items()))
    extruders = _extruders(plain, dialect)
    drivers, oddities = _drivers(plain, dialect, extruders)
    machine = {
        role.name: written
        for role in dialect.roles.values()
        if role.scope == "machine"
        for name, written in plain.items()
        if role.match(name)
    }
    found = tuple(
        Found(plain[name], name, role, *drivers.get(name, (None, None)))
        for name, role in extruders.items()
    )
    return Discovery(found, machine, (*_wrong_case(plain, dialect), *oddities))


def _extruder_roles(dialect: Dialect) -> list[Role]:
    roles = dialect.roles.values()
    return [role for role in roles if role.scope == "extruder" and not role.drives]


def _extruders(plain: Mapping[str, str], dialect: Dialect) -> dict[str, Role]:
    """Return the extruders: by role, those with a number in its order, others as they stand."""
    found: dict[str, Role] = {}
    for role in _extruder_roles(dialect):
        matching = [name for name in plain if role.match(name)]
        for name in sorted(matching, key=_number):
            found[name] = role
    return found


def _number(name: str) -> int:
    digits = name[len(name.rstrip("0123456789")) :]
    return int(digits) if digits and " " not in name else 0


def _drivers(
    plain: Mapping[str, str], dialect: Dialect, extruders: Mapping[str, Role]
) -> tuple[Drivers, list[Oddity]]:
    """Return the driver section and chip of each extruder, and driver sections that fit none."""
    drivers: Drivers = {}
    odd: list[Oddity] = []
    role = driver_role(dialect)
    for name, written in plain.items():
        match = role.match(name)
        if match is None:
            continue
        owner, chip = match["owner"], match["chip"]
        if owner not in extruders:
            odd.append(_orphan(written, owner, chip, extruders))
        elif owner in drivers:
            other = {"other": drivers[owner][0]}
            odd.append(Oddity("two-drivers", written, owner, other))
        else:
            drivers[owner] = (written, chip)
    return drivers, odd


def _orphan(written: str, owner: str, chip: str, extruders: Iterable[str]) -> Oddity:
    """Return what is odd about a driver section whose extruder is not there."""
    for name in extruders:
        if name.lower() == owner.lower():
            return Oddity("section-wrong-case", written, None, {"right": f"{chip} {name}"})
    return Oddity("driver-without-extruder", written, None, {"owner": owner})


def _wrong_case(plain: Mapping[str, str], dialect: Dialect) -> Iterable[Oddity]:
    """Yield sections that would be ours if they were written in small letters."""
    for name, written in plain.items():
        roles = dialect.roles.values()
        if name == name.lower() or any(role.match(name) for role in roles):
            continue
        right = name.lower()
        if any(role.match(right) for role in roles):
            yield Oddity("section-wrong-case", written, None, {"right": right})


def misspelt(tree: Tree, dialect: Dialect, found: Discovery) -> Iterator[Event]:
    """Yield ``misspelt-setting`` (section, key, right) at each such setting."""
    for section, role, extruder in _sections(dialect, found):
        for key in tree.keys(section)[:_MOST]:
            right = _meant(key, role)
            setting = tree.find(section, key)
            if right is None or setting is None or setting.from_saved_block:
                continue
            fields = {"section": section, "key": setting.raw_key, "right": right}
            yield Event(
                "misspelt-setting", setting.value_span, fields, role.keys[right].fact, extruder
            )


def _sections(dialect: Dialect, found: Discovery) -> Iterator[tuple[str, Role, str | None]]:
    driver = driver_role(dialect)
    for role, section in found.machine.items():
        yield section, dialect.roles[role], None
    for one in found.extruders:
        yield one.section, one.role, one.name
        if one.driver is not None:
            yield one.driver, driver, one.name


def _meant(key: str, role: Role) -> str | None:
    """Return the only setting of ours that a key is a slip of; None where there is none."""
    if key in role.keys or key == role.partner or len(key) > _LONGEST or _other(key, role.others):
        return None
    close = [name for name in role.keys if _slips(key, name) <= (2 if len(name) >= _LONG else 1)]
    return close[0] if len(close) == 1 else None


def _other(key: str, others: Iterable[str]) -> bool:
    return any(
        key.startswith(name[:-1]) if name.endswith("*") else _slips(key, name) <= 1
        for name in others
    )


def _slips(one: str, other: str) -> int:
    """Return how many letters are wrong, too many, missing or swapped; 3 stands for more.

    A name that is longer or shorter by two letters has another word in it, and is no slip.
    """
    if abs(len(one) - len(other)) > 1:
        return 3
    rows: list[Mapping[int, int]] = [{at: at for at in range(len(other) + 1)}]
    for i, letter in enumerate(one, start=1):
        row = {0: i}
        for j, wanted in enumerate(other, start=1):
            before = rows[-1]
            row[j] = min(row[j - 1] + 1, before[j] + 1, before[j - 1] + (letter != wanted))
            if i > 1 and j > 1 and letter == other[j - 2] and one[i - 2] == wanted:
                row[j] = min(row[j], rows[-2][j - 2] + 1)
        rows.append(row)
    return min(rows[-1][len(other)], 3)
