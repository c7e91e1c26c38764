"""What weighed tests made of a machine, in words and events for the rulebook."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from advisor.base import Event, Span, Weighed, parse_unit
from advisor.weigh.fit import Contradiction, Narrowing
from advisor.weigh.records import Evaluation
from advisor.weigh.skip_fit import SkipResult
from advisor.weigh.weigh_data import load_words

__all__ = ["weighed_events", "weighed_note"]

_MM3 = 1e9


def weighed_note(narrowing: Narrowing, names: Mapping[str, str]) -> Weighed:
    """Return what the tests made of the capacity; `names` are those of the tests, by file."""
    told = narrowing.contradiction
    files = tuple(seen.at.file for seen in narrowing.tests)
    return Weighed(
        files=files,
        names=tuple(names.get(file, file) for file in files),
        before=narrowing.before,
        after=narrowing.after,
        narrower=narrowing.narrower,
        fits=narrowing.fits,
        contradiction=", but ".join(_contradiction(told)) if told is not None else None,
        causes=_causes(told) if told is not None else (),
    )


def _contradiction(told: Contradiction) -> tuple[str, str]:
    """Return what was seen and what was expected, in words."""
    if told.seen is None or told.observed is None:
        return "the tests contradict one another", "each alone can be explained"
    if isinstance(told.seen, SkipResult):
        return _clicks(told)
    what = "delivery fell at" if told.seen.knee else "nothing was lost up to"
    seen = f"{what} {told.observed * _MM3:.1f} mm3/s"
    if told.seen.first_skip is not None:
        seen += f", the motor skipped from {told.seen.first_skip * _MM3:.1f}"
    if told.expected is None:
        return seen, "no flow is expected to get through"
    low, high = told.expected.low * _MM3, told.expected.high * _MM3
    return seen, f"such a machine begins to lose at {low:.1f} to {high:.1f} mm3/s"


def _clicks(told: Contradiction) -> tuple[str, str]:
    """Return where a motor clicked at a lowered current, and where it was expected to."""
    assert told.observed is not None
    first = f"the motor first clicked at {told.observed * _MM3:.1f} mm3/s"
    seen = first if told.current is None else f"{first} with {told.current:.3f} A RMS"
    if told.expected is None:
        return seen, "where such a machine clicks is not known"
    low, high = told.expected.low * _MM3, told.expected.high * _MM3
    return seen, f"such a machine first clicks at {low:.1f} to {high:.1f} mm3/s there"


def _causes(told: Contradiction) -> tuple[str, ...]:
    kind = "together" if told.seen is None else "less" if told.less else "more"
    return load_words().causes[kind]


def weighed_events(
    narrowing: Narrowing, tests: Sequence[Evaluation], extruder: str
) -> Iterator[Event]:
    """Yield an event for a contradiction and for each rotation distance that is off."""
    told = narrowing.contradiction
    if told is not None:
        words = (*_contradiction(told), *_causes(told))
        names = ("seen", "expected", "first", "second", "third")
        at = (told.seen or narrowing.tests[-1]).at
        fields = dict(zip(names, words, strict=True))
        yield Event("weighed-contradicts", at, fields, None, extruder)
    for test in tests:
        if test.rotation_distance is not None and test.hardware is None:
            yield _distance_event(test, extruder)


def _distance_event(test: Evaluation, extruder: str) -> Event:
    to = parse_unit("mm").from_si
    assert test.rotation_distance is not None
    value, low, high = (
        f"{float(to(part)):.3f}"
        for part in (test.rotation_distance.value, test.rotation_distance.low,
                     test.rotation_distance.high)
    )  # fmt: skip
    hand = test.by_hand
    ratio, unsure, by = test.reference_ratio.value, test.reference_expanded, "mass"
    if hand is not None and hand.calibration is not None:
        ratio, unsure, by = hand.calibration.value, hand.calibration_expanded, "ruler"
    fields: Mapping[str, str] = {
        "ratio": f"{100 * ratio:.1f}",
        "uncertainty": f"{100 * unsure:.1f}",
        "by": by,
        "to": value,
        "low": low,
        "high": high,
    }
    return Event(
        "weighed-distance-off", Span(test.file, 1), fields, "drive.rotation_distance", extruder
    )
