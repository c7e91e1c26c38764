"""Chooses the next piece of a weighed test that is made one by one.

The flow whose outcome is expected to tell most, among flows that may be run: never faster
than the first that skipped, nor than the firmware feeds. How wide the reader's band is expected to
be after it is worked out by the reader itself, on outcomes that are likely.

What a piece tells is its expected information, one step ahead: the mutual information of a piece's
outcome and what is asked (Watson 2017, Journal of Vision 17(3):10): the entropy that the question
is expected to lose. The question is where delivery begins to fall, or whether it does so above a
flow; all else that is not known is summed over.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from statistics import NormalDist
from typing import TYPE_CHECKING

import numpy as np

from advisor.weigh.belief import Belief, Expected, Rows, believed
from advisor.weigh.knee import find_knee
from advisor.weigh.weigh_data import weigh_numbers

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Labels = NDArray[np.int64]

__all__ = [
    "AllowedFlows",
    "Choice",
    "band_after",
    "choose_piece",
    "fixed_width",
    "information",
    "outcomes",
    "sure_after",
    "where",
    "whether",
]

_STEPS = 2.0  # points of the outcome a standard deviation
_MOST = 160
_FAR = 4.0  # standard deviations that are looked at
_LIKELY = (0.15, 0.5, 0.85)  # outcomes after which the band is worked out
_MACHINES = (
    0.07,
    0.22,
    0.36,
    0.5,
    0.64,
    0.78,
    0.93,
)  # of what is believed, for which the fixed test is worked out
_GOLDEN = 0.6180339887498949
_STEP = 1e10  # flows are to a tenth of a mm3/s


def where(belief: Belief) -> Labels:
    """Return in which narrow range of the flow each hypothesis begins to lose delivery."""
    width = np.log1p(weigh_numbers("next")["bin"])
    made: Labels = np.floor(np.log(belief.knee / belief.knee[0]) / width).astype(np.int64)
    return made


def whether(belief: Belief, flow: float) -> Labels:
    """Return 1 for each hypothesis that begins to lose delivery above a flow [m3/s], else 0."""
    made: Labels = (belief.knee > flow).astype(np.int64)
    return made


def outcomes(belief: Belief, flow: float, own: float) -> tuple[Array, Array]:
    """Return how likely each outcome is under each hypothesis, shape (n, outcomes), [-].

    The last outcome is a skip; the others are ranges of the ratio.

    Parameters
    ----------
    belief : Belief
        The hypotheses.
    flow : float
        Of the piece, [m3/s]
    own : float
        Standard uncertainty of its ratio by scale, cut and spool, [-]
    """
    mean, spread, skips = belief.at(flow)
    sd = np.hypot(spread, own * belief.scale)
    low, high = float((mean - _FAR * sd).min()), float((mean + _FAR * sd).max())
    count = int(np.clip((high - low) / sd.min() * _STEPS, 8, _MOST))
    ratio = low + (np.arange(count) + 0.5) / count * (high - low)
    sound = np.exp(-0.5 * ((ratio[None] - mean[:, None]) / sd[:, None]) ** 2)
    sound /= sound.sum(axis=1, keepdims=True)
    wrong = weigh_numbers("fit")["misread"]
    whole = (1.0 - wrong) * sound + wrong / count
    made = np.concatenate([whole * (1.0 - skips)[:, None], skips[:, None]], axis=1)
    return ratio, made


def information(labels: Labels, likely: Array) -> float:
    """Return the mutual information of the question and the outcome, [bit].

    Parameters
    ----------
    labels : ndarray, shape (n,)
        What each hypothesis answers; equal ones stand together.
    likely : ndarray, shape (n, outcomes)
        How likely each outcome is under each, [-].
    """
    starts = np.flatnonzero(np.concatenate(([True], labels[1:] != labels[:-1])))
    joint = np.add.reduceat(likely, starts, axis=0) / labels.size
    share = joint.sum(axis=1, keepdims=True)
    alone = joint.sum(axis=0, keepdims=True)
    told = np.where(joint > 0.0, joint, 1.0)
    apart = np.where(joint > 0.0, share * alone, 1.0)
    return float(np.sum(joint * np.log2(told / apart)))


@dataclass(frozen=True, slots=True)
class Choice:
    """The flow to weigh next [m3/s], what it is expected to tell [bit], and the belief before."""

    flow: float
    bits: float
    belief: Belief


@dataclass(frozen=True, slots=True)
class AllowedFlows:
    """The flows that may be run, [m3/s], and the uncertainty of a ratio by weighing one, [-]."""

    low: float
    high: float
    own: float


def choose_piece(
    rows: Rows, expected: Expected, may: AllowedFlows, *, prove: float | None = None
) -> Choice:
    """Return the piece that is expected to tell most.

    Parameters
    ----------
    rows : Rows
        What was weighed; the slow reference at least.
    expected : Expected
        What the model expects.
    may : AllowedFlows
        Which flows may be run, and how sure a weighing is.
    prove : float, optional
        Ask whether the limit is above this flow, [m3/s]; else where it is.
    """
    numbers = weigh_numbers("next")
    belief = believed(rows, expected, int(numbers["hypotheses"]))
    labels = where(belief) if prove is None else whether(belief, prove)

    def bits(flow: float) -> float:
        return information(labels, outcomes(belief, flow, may.own)[1])

    low, high = _between(rows, belief, may)
    coarse = _best(np.geomspace(low, high, int(numbers["candidates"])), rows, bits)
    near = coarse * (1.0 + np.array(_parts(numbers["near"], numbers["far"])))
    flow = _best(np.clip(near, low, high), rows, bits)
    return Choice(flow, bits(flow), belief)


def _between(rows: Rows, belief: Belief, may: AllowedFlows) -> tuple[float, float]:
    """Return between which flows the next may be: beyond what is believed, up to the first skip."""
    numbers = weigh_numbers("next")
    low, high = belief.quantiles((0.01, 0.99))
    skipped = rows.flows[rows.skipped]
    most = min(may.high, float(skipped.min()) - 1.0 / _STEP) if skipped.size else may.high
    high = np.floor(min(float(high) * numbers["above"], most) * _STEP * (1.0 + 1e-12)) / _STEP
    return min(max(float(low) * numbers["below"], may.low), float(high)), float(high)


def _parts(near: float, far: float) -> tuple[float, ...]:
    return (-far, -near, 0.0, near, far)


def _best(flows: Array, rows: Rows, bits: Callable[[float], float]) -> float:
    """Return the flow that tells most, to a tenth of a mm3/s.

    None that was weighed already, or nearly: of two pieces at one flow nobody can tell which is the
    odd one, of neighbours one can.
    """
    apart = weigh_numbers("next")["apart"]
    rounded = sorted({round(float(flow) * _STEP) / _STEP for flow in flows})
    fresh = [one for one in rounded if np.all(np.abs(rows.flows / one - 1.0) > apart)]
    return max(fresh or rounded, key=bits)


def sure_after(belief: Belief, prove: float, flow: float, own: float) -> float:
    """Return how sure the answer is expected to be after a piece, whichever it is, [-].

    Parameters
    ----------
    belief : Belief
        What is believed before it.
    prove : float
        The flow that is asked about, [m3/s]
    flow, own : float
        Of the piece [m3/s], and the uncertainty of its ratio by weighing it, [-]
    """
    likely = outcomes(belief, flow, own)[1]
    above = whether(belief, prove) == 1
    one, other = likely[above].sum(axis=0), likely[~above].sum(axis=0)
    return float(np.maximum(one, other).sum() / belief.knee.size)


def band_after(rows: Rows, belief: Belief, flow: float, own: float) -> float | None:
    """Return how wide the reader's band is expected to be after a piece, over its middle, [-].

    The median over likely outcomes; None where after most of them there is no band yet.

    Parameters
    ----------
    rows, belief
        What was weighed, and what is believed after it.
    flow, own : float
        Of the piece [m3/s], and the uncertainty of its ratio by weighing it, [-]
    """
    ratio, likely = outcomes(belief, flow, own)
    skip = float(likely[:, -1].mean())
    gone = np.cumsum(likely[:, :-1].mean(axis=0))
    widths = []
    for part in _LIKELY:
        skips = part < skip
        place = min(int(np.searchsorted(gone, max(part - skip, 0.0))), ratio.size - 1)
        seen = 1.0 if skips else float(ratio[place])
        widths.append(_width(_with_row(rows, flow, seen, own, skips=skips)))
    middle = float(np.median([np.inf if width is None else width for width in widths]))
    return middle if np.isfinite(middle) else None


def fixed_width(flows: Sequence[float], belief: Belief, own: float) -> float | None:
    """Return how wide the reader's band would be after the whole test, over its middle, [-].

    Parameters
    ----------
    flows : sequence of float
        Of the whole test; the slow reference first and last, [m3/s]
    belief : Belief
        What is believed of the machine.
    own : float
        Uncertainty of a ratio by weighing, [-]
    """
    rising = np.array(sorted(set(flows)))
    scatter = np.full(rising.size, own)
    scatter[0] /= np.sqrt(2.0)
    seen = [belief.at(flow) for flow in rising]
    widths = []
    for number, part in enumerate(_MACHINES):
        one = int(part * belief.knee.size)
        ratios = np.array([mean[one] for mean, _, _ in seen])
        fallen = np.array([skips[one] > 0.5 for _, _, skips in seen])
        noise = scatter * _scores(number, rising.size)
        widths.append(_width(Rows(rising, ratios + noise, scatter, fallen)))
    known = [width for width in widths if width is not None]
    return float(np.median(known)) if known else None


def _scores(number: int, count: int) -> Array:
    """Return made-up weighing errors, in standard deviations: evenly spread, always the same."""
    places = np.mod((np.arange(1, count + 1) + count * number) * _GOLDEN, 1.0)
    return np.array([NormalDist().inv_cdf(float(place)) for place in places])


def _with_row(rows: Rows, flow: float, ratio: float, own: float, *, skips: bool) -> Rows:
    same = weigh_numbers("reading")["same_flow"]
    if np.any(np.abs(rows.flows / flow - 1.0) <= same):  # beside it, where the reader joins them
        flow *= 1.0 - 1.5 * same
    place = int(np.searchsorted(rows.flows, flow))
    return Rows(
        np.insert(rows.flows, place, flow),
        np.insert(rows.ratios, place, ratio),
        np.insert(rows.own, place, own),
        np.insert(rows.skipped, place, skips),
    )


def _rough() -> Mapping[str, float]:
    """Return the reader's numbers with fewer draws: what is only expected need not be exact."""
    mine = weigh_numbers("next")
    return {**weigh_numbers("fit"), "draws": mine["draws"], "first_draws": mine["first_draws"]}


def _width(rows: Rows) -> float | None:
    fit = find_knee(
        rows.flows, rows.ratios, rows.own, skipped=rows.skipped,
        numbers=_rough(), shapes=weigh_numbers("delivery"),
    )  # fmt: skip
    if fit.draws is None:
        return None
    low, middle, high = np.quantile(fit.draws, (0.05, 0.5, 0.95))
    return float((high - low) / middle)
