"""One fact swept over many values: all of them in one pass of the chain, the values first."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from advisor.facts.assemble import build_facts
from advisor.machine.machine import Machine
from advisor.model import Fact, Origin, OriginKind

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["BLOCK", "side_by_side", "swept"]

BLOCK = 2**15  # samples worked out in one pass: so many fit a small board's cache
_ORIGIN = Origin(OriginKind.COMMAND)


def swept(
    machine: Machine, name: str, values: Sequence[float], facts: Iterable[str]
) -> Mapping[str, Array]:
    """Return facts of a machine at each of many values of another one.

    Parameters
    ----------
    machine : Machine
        The machine; all but `name` stays as stated.
    name : str
        The fact that is swept.
    values : sequence of float
        Its values, in SI units.
    facts : iterable of str
        What is asked for; those that are not known are left out.

    Returns
    -------
    mapping of str to ndarray, shape (values, size of the ensemble)
        Sample 0 along the last axis is nominal. Each row is what `Machine.with_` gives.
    """
    asked = tuple(facts)
    rows = max(1, BLOCK // machine.ensemble.size)
    parts = [
        _block(machine, name, values[start : start + rows], asked)
        for start in range(0, len(values), rows)
    ]
    known = [fact for fact in asked if all(fact in part for part in parts)]
    empty = np.zeros((0, machine.ensemble.size))
    return {fact: np.concatenate([part[fact] for part in parts] or [empty]) for fact in known}


def _block(
    machine: Machine, name: str, values: Sequence[float], asked: tuple[str, ...]
) -> Mapping[str, Array]:
    axis = np.asarray(values, dtype=np.float64)[:, None]
    return side_by_side(machine, {name: axis}, asked)


def side_by_side(
    machine: Machine, stated: Mapping[str, Array], facts: Iterable[str]
) -> Mapping[str, Array]:
    """Return facts of several builds of a machine, worked out in one pass.

    Parameters
    ----------
    machine : Machine
        The machine; all else stays as stated.
    stated : mapping of str to ndarray, shape (builds, size of the ensemble) or (builds, 1)
        What the builds differ in, in SI units.
    facts : iterable of str
        What is asked for; those that are not known are left out.

    Returns
    -------
    mapping of str to ndarray, shape (builds, size of the ensemble)
        Sample 0 along the last axis is nominal.
    """
    units, asked = machine.book.units, tuple(facts)
    added = {name: Fact(name, units[name], axis, origin=_ORIGIN) for name, axis in stated.items()}
    inputs = dataclasses.replace(machine.inputs, stated={**machine.inputs.stated, **added})
    book = build_facts(
        inputs,
        machine.catalog,
        machine.ensemble,
        memory=machine.book.memory,
        wanted=frozenset(asked),
    )
    shape = (len(next(iter(stated.values()))), machine.ensemble.size)
    return {
        one: np.broadcast_to(np.asarray(book.samples(one), dtype=np.float64), shape)
        for one in asked
        if book.known(one)
    }
