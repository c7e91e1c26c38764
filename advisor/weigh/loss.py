"""What kind of loss a weighed test shows, with odds: slipping, a cold core, skipping, buckling.

Where nothing is sure enough it says that it cannot tell.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from advisor.weigh.knee import KneeFit
from advisor.weigh.records import Step
from advisor.weigh.weigh_data import weigh_numbers

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["kind_of_loss", "loss_odds", "still_rising"]


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
