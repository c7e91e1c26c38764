"""What the next piece would settle: expected information, one step ahead.

The mutual information of a piece's outcome and what is asked (Watson 2017, Journal of Vision
17(3):10): the entropy that the question is expected to lose. The question is where delivery begins
to fall, or whether it does so above a flow; all else that is not known is summed over.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from advisor.weigh.belief import Belief
from advisor.weigh.weigh_data import weigh_numbers

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Labels = NDArray[np.int64]

__all__ = ["information", "outcomes", "where", "whether"]

_STEPS = 2.0  # points of the outcome a standard deviation
_MOST = 160
_FAR = 4.0  # standard deviations that are looked at


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
