"""How evenly a drive delivers: the scatter of its whole pieces against what weighing explains.

An even course is level and droops with the 2.8th power of the flow; what the pieces are off it is
held against their own uncertainties by a chi-square (JCGM 100:2008, annex E and H on residuals).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from advisor.weigh.records import Evenness, Step
from advisor.weigh.steps import with_flow
from advisor.weigh.table_records import Run, Skipped
from advisor.weigh.uncertainty import Budget

__all__ = ["evenness_of"]

_FEWEST = 5  # pieces
_POWER = 2.8  # of the flow with which the push rises, and slip with it
_NINETY_FIVE = 1.6448536269514722
_PARAMETERS = 2


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
