"""What the course of the masses shows beside where it falls: kind of loss, evenness, remarks.

The kinds of loss are slipping, a cold core, skipping and buckling, with odds; where nothing is sure
enough it says that it cannot tell. An even course is level and droops with the 2.8th power of the
flow; what the pieces are off it is held against their own uncertainties by a chi-square (JCGM
100:2008, annex E and H on residuals). Remarks are sentences for the reader.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from advisor.weigh.knee import KneeFit
from advisor.weigh.records import Evenness, Setup, Step
from advisor.weigh.steps import Steps, with_flow
from advisor.weigh.table_records import Run, Skipped, WeighedTable
from advisor.weigh.uncertainty import Budget
from advisor.weigh.weigh_data import weigh_numbers

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = [
    "evenness_of",
    "kind_of_loss",
    "loss_odds",
    "off_from",
    "outlier_sentences",
    "remarks",
    "still_rising",
]

_FEWEST = 5  # pieces
_POWER = 2.8  # of the flow with which the push rises, and slip with it
_NINETY_FIVE = 1.6448536269514722
_PARAMETERS = 2
_MM3 = 1e9
_MUCH = 1.5  # scatter over the stated one that is told


def evenness_of(
    runs: Sequence[Run], steps: Sequence[Step], whole: float, budget: Budget, area: float
) -> Evenness | None:
    """Return how evenly the whole pieces of a test weigh; None where they are too few.

    Parameters
    ----------
    runs : sequence of Run
        The lines of the table.
    steps : sequence of Step
        What was made of them.
    whole : float
        The flow up to which nothing is lost, [m3/s]
    budget : Budget
        How sure a weighing is.
    area : float
        Cross-section of the filament, [m2]
    """
    odd = {at.line for step in steps if step.outlier is not None for at in step.at}
    good = [
        run
        for run in (with_flow(run, area) for run in runs)
        if (run.flow or 0.0) <= whole and run.skipped is Skipped.NO and run.at.line not in odd
    ]
    if len(good) < _FEWEST:
        return None
    masses = np.array([run.mass / run.length for run in good])
    middle = float(np.median(masses))
    own = np.array([budget.own(middle * x.length, pieces=x.pieces, rows=1) for x in good])
    flows = np.array([run.flow or 0.0 for run in good])
    course = np.column_stack([np.ones(len(good)), (flows / flows.max()) ** _POWER]) / own[:, None]
    fitted, *_ = np.linalg.lstsq(course, masses / middle / own, rcond=None)
    squares = float(np.sum((masses / middle / own - course @ fitted) ** 2))
    free = len(good) - _PARAMETERS
    explained = float(np.sqrt(np.mean(own**2)))
    scatter = explained * math.sqrt(squares / free)
    more = squares > _chi_square(free)
    beyond = math.sqrt(scatter**2 - explained**2) if more else None
    return Evenness(len(good), scatter, explained, beyond)


def _chi_square(free: int) -> float:
    """Return the 95 % point of chi-square, after Wilson and Hilferty (1931)."""
    part = 2.0 / (9.0 * free)
    return float(free * (1.0 - part + _NINETY_FIVE * math.sqrt(part)) ** 3)


def loss_odds(used: Sequence[Step], fit: KneeFit) -> Mapping[str, float]:
    """Return the probability of each kind of loss, the likeliest first; empty where none is seen.

    Parameters
    ----------
    used : sequence of Step
        The steps that count, by rising flow.
    fit : KneeFit
        What they say of the knee.
    """
    if fit.draws is None:
        return {}
    at_once = "skip" if any(step.skipped == "yes" for step in used) else "buckle"
    names = {"slip": "slip", "melt": "melt", "cliff": at_once}
    seen = {names[family]: odds for family, odds in fit.odds.items() if family in names}
    odds_of = _as_sure_as_borne_out(seen)
    whole = sum(odds_of.values())
    ordered = sorted(odds_of.items(), key=lambda pair: (-pair[1], pair[0]))
    return {name: odds / whole for name, odds in ordered}


def _as_sure_as_borne_out(seen: Mapping[str, float]) -> Mapping[str, float]:
    """Return the odds with those of slip and melt drawn together: their shapes are much alike."""
    alike = [kind for kind in ("slip", "melt") if seen.get(kind, 0.0) > 0.0]
    held, both = weigh_numbers("reading")["odds_power"], sum(seen[kind] for kind in alike)
    drawn = {kind: seen[kind] ** held for kind in alike}
    whole = sum(drawn.values())
    return {**seen, **{kind: both * odds / whole for kind, odds in drawn.items()}}


def kind_of_loss(odds: Mapping[str, float]) -> str:
    """Return the kind of loss that is likely enough to be named; ``unsure``, or ``none``."""
    if not odds:
        return "none"
    kind, share = next(iter(odds.items()))
    return kind if share >= weigh_numbers("reading")["told"] else "unsure"


def still_rising(used: Sequence[Step], fit: KneeFit) -> float | None:
    """Return the part of what is added beyond the knee that still comes out, [-].

    None where no flow beyond the knee lost something before the motor skipped.
    """
    if fit.draws is None:
        return None
    knee, level = float(np.median(fit.draws)), fit.level * (1.0 - fit.droop[1])
    first = next((n for n, step in enumerate(used) if step.skipped == "yes"), len(used))
    falling = [step for step in used[:first] if step.lost and step.flow > knee]
    if not falling:
        return None
    most = weigh_numbers("reading")["near"]
    near = [step for step in falling if step.ratio > level * (1.0 - most)]
    return _rise(near or falling[:1], knee, level)


def _rise(falling: Sequence[Step], knee: float, level: float) -> float:
    flows = np.array([step.flow for step in falling])
    out = np.array([step.flow * step.ratio / level for step in falling])
    weight = np.array([1.0 / (step.flow * step.own) for step in falling]) ** 2
    away = flows - knee
    return float(np.sum(weight * away * (out - knee)) / np.sum(weight * away**2))


def off_from(used: Sequence[Step], fit: KneeFit) -> float | None:
    """Return the flow from which on the pieces lie far below the slow run all alike, [m3/s].

    None in a sound test. One of the two is wrong then: the slow run, or the knee further up.
    """
    least = 1.0 - weigh_numbers("reading")["off_level"]
    if fit.level >= least:
        return None
    return next((step.flow for step in used[1:] if step.ratio < least), None)


def outlier_sentences(steps: Sequence[Step]) -> Iterator[str]:
    """Yield a sentence for each flow that is left out of the fit."""
    for step in steps:
        if step.outlier is not None:
            yield f"line {step.at[0].line}: {step.flow * _MM3:.3g} mm3/s gave {step.outlier}"


def remarks(
    table: WeighedTable, joined: Steps, used: Sequence[Step], fit: KneeFit, setup: Setup
) -> Iterator[str]:
    """Yield what is odd or missing in a test.

    Parameters
    ----------
    table : WeighedTable
        The test as it was written down.
    joined : Steps
        Its steps, and what the references say.
    used : sequence of Step
        The steps that count.
    fit : KneeFit
        The knee.
    setup : Setup
        The machine.
    """
    off = off_from(used, fit)
    if off is not None:
        yield _off_words(off, fit)
    if table.left_out:
        yield f"{table.left_out} lines have no mass: those flows were not run"
    if joined.drift is not None:
        yield (
            f"the slow reference changed by {100 * joined.drift:+.1f} % from first to last: spool, "
            "temperature or a partial clog changed during the test"
        )
    if joined.repeatability > _MUCH or fit.excess > _MUCH:
        times = max(joined.repeatability, fit.excess)
        yield f"masses scatter {times:.1f} times as much as usual; the band is that much wider"
    slow = used[0].flow
    if setup.expected is not None and slow > setup.expected.low:
        yield (
            f"the slowest flow, {slow * _MM3:.3g} mm3/s, is not slow for this machine: the "
            "reference may have lost something already"
        )
    if off is None and fit.draws is None and not any(step.skipped == "yes" for step in used):
        yield _not_reached(used[-1])
    if used[-1].skipped == "unsure" and all(step.skipped == "unsure" for step in used):
        yield "no line says whether the motor skipped; listen for clicks and fill in yes or no"


def _off_words(off: float, fit: KneeFit) -> str:
    """Return that the slow run and the other pieces do not go together."""
    return (
        f"from {off * _MM3:.3g} mm3/s on {100 * fit.level:.0f} % of the slow run comes out: "
        "either the slow run was weighed too heavy, or under-extrusion starts below that; "
        "weigh both again before you use a limit"
    )


def _not_reached(last: Step) -> str:
    return (
        f"nothing was lost and nothing skipped up to {last.flow * _MM3:.3g} mm3/s: the limit lies "
        "above; go on with faster flows (weigh plan --from)"
    )
