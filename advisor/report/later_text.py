"""Writes what macros and start code set when they run, in place of what the config states."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from advisor.base import LaterSetting
from advisor.report.findings_text import place
from advisor.report.numbers import figure, unit_words

__all__ = ["later_brief", "later_lines"]

_NAMED = 2  # so many macros are named, the others counted
_TITLES = 2  # so many settings are named in brief


def later_lines(later: Iterable[LaterSetting]) -> Iterator[str]:
    """Yield a sentence for each setting: what it is set to, by which macro or start code, where."""
    for one in later:
        whose = f" of {one.extruder}" if one.extruder else ""
        ends = [figure(value, 4) for value in (one.values[0], one.values[-1])]
        value = " to ".join(dict.fromkeys(ends)) + unit_words(one.unit)
        by = f"by {_who(one)} {_macros(one)}, {place(one.at)}"
        if one.kept:
            ask = f"--asked {ends[-1]}mm3/s holds the machine to it"
            yield f"largest flow {value} kept {by}; not used here: {ask}"
        else:
            yield f"{one.title}{whose} set to {value} {by}"


def _who(one: LaterSetting) -> str:
    if one.profile:
        return "the profile's"
    return "macro" if len(one.macros) == 1 else "macros"


def later_brief(later: Iterable[LaterSetting]) -> Iterator[str]:
    """Yield in a line what macros set, without values and places; a flow they keep in full."""
    settings = list(later)
    yield from later_lines([one for one in settings if one.kept][:1])
    titles = list(dict.fromkeys(one.title for one in settings if not one.kept))
    if titles:
        more = len(titles) - _TITLES
        named = ", ".join(titles[:_TITLES]) + (f" and {more} more" if more > 0 else "")
        who = "macros and the profile's G-code" if any(x.profile for x in settings) else "macros"
        yield f"by {who}: {named} (--full)"


def _macros(one: LaterSetting) -> str:
    named = " and ".join(one.macros[:_NAMED])
    more = len(one.macros) - _NAMED
    return f"{', '.join(one.macros[:_NAMED])} and {more} more" if more > 0 else named
