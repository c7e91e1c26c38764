"""What more flow would buy, in words: the saving, where it ends, and what the file cannot tell."""

from __future__ import annotations

from advisor.answers import CappedTime, CapTimesAnswer, SlicerTime
from advisor.report.numbers import figure, share

__all__ = ["clock", "limited_words", "saving_words", "sliced_words", "slicer_time_words"]

FLOW = "mm3/s"
_NOTHING = 0.001  # a saving below this share is told as none


def clock(seconds: float) -> str:
    """Return a time as people say it: ``2 h 05 min``, ``3 min 20 s``, ``12 s``."""
    whole = round(seconds)
    hours, minutes, rest = whole // 3600, whole % 3600 // 60, whole % 60
    if hours:
        return f"{hours} h {minutes:02d} min"
    return f"{minutes} min {rest:02d} s" if minutes else f"{rest} s"


def saving_words(caps: CapTimesAnswer, time: float) -> str:
    """Return what the largest of the flows saves against the smallest.

    Parameters
    ----------
    caps : CapTimesAnswer
        The print's times.
    time : float
        Its time as it is, [s]
    """
    known = [row for row in caps.rows if row.time is not None]
    if not known or known[0].time is None:
        return f"what these flows save cannot be told: the file was sliced at {_sliced(caps)}"
    first, start = known[0], known[0].time
    if len(known) == 1:
        return _single(first, start, time) + _beyond(caps)
    last = next((row for row in known if row.flow == caps.enough), known[-1])
    saved = last.saves or 0.0
    if saved < _NOTHING:
        return f"more flow than {figure(first.flow)} {FLOW} saves no time{_beyond(caps, met=True)}"
    ends = f"from {figure(first.flow)} to {figure(last.flow)} {FLOW}"
    return f"{ends} saves {share(saved)} of {clock(start)}{_beyond(caps)}"


def _single(row: CappedTime, held: float, time: float) -> str:
    words = f"held to {figure(row.flow)} {FLOW} it takes {clock(held)}"
    more = held / time - 1.0 if time else 0.0
    if more < _NOTHING:
        return f"{words}, as long as it does as it is"
    return f"{words}, {share(more)} longer than as it is"


def _beyond(caps: CapTimesAnswer, *, met: bool = False) -> str:
    if caps.enough is not None:
        return "" if met else "; beyond that nothing is gained"
    if caps.sliced is not None:
        return f"; sliced at {_sliced(caps)}: cannot tell beyond, slice again without the cap"
    return "; more flow than that would save still more"


def _sliced(caps: CapTimesAnswer) -> str:
    return "an unknown cap" if caps.sliced is None else f"{figure(caps.sliced)} {FLOW}"


def limited_words(caps: CapTimesAnswer) -> str:
    """Return what limits the time of the print as it is."""
    parts = [
        ("held by its cap", caps.held),
        ("speeding up and slowing down", caps.accel),
        ("at the set speed", caps.speed),
        ("pauses and filament alone", caps.rest),
    ]
    return ", ".join(f"{share(part)} {name}" for name, part in parts if part > 0.0)


def sliced_words(caps: CapTimesAnswer) -> str:
    """Return what is known of the file's own cap, and what is in the file besides."""
    return f"{_cap(caps)}; what was slowed for short layers stays slow"


def slicer_time_words(own: SlicerTime, planned: float) -> str:
    """Return what the time that the slicer states is beside the planned one.

    Parameters
    ----------
    own : SlicerTime
        What the slicer states.
    planned : float
        The planned time, [s]
    """
    words = f"{clock(own.time)} (line {own.line})"
    if own.kind == "alike":
        return f"{words}: it agrees with this plan"
    if own.kind == "plain":
        return (
            f"{words}: reckoned without acceleration (at the set speeds alone {clock(own.plain)}); "
            f"with it {clock(planned)}"
        )
    times = f"{figure(own.time / planned)} times this plan" if planned else "not this plan"
    return (
        f"{words}, {times}: it reckons with limits other than this config's, so it checks nothing"
    )


def _cap(caps: CapTimesAnswer) -> str:
    if caps.sliced is None:
        return "without a cap that holds it, as far as the file shows"
    if caps.sliced_line:
        return f"at {_sliced(caps)} (line {caps.sliced_line})"
    return f"at {_sliced(caps)}: volume is heaped at that flow"
