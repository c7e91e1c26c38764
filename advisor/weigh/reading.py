"""Reads a weighed test: ratios, the knee, the kind of loss, the rotation distance.

It judges no machine: whether the test fits one is told by `advisor.weigh.fit`.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from advisor.base import Band, WeighError
from advisor.physics import filament_area, weighing
from advisor.weigh.by_hand import by_hand
from advisor.weigh.course import (
    evenness_of,
    kind_of_loss,
    loss_odds,
    off_from,
    outlier_sentences,
    remarks,
    still_rising,
)
from advisor.weigh.knee import KneeFit, find_knee
from advisor.weigh.records import Evaluation, HandTest, Setup, Step
from advisor.weigh.steps import Steps, join_runs
from advisor.weigh.table_records import WeighedTable
from advisor.weigh.uncertainty import Budget, usual_budget
from advisor.weigh.weigh_data import weigh_numbers

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["clean_flow", "evaluate", "own_of_piece", "steps_so_far"]

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
    joined = join_runs(table.runs, setup, budget, due=_due(table, setup))
    steps = _judged(joined.steps)
    used = _used(steps)
    if len(used) < _FEWEST:
        problem = "fewer than three flows are left without the outliers"
        raise WeighError(problem, "weigh them again", steps[0].at[0])
    fit = _fit(used)
    steps = _with_misread(_with_losses(steps, fit), fit)
    made, used = _evaluation(table, setup, budget, joined, steps, fit), _used(steps)
    return replace(
        made,
        clean=clean_flow(used),
        off_from=off_from(used, fit),
        droop=_droop(fit),
        draws=_held(fit.draws, used),
        came_out=_held(fit.came_out, used),
        hardware=table.conditions.hardware,
    )


def steps_so_far(table: WeighedTable, setup: Setup) -> tuple[Step, ...]:
    """Return the flows weighed so far, rising, the slow reference first; outliers too.

    Fewer than a test needs will do; none where nothing was weighed.

    Parameters
    ----------
    table : WeighedTable
        The test as far as it was written down.
    setup : Setup
        Filament, density and rotation distance.

    Raises
    ------
    WeighError
        If the slow reference is none: it skipped, nothing came out, or its mass cannot be.
    """
    if not table.runs:
        return ()
    return join_runs(table.runs, setup, _budget(table, setup), due=_due(table, setup)).steps


def own_of_piece(table: WeighedTable, setup: Setup, length: float) -> float:
    """Return the relative standard uncertainty of one piece's mass, by scale, cut and spool, [-].

    Parameters
    ----------
    table, setup
        As in `steps_so_far`.
    length : float
        Of the piece, [m]
    """
    return _budget(table, setup).own(_due(table, setup) * length, pieces=1, rows=1)


def _evaluation(
    table: WeighedTable,
    setup: Setup,
    budget: Budget,
    joined: Steps,
    steps: Sequence[Step],
    fit: KneeFit,
) -> Evaluation:
    used = _used(steps)
    odds = loss_odds(used, fit)
    last, first = _skips(used)
    ratio, expanded = _reference(joined, _due(table, setup), budget)
    hand = by_hand(steps, setup, budget, joined.reference[1])
    calibration, unsure = _calibration(ratio, expanded, hand, budget)
    meant = _meant(calibration, setup)
    return Evaluation(
        name=table.conditions.name or table.file,
        file=table.file,
        steps=tuple(steps),
        reference_ratio=_widened(ratio, expanded / budget.coverage),
        reference_expanded=expanded,
        level=fit.level,
        knee=_band(_held(fit.draws, used)),
        last_without_skips=last,
        first_skip=first,
        intact=_intact(used, fit),
        delivered=_delivered(used, ("no", "unsure")) or 0.0,
        carried=_delivered(used, ("no",)),
        loss=kind_of_loss(odds),
        loss_odds=odds,
        rise=still_rising(used, fit),
        rotation_distance=meant if abs(calibration.value - 1.0) > unsure else None,
        rotation_meant=meant,
        outliers=(*joined.outliers, *outlier_sentences(steps)),
        remarks=tuple(remarks(table, joined, used, fit, setup)),
        conditions=_conditions(table),
        by_hand=hand,
        date=table.conditions.date,
        roll=table.conditions.roll,
        built=table.conditions.stated,
        expected=setup.expected,
        evenness=evenness_of(table.runs, steps, _whole(used, fit), budget, setup.area),
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
        if more and after is None and here > 1:  # or it is the one before it that is too light
            off = min(off, step.ratio - steps[here - 2].ratio)
        skips = not more and any(x.skipped == "yes" for x in (step, *around[1:]))
        impossible = not more or after is None or step.ratio > 1.0 + own
        if off > own and impossible and not last_may_fall and not skips:
            made[here] = replace(step, outlier=_off_by(off if more else -off))
    return tuple(made)


def _fit(used: Sequence[Step]) -> KneeFit:
    return find_knee(
        np.array([step.flow for step in used]),
        np.array([step.ratio for step in used]),
        np.array([step.own for step in used]),
        skipped=np.array([step.skipped == "yes" for step in used]),
        numbers=weigh_numbers("fit"),
        shapes=weigh_numbers("delivery"),
    )


def _with_losses(steps: Sequence[Step], fit: KneeFit) -> tuple[Step, ...]:
    """Mark the flows that lost more than the droop: what is below the level at the knee."""
    limit, level = weigh_numbers("reading")["loss"], fit.level * (1.0 - fit.droop[1])
    return tuple(
        replace(step, lost=step.ratio < level - limit * fit.excess * step.own) for step in steps
    )


def _with_misread(steps: Sequence[Step], fit: KneeFit) -> tuple[Step, ...]:
    """Mark the flows whose mass was misread by all likelihood: they hardly counted in the fit."""
    used, numbers = _used(steps), weigh_numbers("reading")
    words = {}
    for place, odds in enumerate(fit.misread):
        if odds < weigh_numbers("fit")["flagged"] or not 0 < place < len(used) - 1:
            continue
        off, own = _beside(*used[place - 1 : place + 2])
        if abs(off) > numbers["outlier"] * fit.excess * own:
            words[used[place].flow] = _off_by(off)
    return tuple(
        replace(step, outlier=words[step.flow])
        if step.flow in words and step.outlier is None
        else step
        for step in steps
    )


def _beside(before: Step, here: Step, after: Step) -> tuple[float, float]:
    """Return by how much a ratio is off the line between its neighbours, and how sure that is."""
    part = (here.flow - before.flow) / (after.flow - before.flow)
    due = before.ratio + part * (after.ratio - before.ratio)
    return here.ratio - due, math.hypot(here.own, (1.0 - part) * before.own, part * after.own)


def _off_by(share: float) -> str:
    return f"{100 * abs(share):.1f} % {'more' if share > 0.0 else 'less'} than its neighbours"


def clean_flow(used: Sequence[Step]) -> float | None:
    """Return the fastest flow up to which every piece is whole and none skipped, [m3/s].

    None where already the slow run skipped, or may have.
    """
    whole, clean = weigh_numbers("reading")["whole"], None
    for step in used:
        if step.skipped != "no" or step.ratio < whole:
            break
        clean = step.flow
    return clean


def _held(draws: Array | None, used: Sequence[Step]) -> Array | None:
    """Return draws of the knee without those below half their middle where all was whole."""
    if draws is None:
        return None
    half = weigh_numbers("reading")["lowest"] * float(np.median(draws))
    return np.maximum(draws, min(half, clean_flow(used) or 0.0))


def _band(draws: Array | None) -> Band | None:
    if draws is None:
        return None
    low, middle, high = (draws[_place(draws.size, q)] for q in (0.05, 0.5, 0.95))
    return Band(float(middle), float(low), float(high))


def _droop(fit: KneeFit) -> Band | None:
    if fit.draws is None:
        return None
    low, middle, high = fit.droop
    return Band(middle, low, high)


def _place(size: int, quantile: float) -> int:
    return round((size - 1) * quantile)


def _intact(used: Sequence[Step], fit: KneeFit) -> float:
    """Return the largest flow below the first that lost something or skipped.

    Where delivery is not seen to fall, at most what the knee surely lies above.
    """
    last = used[0].flow
    for step in used[1:]:
        if step.lost or step.skipped == "yes":
            break
        last = step.flow
    return last if fit.draws is not None else min(last, fit.least)


def _whole(used: Sequence[Step], fit: KneeFit) -> float:
    """Return the flow up to which nothing is lost but by the droop, surely."""
    if fit.draws is None:
        return _intact(used, fit)
    return float(fit.draws[_place(fit.draws.size, 0.05)])


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


def _calibration(
    ratio: float, expanded: float, hand: HandTest | None, budget: Budget
) -> tuple[Band, float]:
    """Return what went in of what was commanded, and how sure that is: by ruler, else by mass."""
    if hand is not None and hand.calibration is not None:
        return hand.calibration, hand.calibration_expanded
    return _widened(ratio, expanded / budget.coverage), expanded


def _meant(band: Band, setup: Setup) -> Band | None:
    """Return the rotation distance that would make the slow run right."""
    if setup.rotation_distance is None:
        return None
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
