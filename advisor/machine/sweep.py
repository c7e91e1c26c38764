"""One fact swept over many values: all of them in one pass of the chain, the values first.

What a sweep costs is a pass for each block of values, not for each value.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from advisor.base import Fact, Origin, OriginKind
from advisor.machine.assemble import FORMULAS, ExtruderInputs, build_facts, needed_for
from advisor.machine.graph import FactBook
from advisor.machine.machine import Machine

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["BLOCK", "LATE", "each", "renewed", "side_by_side", "swept"]

LATE = frozenset({"hotend.melt_length"})
"""Facts that nothing but whole-array formulas makes use of, all the way to the flows: no choice of
a class, a default or a setting hangs on their nominal value. They can be swept as machines.
"""
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


def renewed(
    machine: Machine, name: str, values: Sequence[float], facts: Iterable[str]
) -> Mapping[str, Array]:
    """Return facts of the nominal machine at each of many values of a setting of the firmware.

    Only what the formulas make of the setting is worked out: no choice of a class, no default and
    no current hangs on it, as on those of the motion.

    Parameters
    ----------
    machine : Machine
        The machine; all but `name` stays as it was worked out.
    name : str
        The setting.
    values : sequence of float
        Its values, in SI units.
    facts : iterable of str
        What is asked for; those that are not known are left out.

    Returns
    -------
    mapping of str to ndarray, shape (values, 1)
        Each row is what the nominal machine has where `Machine.with_` states the value.
    """
    asked = tuple(facts)
    book = machine.book.typical(needed_for(frozenset(asked)))
    axis = _axis(machine, name, values)
    book.facts[name] = axis
    book.renew(FORMULAS, (name,))
    known = {fact: book.samples(fact) for fact in asked if book.known(fact)}
    return {fact: np.broadcast_to(np.asarray(x), (len(values), 1)) for fact, x in known.items()}


def each(
    machine: Machine, name: str, values: Sequence[float], wanted: Iterable[str]
) -> Iterator[Machine]:
    """Yield the machine at each of many values of one of the `LATE` facts.

    Parameters
    ----------
    machine : Machine
        The machine; all but `name` stays as stated.
    name : str
        The fact that is swept, one of `LATE`.
    values : sequence of float
        Its values, in SI units.
    wanted : iterable of str
        The facts asked for: of those that hang on `name`, a machine has no others.

    Yields
    ------
    Machine
        What `Machine.with_` gives, in the order of the values.
    """
    asked = frozenset(wanted)
    rows = max(1, BLOCK // machine.ensemble.size)
    for start in range(0, len(values), rows):
        part = values[start : start + rows]
        axis = machine.book.memory.same(_axis(machine, name, part))
        book = machine.stating(_stating(machine, axis), wanted=asked).book
        for row, value in enumerate(part):
            stated = machine.book.stated(name, value, axis.origin)
            yield _row(machine, book, row, stated, asked)


def _row(
    machine: Machine, book: FactBook, row: int, stated: Fact, asked: frozenset[str]
) -> Machine:
    facts = {
        name: fact if rows is None else fact.holding(rows[row])
        for name, fact in book.facts.items()
        if (rows := _rows(fact)) is None or name in asked
    }
    facts[stated.name] = stated
    made = FactBook(book.units, facts, book.ensemble, book.memory, book.wanted)
    return Machine(_stating(machine, stated), machine.catalog, made, machine.bench)


def _rows(fact: Fact) -> Array | None:
    """Return the samples of a fact that was swept too, one value a row; None where it was not."""
    samples = None if fact.number is None else np.asarray(fact.number.si)
    return samples if samples is not None and samples.ndim == 2 else None


def _stating(machine: Machine, fact: Fact) -> ExtruderInputs:
    stated = {**machine.inputs.stated, fact.name: fact}
    return dataclasses.replace(machine.inputs, stated=stated)


def _axis(machine: Machine, name: str, values: Sequence[float]) -> Fact:
    axis = np.asarray(values, dtype=np.float64)[:, None]
    return machine.book.stated(name, axis, _ORIGIN)


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
    asked = tuple(facts)
    added = {name: machine.book.stated(name, axis, _ORIGIN) for name, axis in stated.items()}
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
