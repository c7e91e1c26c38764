"""What more flow would buy a print, in words and on the terminal: the saving, then a row a flow.

Where the saving ends, and what the file cannot tell, is said too; the page says the same.
"""

from __future__ import annotations

from advisor.answers import CappedTime, CapTimesAnswer, SlicerTime
from advisor.report.bar import parts, parts_legend
from advisor.report.numbers import figure, share
from advisor.report.page import Page

__all__ = [
    "clock",
    "limited_words",
    "saving_words",
    "sliced_words",
    "slicer_time_words",
    "write_caps",
]

FLOW = "mm3/s"
_NOTHING = 0.001  # a saving below this share is told as none
_COLUMNS = (8, 14, 7, 7)
_LEAST_CELLS = 12  # of a bar that tells something
_UNKNOWN = "cannot be told"


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


def write_caps(page: Page, caps: CapTimesAnswer, time: float) -> None:
    """Write the answer and the table.

    Parameters
    ----------
    page : Page
        Where to.
    caps : CapTimesAnswer
        The print's times.
    time : float
        Its time as it is, [s]
    """
    page.entry("answer", saving_words(caps, time), label_style="strong", style="strong")
    page.entry("as it is", f"{clock(time)} of motion: {limited_words(caps)}")
    page.entry("sliced", sliced_words(caps))
    page.heading(f"The time with every flow held to a cap, in {FLOW}")
    cells = page.look.width - 2 - sum(_COLUMNS)
    drawn = page.look.bars and cells >= _LEAST_CELLS
    page.row(("  " + _row("cap", "time", "saves", "held"), ""))
    longest = max((row.time for row in caps.rows if row.time is not None), default=0.0)
    for row in caps.rows:
        bar = _bar(page, row, longest, cells) if drawn else ""
        page.row(("  " + _words(row) + bar, ""))
    if drawn and longest:
        page.row(("  " + parts_legend("held by the cap", "all else", drawn=page.look.drawn), ""))


def _row(*cells: str) -> str:
    return "".join(cell.ljust(width) for cell, width in zip(cells, _COLUMNS, strict=True))


def _words(row: CappedTime) -> str:
    if row.time is None:
        return _row(figure(row.flow), _UNKNOWN, "", "")
    saves, held = row.saves or 0.0, row.held or 0.0
    return _row(figure(row.flow), clock(row.time), share(saves), share(held))


def _bar(page: Page, row: CappedTime, longest: float, cells: int) -> str:
    if row.time is None or not longest:
        return ""
    held = row.time * (row.held or 0.0)
    return parts(held / longest, row.time / longest, cells=cells, drawn=page.look.drawn)
