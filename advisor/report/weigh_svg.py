"""Draws a weighed test as an SVG picture for the page of the report: ratio against flow.

Shapes differ, not colours alone: a ring where all is delivered, a cross where the motor skipped,
a square where a flow was left out. The picture describes itself to a screen reader.
"""

from __future__ import annotations

from collections.abc import Iterator
from html import escape

from advisor.report.clean import plain
from advisor.report.numbers import figure, flow
from advisor.weigh.records import Evaluation, Step, trade

__all__ = ["render_svg"]

_MM3 = 1e9
_WIDTH, _HEIGHT = 640, 300
_LEFT, _RIGHT, _TOP, _BOTTOM = 56, 16, 16, 44
_FLOOR, _STEP, _FLOW_STEPS = 0.4, 0.1, 5
_HOLLOW = 'fill="none" stroke="currentColor" stroke-width="2"'


class _Frame:
    """Turns flow and ratio into places of the picture."""

    def __init__(self, test: Evaluation) -> None:
        self.most = max(step.flow for step in test.steps) * _MM3 * 1.05
        lowest = min(step.ratio - step.expanded for step in test.steps)
        highest = max(step.ratio + step.expanded for step in test.steps)
        self.low = max(_FLOOR, int(lowest / _STEP) * _STEP)
        self.high = max(highest, 1.0) + 0.03

    def x(self, value: float) -> float:
        """Return the place of a flow in mm3/s."""
        return round(_LEFT + value / self.most * (_WIDTH - _LEFT - _RIGHT), 1)

    def y(self, ratio: float) -> float:
        """Return the place of a ratio; what is below the scale stands at its foot."""
        held = min(max(ratio, self.low), self.high)
        part = (held - self.low) / (self.high - self.low)
        return round(_HEIGHT - _BOTTOM - part * (_HEIGHT - _TOP - _BOTTOM), 1)


def render_svg(test: Evaluation) -> str:
    """Return the picture of one test as an SVG element.

    Parameters
    ----------
    test : Evaluation
        What the test shows.
    """
    frame = _Frame(test)
    parts = [
        (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH} {_HEIGHT}" role="img" '
            'font-family="sans-serif" font-size="12" fill="currentColor" stroke="none">'
        ),
        f"<title>{_words(f'Weighed flow test: {test.name}')}</title>",
        f"<desc>{_words(_description(test))}</desc>",
        *_axes(frame),
        *_knee(frame, test),
        *(part for step in test.steps for part in _point(frame, step)),
        "</svg>",
    ]
    return "\n".join(parts) + "\n"


def _words(text: str) -> str:
    return escape(plain(text))


def _description(test: Evaluation) -> str:
    knee = trade(test.knee, "mm3/s")
    fall = "does not fall" if knee is None else (
        f"begins to fall at {flow(knee.value)} mm3/s ({figure(knee.low)} to {figure(knee.high)})"
    )  # fmt: skip
    points = "; ".join(
        f"{flow(step.flow * _MM3)}: {100 * step.ratio:.1f} %"
        f"{' skipped' if step.skipped == 'yes' else ''}"
        for step in test.steps
    )
    return f"Delivery against the slow run {fall}. Flow in mm3/s and delivery: {points}."


def _axes(frame: _Frame) -> Iterator[str]:
    foot, right = _HEIGHT - _BOTTOM, _WIDTH - _RIGHT
    ratio = frame.low
    while ratio <= frame.high + 1e-9:
        y = frame.y(ratio)
        dash = "" if abs(ratio - 1.0) < 1e-9 else ' stroke-dasharray="2 4"'
        yield f'<path d="M{_LEFT} {y}H{right}" stroke="currentColor" opacity="0.4"{dash}/>'
        yield f'<text x="{_LEFT - 8}" y="{y + 4}" text-anchor="end">{100 * ratio:.0f} %</text>'
        ratio = round(ratio + _STEP, 6)
    step = max(1.0, round(frame.most / _FLOW_STEPS))
    value = 0.0
    while value <= frame.most:
        x = frame.x(value)
        yield f'<path d="M{x} {foot}v5" stroke="currentColor"/>'
        yield f'<text x="{x}" y="{foot + 18}" text-anchor="middle">{figure(value)}</text>'
        value += step
    yield f'<path d="M{_LEFT} {foot}H{right}" stroke="currentColor"/>'
    middle = (_LEFT + right) / 2
    yield f'<text x="{middle}" y="{_HEIGHT - 6}" text-anchor="middle">flow in mm3/s</text>'


def _knee(frame: _Frame, test: Evaluation) -> Iterator[str]:
    knee = trade(test.knee, "mm3/s")
    if knee is None:
        return
    left, right, foot = frame.x(knee.low), frame.x(knee.high), _HEIGHT - _BOTTOM
    yield (
        f'<rect x="{left}" y="{_TOP}" width="{round(right - left, 1)}" height="{foot - _TOP}" '
        'opacity="0.12"/>'
    )
    at = frame.x(knee.value)
    yield f'<path d="M{at} {_TOP}V{foot}" stroke="currentColor" stroke-dasharray="6 3"/>'


def _point(frame: _Frame, step: Step) -> Iterator[str]:
    x = frame.x(step.flow * _MM3)
    low, at, high = (frame.y(step.ratio + part * step.expanded) for part in (-1.0, 0.0, 1.0))
    yield f'<path d="M{x} {low}V{high}" stroke="currentColor" stroke-width="1.5"/>'
    if step.outlier is not None:
        yield f'<rect x="{x - 4}" y="{at - 4}" width="8" height="8" {_HOLLOW}/>'
    elif step.skipped == "yes":
        yield (
            f'<path d="M{x - 5} {at - 5}l10 10M{x - 5} {at + 5}l10 -10" stroke="currentColor" '
            'stroke-width="2"/>'
        )
    else:
        yield f'<circle cx="{x}" cy="{at}" r="4.5" {_HOLLOW}/>'
