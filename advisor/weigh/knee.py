"""Where delivery begins to fall, for what reason, and which mass was misread.

Bayes' rule over drawn shapes of delivery: each is held against the ratios with the
level fitted to it, with a scatter that may be larger than stated, and with each flow in turn as
the one that was misread. What remains is summed up. It knows no mass and no machine.

The shapes are the same on every machine. Before the knee slip grows with the feed force (Nienhaus,
Spiehl, Doersam, J. Manuf. Mater. Process. 5 (2021) 53), so delivery droops with a power of the
flow. Beyond the knee the gears slip until no more comes out, or the melt zone passes only part of
what is added, or all of it fails at once. The draws stand evenly (an additive sequence), no
generator is used.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Flags = NDArray[np.bool_]

__all__ = ["FAMILIES", "Hypotheses", "KneeFit", "Shapes", "draw_shapes", "find_knee", "hypotheses"]

FAMILIES = ("slip", "melt", "cliff", "beyond")
_DIMENSIONS = 6
_LEAST = 3  # flows below which no shape is told from another
_Scales = tuple[tuple[float, float], ...]
_NEXT_TO_NOTHING = 1e-12  # density that stands for none
_TAIL = 1e-4  # of the knee's probability that may be cut away before the second draw


@dataclass(frozen=True, slots=True)
class Shapes:
    """Draws of one family of ways to lose delivery.

    Attributes
    ----------
    family : str
        ``slip``, ``melt``, ``cliff`` (all at once, at the knee) or ``beyond`` (the knee lies
        above all flows).
    knee : ndarray, shape (n,)
        Where delivery begins to fall, [unit of the flows].
    droop : ndarray, shape (n,)
        What is missing at the knee, [-].
    ratios : ndarray, shape (n, flows)
        What comes out over what does at no flow, [-].
    loss : ndarray, shape (n, flows)
        The part of it that is lost by the knee, [-].
    """

    family: str
    knee: Array
    droop: Array
    ratios: Array
    loss: Array


def draw_shapes(
    family: str, flows: Array, span: tuple[float, float], count: int, numbers: Mapping[str, float]
) -> Shapes:
    """Return draws of a family at some flows.

    Parameters
    ----------
    family : str
        One of `FAMILIES`.
    flows : ndarray
        Rising flows, [any].
    span : tuple of float
        The knee lies evenly in the logarithm between these, [unit of the flows].
    count : int
        Number of draws, [-].
    numbers : mapping
        The part ``delivery`` of rules/weigh/test.yaml.
    """
    places = _places(count)
    knee = _log_even(places[0], *span)
    droop = numbers["most_droop"] * places[1] ** numbers["droop_lean"]
    power = numbers["least_power"] + (numbers["most_power"] - numbers["least_power"]) * places[2]
    away = np.log(flows)[None] - np.log(knee)[:, None]
    below = 1.0 - droop[:, None] * np.exp(power[:, None] * np.minimum(away, 0.0))
    kept = _kept(family, np.maximum(away, 0.0), places, numbers)
    return Shapes(family, knee, droop, below * kept, 1.0 - kept)


def _kept(family: str, away: Array, places: Array, numbers: Mapping[str, float]) -> Array:
    """Return the part that the knee leaves; `away` is the logarithm of flow over knee, [-]."""
    if family == "slip":
        steep = _log_even(places[3], numbers["least_slip"], numbers["most_slip"])[:, None]
        bend = numbers["least_bend"] + (numbers["most_bend"] - numbers["least_bend"]) * places[4]
        ground = np.log(_log_even(places[5], numbers["least_ground"], numbers["most_ground"]))
        slipping = steep * away ** bend[:, None]
        kept: Array = np.exp(-np.maximum(slipping, away - ground[:, None]))
        return kept
    if family == "melt":
        passed = numbers["most_passed"] * places[3][:, None]
        melted: Array = np.exp(-(1.0 - passed) * away)
        return melted
    return np.ones_like(away)


def _log_even(places: Array, low: float, high: float) -> Array:
    made: Array = low * (high / low) ** places
    return made


@functools.lru_cache(maxsize=8)
def _places(count: int) -> Array:
    """Return evenly spread points of the unit cube, shape (dimensions, count), [-].

    An additive sequence on the generalised golden ratio (Roberts 2018, a rule of thumb from
    memory; any evenly spread set would do).
    """
    ratio = 2.0
    for _ in range(60):
        ratio = (1.0 + ratio) ** (1.0 / (_DIMENSIONS + 1))
    pace = ratio ** -np.arange(1.0, _DIMENSIONS + 1)
    made: Array = np.mod(0.5 + np.arange(1.0, count + 1)[None] * pace[:, None], 1.0)
    return made


@dataclass(frozen=True, slots=True)
class KneeFit:
    """What the ratios say of the turning point.

    Attributes
    ----------
    draws : ndarray or None
        Draws of the turning point, sorted, in the unit of the flows; None where delivery is not
        seen to fall.
    level : float
        Ratio at no flow, [-].
    droop : tuple of float
        What is missing at the turning point: 5 %, 50 % and 95 % point, [-].
    odds : mapping of str to float
        Probability of each family of `delivery.FAMILIES`, [-].
    least : float
        What comes out at the turning point lies above this, 95 % sure, [unit of the flows].
    excess : float
        Factor by which the scatter exceeds the stated uncertainty, at least 1, [-].
    misread : ndarray
        Probability of each flow's mass being misread, [-].
    came_out : ndarray or None
        Draws of the flow that came out at the turning point, sorted; None as `draws`.
    """

    draws: Array | None
    level: float
    droop: tuple[float, float, float]
    odds: Mapping[str, float]
    least: float
    excess: float
    misread: Array
    came_out: Array | None = field(repr=False)


def find_knee(
    flows: Array, ratios: Array, uncertainty: Array, *, skipped: Flags,
    numbers: Mapping[str, float], shapes: Mapping[str, float],
) -> KneeFit:  # fmt: skip
    """Return where the ratio begins to fall.

    Parameters
    ----------
    flows : ndarray
        Rising flows, [any].
    ratios, uncertainty : ndarray
        Delivery ratio and its own standard uncertainty, without what all flows share, [-].
    skipped : ndarray of bool
        Where the motor skipped.
    numbers, shapes : mapping
        The parts ``fit`` and ``delivery`` of rules/weigh/test.yaml.
    """
    seen = _Points.of(flows, ratios, uncertainty, np.asarray(skipped, bool), numbers)
    weighed = [
        _Weighed(family, seen, numbers, shapes)
        for family in FAMILIES
        if seen.span(family, numbers) is not None
    ]
    return _summed_up(weighed, seen, numbers)


@dataclass(frozen=True, slots=True)
class Hypotheses:
    """One family of shapes with the weight that some ratios and a prior leave each.

    Attributes
    ----------
    family : str
        One of `delivery.FAMILIES`.
    span : tuple of float
        Between these `draw_shapes` drew the knee, [unit of the flows].
    knee, logs, level, level_own, scale : ndarray, shape (n,)
        The knee [unit of the flows], logarithm of the weight, the ratio at no flow with its
        standard uncertainty, and the factor on the stated scatter, [-].
    """

    family: str
    span: tuple[float, float]
    knee: Array
    logs: Array
    level: Array
    level_own: Array
    scale: Array


def hypotheses(
    flows: Array, ratios: Array, uncertainty: Array, *, skipped: Flags,
    numbers: Mapping[str, float], shapes: Mapping[str, float], density: Callable[[Array], Array],
) -> tuple[Hypotheses, ...]:  # fmt: skip
    """Return what `find_knee` sums up, each hypothesis by itself, with a prior of the knee.

    Parameters
    ----------
    flows, ratios, uncertainty, skipped, numbers, shapes
        As in `find_knee`.
    density : callable
        Density of the logarithm of the knee, [-].
    """
    seen = _Points.of(flows, ratios, uncertainty, np.asarray(skipped, bool), numbers)
    spans = {family: seen.span(family, numbers) for family in FAMILIES}
    families = [family for family, span in spans.items() if span is not None and span[0] < span[1]]
    return tuple(
        _Weighed(family, seen, numbers, shapes, density).hypotheses() for family in families
    )


@dataclass(frozen=True, slots=True)
class _Points:
    """The flows that shapes are held against: all before the first skip or collapse.

    ``beyond`` is the first flow that is lost altogether, ``skips`` whether it skipped there,
    ``deep`` whether its ratio is the last of `ratios`.
    """

    flows: Array
    ratios: Array
    own: Array
    count: int  # of all flows
    fastest: float
    beyond: float | None
    skips: bool
    deep: bool

    @classmethod
    def of(
        cls, flows: Array, ratios: Array, own: Array, skipped: Array, numbers: Mapping[str, float]
    ) -> _Points:
        """Cut a test off after the first flow that skipped or lost too much to be a curve."""
        level = float(np.median(ratios[: max(2, ratios.size // 4)]))
        lost = np.logical_or(skipped, ratios < level * (1.0 - numbers["most_loss"]))
        lost[0] = False
        if not lost.any():
            return cls(flows, ratios, own, flows.size, float(flows[-1]), None, False, False)
        end = int(np.argmax(lost))
        skips = bool(skipped[end])
        kept = end if skips else end + 1
        return cls(
            flows[:kept], ratios[:kept], own[:kept], flows.size, float(flows[-1]),
            float(flows[end]), skips, not skips,
        )  # fmt: skip

    def span(self, family: str, numbers: Mapping[str, float]) -> tuple[float, float] | None:
        """Return between which flows the knee of a family may lie; None where it cannot be."""
        reach = self.fastest * numbers["reach"]
        if family == "beyond":
            return (self.fastest, reach) if self.beyond is None else None
        if family == "cliff":
            if self.beyond is None:
                return None
            good = self.flows[-2] if self.deep else self.flows[-1]
            return float(good), self.beyond
        return float(self.flows[0]), self.fastest if self.beyond is None else self.beyond


class _Weighed:
    """The draws of one family with the weight that the ratios leave them."""

    def __init__(
        self, family: str, seen: _Points, numbers: Mapping[str, float],
        shapes: Mapping[str, float], density: Callable[[Array], Array] | None = None,
    ) -> None:  # fmt: skip
        span = seen.span(family, numbers)
        assert span is not None
        self.family, self.seen = family, seen
        first = draw_shapes(family, seen.flows, span, int(numbers["first_draws"]), shapes)
        rough = ((numbers["more_scatter"], 1.0),)
        logs = _logs(first, seen, numbers, rough)[0] + _log_density(density, first.knee)
        self.span = narrow = _narrowed(first.knee, logs, span)
        self.shapes = draw_shapes(family, seen.flows, narrow, int(numbers["draws"]), shapes)
        self.logs, self.level, self.misread, self.scale = _logs(
            self.shapes, seen, numbers, _scales(numbers)
        )
        width = np.log(narrow[1] / narrow[0])
        prior = numbers[f"prior_{family}"] if family in ("slip", "melt") else _cliff_prior(
            family, seen, numbers)  # fmt: skip
        if seen.skips and family != "cliff":  # then that it skips just there is a second chance
            prior *= min(1.0, float(np.log(seen.beyond / seen.flows[-1])) / numbers["skip_spread"])
        self.logs = self.logs + np.log(prior * width / self.shapes.knee.size)
        self.logs = self.logs + _log_density(density, self.shapes.knee)

    def hypotheses(self) -> Hypotheses:
        """Return the draws with their weight and what else goes with each."""
        own = self.seen.own[None] * self.scale[:, None]
        model = self.shapes.ratios[:, : own.shape[1]]
        level_own = np.sum((model / own) ** 2, axis=1) ** -0.5
        return Hypotheses(
            self.family, self.span, self.shapes.knee, self.logs, self.level, level_own, self.scale
        )


def _log_density(density: Callable[[Array], Array] | None, knee: Array) -> Array:
    if density is None:
        return np.zeros(knee.size)
    made: Array = np.log(np.maximum(density(knee), _NEXT_TO_NOTHING))
    return made


def _cliff_prior(family: str, seen: _Points, numbers: Mapping[str, float]) -> float:
    if family == "beyond":
        return 1.0
    return numbers["prior_skip" if seen.skips else "prior_fold"]


def _narrowed(knee: Array, logs: Array, span: tuple[float, float]) -> tuple[float, float]:
    """Return the part of the span outside which next to no weight lies, with room on each side."""
    weight = np.exp(logs - logs.max())
    order = np.argsort(knee)
    gone = np.cumsum(weight[order]) / weight.sum()
    low = knee[order][int(np.searchsorted(gone, _TAIL))]
    high = knee[order][min(int(np.searchsorted(gone, 1.0 - _TAIL)), knee.size - 1)]
    room = (high / low) ** 0.1 * (span[1] / span[0]) ** 0.01
    return max(span[0], low / room), min(span[1], high * room)


def _logs(
    shapes: Shapes, seen: _Points, numbers: Mapping[str, float], scales: _Scales
) -> tuple[Array, Array, Array, Array]:
    """Return log-likelihood (n,), level (n,), probability of a misreading (n, flows), scale (n,).

    The level is free: it is fitted to each draw and integrated over. One flow at most may be
    misread; its mass then scatters by ``misreading``.
    """
    model, scatter = shapes.ratios, numbers["line_scatter"] * shapes.loss
    ratios, own = seen.ratios[None], seen.own[None]
    if seen.deep and shapes.family == "cliff":  # what comes out after a collapse is anybody's guess
        model, ratios, own, scatter = model[:, :-1], ratios[:, :-1], own[:, :-1], scatter[:, :-1]
    rows = []
    for scale, prior in scales:
        sound = (own * scale) ** 2 + scatter**2
        rows.append((*_one_scale(model, ratios, sound, numbers), np.log(prior)))
    total = np.stack([np.logaddexp.reduce(logs, axis=1) + prior for logs, _, prior in rows])
    best = total.max(axis=0)
    share = np.exp(total - best)
    logs = best + np.log(share.sum(axis=0))
    share /= share.sum(axis=0)
    within = [
        np.exp(logs_h - np.logaddexp.reduce(logs_h, axis=1)[:, None]) for logs_h, _, _ in rows
    ]
    misread = sum(s[:, None] * w[:, 1:] for s, w in zip(share, within, strict=True))
    level = sum(
        s * np.sum(w * lev, axis=1) for s, w, (_, lev, _) in zip(share, within, rows, strict=True)
    )
    scale = share.T @ np.array([times for times, _ in scales])
    if seen.deep and shapes.family == "cliff":
        logs = logs - np.log(numbers["collapse"])
        misread = np.concatenate([misread, np.zeros((misread.shape[0], 1))], axis=1)
    return logs, level, misread, scale


def _scales(numbers: Mapping[str, float]) -> _Scales:
    """Return by what the scatter may differ from the stated one, and how likely each is."""
    rest = 1.0 - numbers["less_share"] - numbers["more_share"] - numbers["much_share"]
    return (
        (numbers["less_scatter"], numbers["less_share"]), (1.0, rest),
        (numbers["more_scatter"], numbers["more_share"]),
        (numbers["much_scatter"], numbers["much_share"]),
    )  # fmt: skip


def _one_scale(
    model: Array, ratios: Array, sound: Array, numbers: Mapping[str, float]
) -> tuple[Array, Array]:
    """Return log-likelihood and level for no misreading (first column) and for each flow's."""
    wrong = sound + numbers["misreading"] ** 2
    good, bad = 1.0 / sound, 1.0 / wrong
    change = bad - good

    def over(part: Array) -> Array:
        whole = np.sum(good * part, axis=1, keepdims=True)
        return np.concatenate([whole, whole + change * part], axis=1)

    square, cross, length = over(ratios**2 + 0.0 * model), over(ratios * model), over(model**2)
    level = cross / length
    left = np.maximum(square - cross * level, 0.0)
    base = -0.5 * np.sum(np.log(sound), axis=1, keepdims=True)
    extra = -0.5 * np.log(wrong / sound) + np.log(numbers["misread"] / (1.0 - numbers["misread"]))
    constant = np.concatenate([base, base + extra], axis=1)
    return constant - 0.5 * left - 0.5 * np.log(length), level


def _summed_up(weighed: Sequence[_Weighed], seen: _Points, numbers: Mapping[str, float]) -> KneeFit:
    largest = max(float(one.logs.max()) for one in weighed)
    weights = [np.exp(one.logs - largest) for one in weighed]
    total = sum(float(weight.sum()) for weight in weights)
    odds = {one.family: float(w.sum()) / total for one, w in zip(weighed, weights, strict=True)}
    weight = np.concatenate(weights) / total
    knee = np.concatenate([one.shapes.knee for one in weighed])
    droop = np.concatenate([one.shapes.droop for one in weighed])
    fallen, kept = odds.get("beyond", 0.0) < 1.0 - numbers["sure"], int(numbers["kept"])
    low, middle, high = _quantiles(droop, weight, at=(0.05, 0.5, 0.95))
    return KneeFit(
        draws=_quantiles(knee, weight, at=_even(kept)) if fallen else None,
        came_out=_quantiles(knee * (1.0 - droop), weight, at=_even(kept)) if fallen else None,
        level=float(_mean("level", weighed, weight)),
        droop=(float(low), float(middle), float(high)),
        odds=odds,
        least=float(_quantiles(knee * (1.0 - droop), weight, at=(0.05,))[0]),
        excess=max(1.0, float(_mean("scale", weighed, weight))),
        misread=_misread(weighed, weight, seen),
    )


def _mean(name: str, weighed: Sequence[_Weighed], weight: Array) -> Array:
    """Return a field of all shapes, by their weights."""
    parts = [getattr(one, name) for one in weighed]
    return np.asarray(np.tensordot(weight, np.concatenate(parts), axes=(0, 0)))


def _misread(weighed: Sequence[_Weighed], weight: Array, seen: _Points) -> Array:
    """Return how likely it is of each flow that its weighing was misread."""
    misread = np.zeros(seen.count)
    sound = seen.flows.size - 1 if seen.deep else seen.flows.size  # a collapse is no misreading
    misread[:sound] = _mean("misread", weighed, weight)[:sound]
    return misread


def _even(count: int) -> Array:
    places: Array = (np.arange(count) + 0.5) / count
    return places


def _quantiles(values: Array, weight: Array, *, at: Sequence[float] | Array) -> Array:
    """Return weighted quantiles at some places."""
    order = np.argsort(values, kind="stable")
    gone = np.cumsum(weight[order])
    made: Array = np.interp(np.asarray(at) * gone[-1], gone - 0.5 * weight[order], values[order])
    return made
