"""What ruler and caliper told in a weighed test, in words."""

from __future__ import annotations

from collections.abc import Iterator

from advisor.report.numbers import figure, flow
from advisor.weigh import Evaluation, HandTest, Slip, fed_share, scaled, trade

__all__ = ["fed_words", "hand_words", "ruler_words"]

FLOW = "mm3/s"
_MM3 = 1e9


def ruler_words(test: Evaluation) -> str:
    """Return what went in by ruler in the slow run, and what that says of the calibration."""
    hand = test.by_hand
    assert hand is not None
    assert hand.calibration is not None
    share, off = 100 * hand.calibration.value, 100 * hand.calibration_expanded
    text = f"{share:.1f} +- {figure(off, 2)} % (95 %) of what was commanded went in by ruler"
    meant = trade(test.rotation_meant, "mm")
    if test.rotation_distance is None or meant is None:
        return f"{text}: the rotation distance is right as far as a ruler can tell"
    would = f"{meant.value:.3f} ({meant.low:.2f}-{meant.high:.2f}) mm"
    return f"{text}: a rotation distance of {would} would set that right"


def fed_words(test: Evaluation) -> str:
    """Return the limit as flow that really went in, where a ruler says that it is another one."""
    hand = test.by_hand
    if hand is None or hand.calibration is None or test.rotation_distance is None:
        return ""
    fed = trade(scaled(test.knee, fed_share(test)), FLOW)
    if fed is None:
        return ""
    return (
        f" commanded, {flow(fed.value)} ({figure(fed.low)}-{figure(fed.high)}) of filament by ruler"
    )


def hand_words(test: Evaluation) -> Iterator[tuple[str, str]]:
    """Yield label and sentence for what else was measured by hand."""
    hand = test.by_hand
    if hand is None:
        return
    if hand.weight is not None and abs(hand.weight - 1.0) > hand.weight_expanded:
        yield "filament", _weight(hand)
    for slip in hand.slips:
        yield "slip", _slip(slip)
    depth = trade(hand.mark_depth, "mm")
    if depth is not None:
        yield (
            "bite",
            (
                f"the teeth sink {depth.value:.2f} ({depth.low:.2f}-{depth.high:.2f}) mm into the "
                "filament: that is drive.bite_depth, where the sheet states none"
            ),
        )


def _weight(hand: HandTest) -> str:
    assert hand.weight is not None
    off, sure = 100 * (hand.weight - 1.0), 100 * hand.weight_expanded
    more = "more" if off > 0.0 else "less"
    return (
        f"a length of it weighs {figure(abs(off), 2)} % {more} than density and diameter say, +- "
        f"{figure(sure, 2)} % (95 %): measure the diameter"
    )


_AGAINST = {
    "ruler": ("less filament went in than in the slow run, by ruler", "by ruler"),
    "marks": ("closer tooth marks than in the slow run", "by the tooth marks"),
    "gear": ("closer tooth marks than the gear's teeth", "by the tooth marks"),
}


def _slip(slip: Slip) -> str:
    at = f"at {flow(slip.flow * _MM3)} {FLOW}"
    share, sure = figure(100 * slip.share, 2), figure(100 * slip.expanded, 2)
    less, seen = _AGAINST[slip.by]
    if slip.share > slip.expanded:
        return f"{at} {share} % {less} (+- {sure} %, 95 %): the filament slips"
    if slip.share < -slip.expanded:
        return f"{at} {seen} more than in the slow run, which slip cannot explain: measure again"
    return f"{at} none is seen {seen}, to within {sure} %"
