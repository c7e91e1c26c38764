"""At which level a condition is reported: an assumption never makes an error.

A finding on flow or motion is told where the typical machine and most of the likely ones meet its
condition, so that its sentence never speaks against its own figures. The shares stand in
rules/levels.yaml.
"""

from __future__ import annotations

import functools
from collections.abc import Iterable, Mapping
from typing import TypedDict

from advisor.base import Level, near_miss
from advisor.data import artifact

__all__ = ["build_levels", "hangs_on_flow", "judged_level"]

_FILE = "levels.yaml"
_KEYS: Mapping[str, tuple[str, ...]] = {
    "shares": ("error", "warning", "note"),
    "others": ("reported", "noted", "sure"),
}


class _Levels(TypedDict):
    """The shares at which a finding is told, by level and by way; and the facts they are of."""

    shares: Mapping[str, float]
    others: Mapping[str, float]
    of: list[str]


def judged_level(
    level: Level,
    *,
    nominal: bool,
    share: float,
    assumed: bool = False,
    modelled: bool = False,
    defaulted: bool = False,
    flow: bool = False,
) -> Level | None:
    """Return the level at which a finding is told, or None where it is not.

    Parameters
    ----------
    level : Level
        The rule's own level.
    nominal : bool
        Whether the condition holds for the nominal machine.
    share : float
        Share of the ensemble in which it holds, [-].
    assumed : bool
        Whether it hangs on something about the machine that nobody stated.
    modelled : bool
        Whether it hangs on constants of the model.
    defaulted : bool
        Whether the value in question is one that the firmware applies by default.
    flow : bool
        Whether it is on flow or motion: see `hangs_on_flow`.
    """
    if flow:
        return _by_share(level, nominal, share, assumed=assumed, defaulted=defaulted)
    others = _table()["others"]
    if not nominal and share < others["reported"]:
        return Level.NOTE if share >= others["noted"] else None
    if defaulted:
        return Level.NOTE
    if not assumed and (not modelled or share >= others["sure"]):
        return level
    if share < others["reported"]:
        return Level.NOTE
    return _lower(level, Level.WARNING)


def hangs_on_flow(facts: Iterable[str]) -> bool:
    """Whether one of the facts that a condition used is on flow or motion."""
    return any(name.startswith(tuple(_table()["of"])) for name in facts)


def _by_share(
    level: Level, nominal: bool, share: float, *, assumed: bool, defaulted: bool
) -> Level | None:
    shares = _table()["shares"]
    reached = [
        one for one in (Level.ERROR, Level.WARNING, Level.NOTE) if share >= shares[one.value]
    ]
    if not nominal or not reached:
        return None
    most = Level.NOTE if defaulted else Level.WARNING if assumed else Level.ERROR
    return _lower(_lower(level, most), reached[0])


def _lower(one: Level, other: Level) -> Level:
    return min(one, other, key=lambda level: level.rank)


@functools.cache
def _table() -> _Levels:
    data: _Levels = artifact("levels", build_levels)
    return data


def build_levels() -> _Levels:
    """Return rules/levels.yaml, checked: the artifact ``levels``.

    Raises
    ------
    DataError
        If a share is missing, is none, or the shares do not fall from error to note, or nothing
        begins as it is said of facts.
    """
    from advisor.catalog import load_catalog
    from advisor.data import Node, checked, listed, number, read_data, row, text, typed

    facts = load_catalog().facts

    def begins_facts(node: Node) -> str:
        start = text(node)
        if not any(name.startswith(start) for name in facts):
            known = "the facts are listed in rules/facts.yaml"
            raise node.wrong(
                f"is '{start}', which begins no fact", near_miss(start, facts) or known
            )
        return start

    def falling(node: Node, shares: dict[str, float]) -> dict[str, float]:
        values = [shares[name] for name in _KEYS["shares"]]
        if values != sorted(values, reverse=True):
            raise node.wrong("do not fall from error to note", "put them in order")
        return shares

    share = number(above=0.0, at_most=1.0)
    rows = {key: row(dict.fromkeys(names, share)) for key, names in _KEYS.items()}
    rows["shares"] = checked(rows["shares"], falling)
    return read_data(_FILE, typed(_Levels, row({**rows, "of": listed(begins_facts, least=1)})))
