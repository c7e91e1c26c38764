"""Joins the runs of a table into steps: one for each flow, with ratio and uncertainty.

The slowest flow is the reference. It fits nothing: see `evaluate`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from advisor.base import WeighError
from advisor.physics import weighing
from advisor.weigh.records import Setup, Step
from advisor.weigh.table_records import Run, Skipped
from advisor.weigh.weigh_data import weigh_numbers

if TYPE_CHECKING:
    from advisor.weigh.uncertainty import Budget

__all__ = ["Steps", "join_runs", "with_flow"]

_PRIOR = 4.0  # degrees of freedom the stated repeatability counts for beside what repeats show
_SANE = (0.05, 3.0)  # absolute ratios of a slow run beyond these are a slip of the pen


@dataclass(frozen=True, slots=True)
class Steps:
    """The steps by rising flow, and what the repeats and the references say.

    ``reference`` is the mass per length of the slow runs [kg/m] and its relative standard
    uncertainty; ``drift`` the change from the first to the last reference, where it is
    significant; ``repeatability`` the factor on the stated uncertainty that repeats ask for.
    """

    steps: tuple[Step, ...]
    reference: tuple[float, float]
    drift: float | None
    repeatability: float
    outliers: tuple[str, ...]


def join_runs(runs: Sequence[Run], setup: Setup, budget: Budget, *, due: float) -> Steps:
    """Return the steps of a test.

    Parameters
    ----------
    runs : sequence of Run
        The lines of the table.
    setup : Setup
        Filament and density.
    budget : Budget
        How sure a weighing is.
    due : float
        Mass of a length of this filament, [kg/m]

    Raises
    ------
    WeighError
        If the slow reference is none: it skipped, nothing came out, or its mass cannot be.
    """
    groups = _grouped([with_flow(run, setup.area) for run in runs])
    outliers: list[str] = []
    kept = [_without_outliers(group, budget, outliers) for group in groups]
    slow = [run for run in kept[0] if run.skipped is not Skipped.YES]
    if not slow:
        problem = "the motor skipped in the slow reference"
        raise WeighError(problem, "plan again with a slower one", kept[0][0].at)
    per_length = _mean([run.mass / run.length for run in slow])
    _check(slow[0], per_length / due)
    drift = _drift(slow, per_length, budget)
    factor = _repeatability(kept[1:] if drift is not None else kept, budget)
    added = abs(drift or 0.0) / math.sqrt(12.0)  # a drift is somewhere between its ends

    def own(group: Sequence[Run]) -> float:
        return math.hypot(_own(group, per_length, budget) * factor, added)

    reference = own(slow)
    steps = [_step(slow, per_length, reference, due, budget, reference, reference=True)]
    steps += [_step(group, per_length, reference, due, budget, own(group)) for group in kept[1:]]
    return Steps(tuple(steps), (per_length, reference), drift, factor, tuple(outliers))


def with_flow(run: Run, area: float) -> Run:
    """Return a run with its flow, by the cross-section [m2] where its speed was written down."""
    if run.flow is not None:
        return run
    return replace(run, flow=(run.speed or 0.0) * area)


def _flow(run: Run) -> float:
    return run.flow or 0.0


def _grouped(runs: Sequence[Run]) -> list[list[Run]]:
    """Return the runs by rising flow; flows that are all but equal are repeats of one."""
    same = 1.0 + weigh_numbers("reading")["same_flow"]
    groups: list[list[Run]] = []
    for run in sorted(runs, key=lambda run: (_flow(run), run.at.line)):
        if groups and _flow(run) <= _flow(groups[-1][0]) * same:
            groups[-1].append(run)
        else:
            groups.append([run])
    return groups


def _without_outliers(group: list[Run], budget: Budget, outliers: list[str]) -> list[Run]:
    """Leave out a repeat that stands far from the others of its flow, and name it."""
    if len(group) < 3:
        return group
    middle = float(np.median([run.mass / run.length for run in group]))
    limit = weigh_numbers("reading")["outlier"]
    kept = []
    for run in group:
        length_mass = run.mass / run.length
        spread = math.sqrt(2.0) * budget.own(middle * run.length, pieces=run.pieces, rows=1)
        off = abs(length_mass / middle - 1.0) if middle > 0.0 else 0.0
        if off > limit * spread and run.skipped is not Skipped.YES:
            more = "more" if length_mass > middle else "less"
            outliers.append(
                f"line {run.at.line}: {100.0 * off:.1f} % {more} than the other runs at this flow"
            )
        else:
            kept.append(run)
    return kept if len(kept) > 1 else group


def _repeatability(groups: list[list[Run]], budget: Budget) -> float:
    """Return the factor on the stated uncertainty that the repeats ask for, at least 1."""
    free, square = 0, 0.0
    for group in groups:
        good = [run for run in group if run.skipped is not Skipped.YES]
        if len(good) < 2:
            continue
        values = [run.mass / run.length for run in good]
        mean = _mean(values)
        if mean <= 0.0:
            continue
        own = budget.own(mean * good[0].length, pieces=good[0].pieces, rows=1)
        free += len(good) - 1
        square += sum((value / mean - 1.0) ** 2 for value in values) / own**2
    return math.sqrt(max(1.0, (square + _PRIOR) / (free + _PRIOR)))


def _own(group: Sequence[Run], per_length: float, budget: Budget) -> float:
    """Return the standard uncertainty of a flow's mean, relative to the reference mass."""
    pieces = min(run.pieces for run in group)
    return budget.own(per_length * group[0].length, pieces=pieces, rows=len(group))


def _step(
    group: list[Run], per_length: float, reference_own: float, due: float,
    budget: Budget, own: float, *, reference: bool = False,
) -> Step:  # fmt: skip
    """Return one step; its `lost` and `outlier` are judged when all are known."""
    length = _mean([run.length for run in group])
    mass = _mean([run.mass for run in group])
    ratio = float(weighing.ratio_to_slow_run(mass / length, slow_mass=per_length))
    absolute = mass / (due * length)
    relative = own / ratio if ratio > 0.0 else 0.0
    combined = own if reference else math.hypot(own, ratio * reference_own)
    return Step(
        flow=_mean([_flow(run) for run in group]),
        length=length,
        mass=mass,
        ratio=ratio,
        own=own,
        expanded=budget.coverage * combined,
        absolute=absolute,
        absolute_expanded=budget.coverage * absolute * budget.absolute(relative, length),
        skipped=_worst(group).value,
        repeats=len(group),
        reference=reference,
        lost=False,
        outlier=None,
        at=tuple(run.at for run in group),
        notes=tuple(run.note for run in group if run.note),
        fed=_known([run.fed for run in group]),
        mark_depth=_known([run.mark_depth for run in group]),
        mark_pitch=_known([run.mark_pitch for run in group]),
    )


def _worst(group: list[Run]) -> Skipped:
    """Return what was heard in the worst of the runs."""
    words = {run.skipped for run in group}
    return next((w for w in (Skipped.YES, Skipped.UNSURE) if w in words), Skipped.NO)


def _check(run: Run, times: float) -> None:
    if times <= 0.0:
        raise WeighError("nothing came out in the slow reference", "look for a clog", run.at)
    if not _SANE[0] <= times <= _SANE[1]:
        problem = f"the slow reference weighs {times:.3g} times what its length of filament does"
        remedy = "look at the unit of the mass (g or mg), at length, pieces and tare"
        raise WeighError(problem, remedy, run.at)


def _drift(slow: list[Run], per_length: float, budget: Budget) -> float | None:
    """Return the change from the first to the last reference where it is significant."""
    if len(slow) < 2:
        return None
    one = min(slow, key=lambda run: run.at.line)
    other = max(slow, key=lambda run: run.at.line)
    change = (other.mass / other.length - one.mass / one.length) / per_length
    own = budget.own(per_length * one.length, pieces=one.pieces, rows=1)
    limit = weigh_numbers("reading")["drift"] * math.sqrt(2.0) * own
    return change if abs(change) > limit else None


def _known(values: Sequence[float | None]) -> float | None:
    """Return the mean of those that were measured; None where none was."""
    known = [value for value in values if value is not None]
    return _mean(known) if known else None


def _mean(values: Sequence[float]) -> float:
    return math.fsum(values) / len(values)
