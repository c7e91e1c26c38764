"""How a weighed test that is made piece by piece stands: the reading so far, the next, the end."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from advisor.base import Band, WeighError
from advisor.weigh.belief import Belief, Expected, Rows, believed
from advisor.weigh.choice import (
    AllowedFlows,
    Choice,
    band_after,
    choose_piece,
    fixed_width,
    sure_after,
)
from advisor.weigh.reading import evaluate, own_of_piece, steps_so_far
from advisor.weigh.records import Plan, Setup, Step
from advisor.weigh.table_records import WeighedTable
from advisor.weigh.weigh_data import weigh_numbers

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["Outlook", "OutlookBench", "outlook_of"]

_FEWEST = 3  # flows that the reader needs
_ENDS = (0.05, 0.5, 0.95)


@dataclass(frozen=True, slots=True)
class OutlookBench:
    """The machine under the test.

    Attributes
    ----------
    setup : Setup
        What must be known to read its pieces.
    loss : ndarray
        Where delivery begins to fall, over the model's machines, [m3/s]
    whole, first : Plan
        The whole test, and the first two pieces of one made piece by piece.
    top : float
        The fastest flow that the firmware feeds, [m3/s]
    """

    setup: Setup
    loss: Array
    whole: Plan
    first: Plan
    top: float


@dataclass(frozen=True, slots=True)
class Outlook:
    """The reading so far and what the next piece would make of it.

    Attributes
    ----------
    flow : float
        Of the next piece; at the end of one more, [m3/s]
    reference : bool
        Whether it is the slow reference.
    weighed : int
        Pieces so far.
    stop : str or None
        Why the test may end: ``width``, ``pieces``, ``proved`` or ``little``: none would tell much.
    limit, believed : Band or None
        Where delivery begins to fall by the reader, and by pieces and model together, [m3/s]
    width, width_after, wanted : float or None
        Width of `limit` over its middle now, as expected after the next piece, and as the whole
        test would make it on this machine, [-]
    above, sure_after : float or None
        How likely the limit is above the flow that was to be proved; how sure the answer is
        expected to be after the next piece, [-]
    """

    flow: float
    reference: bool
    weighed: int
    stop: str | None = None
    limit: Band | None = None
    believed: Band | None = None
    width: float | None = None
    width_after: float | None = None
    wanted: float | None = None
    above: float | None = None
    sure_after: float | None = None


def outlook_of(
    table: WeighedTable, bench: OutlookBench, *, prove: float | None = None, ahead: bool = True
) -> Outlook:
    """Return how a test stands.

    Parameters
    ----------
    table : WeighedTable
        The test as far as it was written down.
    bench : OutlookBench
        The machine.
    prove : float, optional
        Ask whether the limit is above this flow, [m3/s]; else where it is.
    ahead : bool, optional
        Whether to work out what the next piece would make of the reading.

    Raises
    ------
    WeighError
        If the slow reference is none.
    """
    steps, slow = steps_so_far(table, bench.setup), bench.first.steps[0].flow
    weighed = len(table.runs)
    likely = float(np.quantile(bench.loss, _ENDS[0]))
    if not steps or steps[0].flow > max(likely, slow * 1.01):
        return Outlook(slow, reference=True, weighed=weighed)
    if len(steps) == 1 and prove is None:
        return Outlook(bench.first.steps[1].flow, reference=False, weighed=weighed)
    return _after(table, steps, bench, prove, ahead=ahead)


def _after(
    table: WeighedTable, steps: Sequence[Step], bench: OutlookBench, prove: float | None,
    *, ahead: bool,
) -> Outlook:  # fmt: skip
    """Return how a test stands that has its slow reference."""
    numbers, rows = weigh_numbers("next"), _rows(steps)
    own = own_of_piece(table, bench.setup, bench.whole.steps[0].length)
    expected = Expected.of(bench.loss, numbers)
    may = AllowedFlows(min(numbers["over_slow"] * steps[0].flow, bench.top), bench.top, own)
    choice = choose_piece(rows, expected, may, prove=prove)
    low, middle, high = choice.belief.quantiles(_ENDS)
    made = Outlook(
        choice.flow, reference=False, weighed=len(table.runs), limit=_limit(table, bench),
        believed=Band(float(middle), float(low), float(high)),
    )  # fmt: skip
    if prove is not None:
        return _proving(made, choice, prove, own)
    made = _settling(made, choice, table, bench, own)
    if ahead:
        after = band_after(rows, choice.belief, choice.flow, own)
        made = replace(made, width_after=after)
    return made


def _proving(made: Outlook, choice: Choice, prove: float, own: float) -> Outlook:
    numbers = weigh_numbers("next")
    knee = choice.belief.knee
    above = (float(np.sum(knee > prove)) + 0.5) / (knee.size + 1.0)  # as sure as so many can tell
    after = sure_after(choice.belief, prove, choice.flow, own)
    enough = made.weighed >= numbers["least_pieces"]
    stop = "proved" if enough and max(above, 1.0 - above) >= numbers["sure"] else None
    return replace(
        made,
        above=above,
        sure_after=after,
        width=_width(made.limit),
        stop=stop or _end(made, choice),
    )


def _settling(
    made: Outlook, choice: Choice, table: WeighedTable, bench: OutlookBench, own: float
) -> Outlook:
    width = _width(made.limit)
    wanted = None if width is None else _wanted(bench.whole, choice.belief, own)
    stop = "width" if _met(width, wanted) and _met_before(table, bench, own) else None
    return replace(made, width=width, wanted=wanted, stop=stop or _end(made, choice))


def _met(width: float | None, wanted: float | None) -> bool:
    return width is not None and wanted is not None and width <= wanted


def _met_before(table: WeighedTable, bench: OutlookBench, own: float) -> bool:
    """Whether the band was narrow enough before the last piece already."""
    before = replace(table, runs=table.runs[:-1])
    width = _width(_limit(before, bench))
    if width is None:
        return False
    numbers, rows = weigh_numbers("next"), _rows(steps_so_far(before, bench.setup))
    expected = Expected.of(bench.loss, numbers)
    belief = believed(rows, expected, int(numbers["hypotheses"]))
    return _met(width, _wanted(bench.whole, belief, own))


def _wanted(whole: Plan, belief: Belief, own: float) -> float | None:
    made = fixed_width([step.flow for step in whole.steps], belief, own)
    return None if made is None else made * weigh_numbers("next")["as_wide"]


def _end(made: Outlook, choice: Choice) -> str | None:
    """Return why a test ends that has not settled what was asked; None where it goes on."""
    numbers = weigh_numbers("next")
    if made.weighed >= numbers["most_pieces"]:
        return "pieces"
    if made.weighed >= numbers["least_pieces"] and choice.bits < numbers["least_bits"]:
        return "little"
    return None


def _rows(steps: Sequence[Step]) -> Rows:
    return Rows(
        np.array([step.flow for step in steps]),
        np.array([step.ratio for step in steps]),
        np.array([step.own for step in steps]),
        np.array([step.skipped == "yes" for step in steps]),
    )


def _limit(table: WeighedTable, bench: OutlookBench) -> Band | None:
    """Return the band of the reader; None where the flows are too few, or nothing falls."""
    if len({run.flow or run.speed for run in table.runs}) < _FEWEST:
        return None
    try:
        return evaluate(table, bench.setup).knee
    except WeighError:  # too few are left without the outliers
        return None


def _width(band: Band | None) -> float | None:
    return None if band is None else (band.high - band.low) / band.value
