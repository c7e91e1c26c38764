"""Finds settings of an extruder, its driver or the machine that are one slip of the pen off.

A key is taken for misspelt only where it is no setting of such a section that we know, and so close
to one of ours that nothing else can be meant. What is merely unknown is not told: firmwares and
add-ons have settings of their own.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING

from advisor.base import Event
from advisor.inputs.dialect import Dialect, Role
from advisor.inputs.discovery import Discovery, driver_role

if TYPE_CHECKING:
    from advisor.config import Tree

__all__ = ["misspelt"]

_LONG = 10  # letters from which on two slips still leave no doubt
_LONGEST = 60  # letters of a key that is looked at
_MOST = 200  # keys of one section that are looked at; no machine comes near


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
