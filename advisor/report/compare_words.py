"""The answer of `compare` in sentences: which machine delivers most, which what is asked."""

from __future__ import annotations

from collections.abc import Sequence

from advisor.answers import CompareReport, Variant
from advisor.report.numbers import quantity, ranged, share
from advisor.report.words import limit_words

__all__ = ["asked_words", "listed", "most_words", "moved", "named"]

_ALIKE = 5e-3  # capacities within this share of each other are as good as the same
_SURE = 0.95
_TOSS_UP = 0.2  # so close are the shares of more and of less where neither is to be named first
FLOW = "mm3/s"


def named(row: Variant) -> str:
    """Return a machine's number and its short name."""
    return f"{row.number} ({row.short or row.name})"


def listed(words: Sequence[str]) -> str:
    """Return ``1, 2 and 4``."""
    return " and ".join(part for part in (", ".join(words[:-1]), *words[-1:]) if part)


def most_words(rows: Sequence[Variant]) -> str:
    """Say which of the machines delivers most, and how sure that is; '' where it is not known.

    A machine whose motor does not bear its current is named best only where all are like that.
    """
    known = [(row.capacity.value, row) for row in _borne(rows) if row.capacity is not None]
    if not known or len(rows) < 2:
        return ""
    most = max(value for value, _ in known)
    best = [row for value, row in known if value >= most * (1.0 - _ALIKE)]
    first = next((row for row in best if row.number == 1), None)
    top = first or max(best, key=lambda row: row.better_share or 0.0)
    others = [str(row.number) for row in best if row is not top]
    alike = f"; {listed(others)} as much" if others else ""
    hot = [row for row in rows if row.above_derated]
    limits = f"; {limit_words(top.bottleneck)} limits first"
    return f"{_start(top, hot)}{_tossed(top, rows)}{limits}{alike}{_too_hot(hot, top)}"


def _borne(rows: Sequence[Variant]) -> Sequence[Variant]:
    """Return the machines whose motor bears its current; all, where none does."""
    return [row for row in rows if not row.above_derated] or rows


def _start(top: Variant, hot: Sequence[Variant]) -> str:
    bears = " at a current its motor is rated for" if hot and top not in hot else ""
    if top.number == 1:
        return f"nothing delivers more than 1{bears}: {_capacity(top)}"
    if _toss_up(top):
        return (
            f"{named(top)} may deliver most{bears}: {_capacity(top)}, but whether it is more than "
            f"1 is a toss-up ({share(top.better_share or 0.0)})"
        )
    start = f"{named(top)} delivers most{bears}: {_capacity(top)}"
    if top.better_share is None or any(row.number == 1 for row in hot):
        return start
    return f"{start}, {share(top.better_share)} sure that it is more than 1"


def _toss_up(row: Variant) -> bool:
    """Whether it is as likely to deliver more than the first as it is to deliver less."""
    more, less = row.better_share or 0.0, row.worse_share or 0.0
    return bool(more) and abs(more - less) < _TOSS_UP


def _tossed(top: Variant, rows: Sequence[Variant]) -> str:
    """Name the machines that the first is not sure to be ahead of."""
    close = [row for row in _borne(rows) if row.number != 1 and _toss_up(row)]
    if top.number != 1 or not close:
        return ""
    told = listed([f"{row.number} ({share(row.better_share or 0.0)})" for row in close])
    return f"; whether more comes of {told} is a toss-up"


def _too_hot(hot: Sequence[Variant], top: Variant) -> str:
    """Say which machines owe more to a current that their motor does not bear."""
    if top in hot:
        return "; but its current is above what its motor is rated for"
    most = 0.0 if top.capacity is None else top.capacity.value
    more = [str(row.number) for row in hot if row.capacity and row.capacity.value > most]
    if not more:
        return ""
    verb = "delivers" if len(more) == 1 else "deliver"
    return f"; {listed(more)} {verb} more, but only by too much current"


def _capacity(row: Variant) -> str:
    return "" if row.capacity is None else ranged(row.capacity, FLOW)


def asked_words(report: CompareReport) -> str:
    """Say which of the machines delivers what is asked, and how surely; '' where nothing is."""
    rows = _borne(report.variants)
    known = [(row.delivers_asked, row) for row in rows if row.delivers_asked is not None]
    if report.asked is None:
        return ""
    start = quantity(report.asked.value, FLOW)
    if not known:
        return f"{start}: it is not known what delivers it"
    sure = [row for part, row in known if part >= _SURE]
    if len(sure) == len(report.variants) > 1:
        return f"{start}: all deliver it"
    if sure:
        verb = "delivers" if len(sure) == 1 else "deliver"
        return f"{start}: {listed([str(row.number) for row in sure])} {verb} it"
    part = max(part for part, _ in known)
    if part == 0.0:
        return f"{start}: none delivers it"
    best = listed([str(row.number) for one, row in known if one == part])
    none = "none delivers it for sure" if part >= 0.5 else "none is likely to deliver it"
    comes = "come" if " and " in best else "comes"
    return f"{start}: {none}; {best} {comes} nearest, {share(part)} sure"


def moved(row: Variant, first: Variant | None) -> str:
    """Return what limits first, and whether it is what limits the first machine."""
    if row.bottleneck is None or first is None or first.bottleneck is None or row.number == 1:
        return limit_words(row.bottleneck)
    still = limit_words(row.bottleneck) == limit_words(first.bottleneck)
    return f"still {limit_words(row.bottleneck)}" if still else limit_words(row.bottleneck)
