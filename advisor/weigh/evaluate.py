"""Reads a weighed test: ratios, the knee, the kind of loss, the rotation distance.

It judges no machine: whether the test fits one is told by `advisor.facts.weighed`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from advisor.errors import WeighError
from advisor.intake.weigh_data import weigh_numbers
from advisor.intake.weighed_records import WeighedTable
from advisor.model import Band
from advisor.physics import weighing
from advisor.physics.drive import filament_area
from advisor.weigh.knee import KneeFit, find_knee
from advisor.weigh.records import Evaluation, Setup, Step
from advisor.weigh.remarks import outlier_sentences, remarks
from advisor.weigh.steps import Steps, join_runs
from advisor.weigh.uncertainty import Budget, usual_budget

__all__ = ["evaluate"]

_NINETY = 1.6448536269514722  # half width of the middle 90 % of a normal, in standard deviations
_FEWEST = 3  # flows without which there is no test


def evaluate(table: WeighedTable, setup: Setup, *, budget: Budget | None = None) -> Evaluation:
    """Return what a test shows.

    Parameters
    ----------
    table : WeighedTable
        The test as it was written down.
    setup : Setup
        Filament, density and rotation distance.
    budget : Budget, optional
        How sure a weighing is; by default from the table and the usual allowances.

    Raises
    ------
    WeighError
        If there is no usable reference, or too few flows are left.
    """
    budget = budget or _budget(table, setup)
    due = _due(table, setup)
    joined = join_runs(table.runs, setup, budget, due=due)
    steps = _judged(joined.steps)
    used = _used(steps)
    if len(used) < _FEWEST:
        problem = "fewer than three flows are left without the outliers"
        raise WeighError(problem, "weigh them again", steps[0].at[0])
    fit = _fit(used)
    steps = _with_losses(steps, fit)
    used = _used(steps)
    loss, rise = _loss(used, fit)
    last, first = _skips(used)
    ratio, expanded = _reference(joined, due, budget)
    return Evaluation(
        name=table.conditions.name or table.file,
        file=table.file,
        steps=steps,
        reference_ratio=_widened(ratio, expanded / budget.coverage),
        reference_expanded=expanded,
        level=fit.level,
        knee=_band(fit),
        draws=fit.draws,
        last_without_skips=last,
        first_skip=first,
        intact=_intact(used),
        delivered=_delivered(used, ("no", "unsure")) or 0.0,
        carried=_delivered(used, ("no",)),
        loss=loss,
        rise=rise,
        rotation_distance=_correction(ratio, expanded, setup),
        outliers=(*joined.outliers, *outlier_sentences(steps)),
        remarks=tuple(remarks(table, joined, used, fit, setup)),
        conditions=_conditions(table),
        hardware=table.conditions.hardware,
    )


def _used(steps: Sequence[Step]) -> list[Step]:
    return [step for step in steps if step.outlier is None]


def _skips(used: Sequence[Step]) -> tuple[float | None, float | None]:
    """Return the last flow that surely did not skip below the first that did, and that one."""
    first = min((step.flow for step in used if step.skipped == "yes"), default=None)
    clear = (s.flow for s in used if s.skipped == "no" and (first is None or s.flow < first))
    return max(clear, default=None), first


def _budget(table: WeighedTable, setup: Setup) -> Budget:
    stated = table.conditions.diameter
    return usual_budget(
        scale=table.conditions.scale,
        diameter=stated or (setup.diameter,) * 3,
        measured_diameter=stated is not None,
        density=table.conditions.density or setup.density,
    )


def _due(table: WeighedTable, setup: Setup) -> float:
    """Return the mass of a length of this filament, [kg/m]."""
    diameter = (table.conditions.diameter or (0.0, setup.diameter, 0.0))[1]
    density = (table.conditions.density or setup.density)[1]
    return float(weighing.nominal_mass(1.0, density=density, filament_area=filament_area(diameter)))


def _judged(steps: Sequence[Step]) -> tuple[Step, ...]:
    """Mark flows that deliver more than both neighbours, then those that deliver less."""
    return _marked(_marked(tuple(steps), more=True), more=False)


def _marked(steps: tuple[Step, ...], *, more: bool) -> tuple[Step, ...]:
    limit = weigh_numbers("reading")["outlier"]
    good = [place for place, step in enumerate(steps) if step.outlier is None]
    made = list(steps)
    for before, here, after in zip(good[:-1], good[1:], [*good[2:], None], strict=True):
        step, around = steps[here], [steps[before]]
        around += [steps[after]] if after is not None else []
        own = limit * math.hypot(step.own, max(other.own for other in around))
        ratios = [other.ratio for other in around]
        off = step.ratio - max(ratios) if more else min(ratios) - step.ratio
        last_may_fall = after is None and not more
        skips = not more and any(x.skipped == "yes" for x in (step, *around[1:]))
        impossible = not more or after is None or step.ratio > 1.0 + own
        if off > own and impossible and not last_may_fall and not skips:
            word = "more" if more else "less"
            made[here] = replace(step, outlier=f"{100 * off:.1f} % {word} than its neighbours")
    return tuple(made)


def _fit(used: Sequence[Step]) -> KneeFit:
    return find_knee(
        np.array([step.flow for step in used]),
        np.array([step.ratio for step in used]),
        np.array([step.own for step in used]),
        skipped=np.array([step.skipped == "yes" for step in used]),
        numbers=weigh_numbers("fit"),
    )


def _with_losses(steps: Sequence[Step], fit: KneeFit) -> tuple[Step, ...]:
    limit = weigh_numbers("reading")["loss"]
    return tuple(
        replace(step, lost=step.ratio < fit.level - limit * fit.excess * step.own) for step in steps
    )


def _band(fit: KneeFit) -> Band | None:
    if fit.draws is None:
        return None
    low, middle, high = (fit.draws[_place(fit.draws.size, q)] for q in (0.05, 0.5, 0.95))
    return Band(float(middle), float(low), float(high))


def _place(size: int, quantile: float) -> int:
    return round((size - 1) * quantile)


def _loss(used: Sequence[Step], fit: KneeFit) -> tuple[str, float | None]:
    """Return the kind of loss, and the part of what is added that still comes out."""
    skipping = any(step.skipped == "yes" for step in used)
    if fit.draws is None:
        return ("skip" if skipping else "none"), None
    knee = float(np.median(fit.draws))
    first = next((n for n, step in enumerate(used) if step.skipped == "yes"), len(used))
    falling = [step for step in used[:first] if step.lost and step.flow > knee]
    if not falling or (skipping and fit.sudden > 0.5):
        return "skip", None
    numbers = weigh_numbers("reading")
    near = [step for step in falling if step.ratio > fit.level * (1.0 - numbers["near"])]
    rise = _rise(near or falling[:1], knee, fit.level)
    return ("melt" if rise < numbers["saturated"] else "slip"), rise


def _rise(falling: Sequence[Step], knee: float, level: float) -> float:
    """Return the part of what is added beyond the knee that still comes out, [-]."""
    flows = np.array([step.flow for step in falling])
    out = np.array([step.flow * step.ratio / level for step in falling])
    weight = np.array([1.0 / (step.flow * step.own) for step in falling]) ** 2
    away = flows - knee
    return float(np.sum(weight * away * (out - knee)) / np.sum(weight * away**2))


def _intact(used: Sequence[Step]) -> float:
    """Return the largest flow below the first that lost something or skipped."""
    last = used[0].flow
    for step in used[1:]:
        if step.lost or step.skipped == "yes":
            break
        last = step.flow
    return last


def _delivered(used: Sequence[Step], words: tuple[str, ...]) -> float | None:
    return max((s.flow * s.ratio for s in used if s.skipped in words), default=None)


def _reference(joined: Steps, due: float, budget: Budget) -> tuple[float, float]:
    """Return the absolute ratio of the slow reference and its expanded uncertainty."""
    per_length, own = joined.reference
    ratio = per_length / due
    expanded = budget.coverage * ratio * budget.absolute(own, joined.steps[0].length)
    return ratio, expanded


def _widened(value: float, standard: float) -> Band:
    return Band(value, value - _NINETY * standard, value + _NINETY * standard)


def _correction(ratio: float, expanded: float, setup: Setup) -> Band | None:
    """Return the rotation distance that makes the slow run right, where it is off for sure."""
    if setup.rotation_distance is None or abs(ratio - 1.0) <= expanded:
        return None
    coverage = weigh_numbers("uncertainty")["coverage"]
    band = _widened(ratio, expanded / coverage)
    return Band(*(setup.rotation_distance * part for part in (band.value, band.low, band.high)))


def _conditions(table: WeighedTable) -> Mapping[str, str]:
    given = table.conditions
    words = {
        "material": given.material,
        "temperature": f"{given.temperature - 273.15:.4g} degC" if given.temperature else None,
        "nozzle": f"{given.nozzle * 1e3:.3g} mm" if given.nozzle else None,
        "hardware": given.hardware,
    }
    return {name: word for name, word in words.items() if word}
