"""What stands around an answer: files not used, tests used, rough bands, what to type next.

The command to type next can be pasted as it stands.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from shlex import quote

from advisor.base import FileStatus, LeftOutTest, NextStep, UsedTest, Weighed
from advisor.report.numbers import figure, share
from advisor.report.page import Page
from advisor.weigh import day_words

__all__ = [
    "next_command",
    "rough_words",
    "uses_words",
    "weighed_lines",
    "weighed_words",
    "write_command",
    "write_next",
    "write_rough",
    "write_unused",
    "write_uses",
    "write_weighed",
]

_COUNTED = frozenset({"sheet", "profile"})
_FEW = 512  # fewer machines than this place the ends of a band no better than to some 10 %
_STRONG = ("weighed", "skip test", "tested")
_TOLD = 2  # tests left out that are told without --full
_GOES_ON = " \\"


def write_unused(page: Page, files: Iterable[FileStatus]) -> None:
    """Write a line for each sheet or profile that was not used, and why; else nothing.

    Parameters
    ----------
    page : Page
        A page with nothing on it yet.
    files : iterable of FileStatus
        The files of the answer.
    """
    for file in files:
        if file.role in _COUNTED and file.status != "read":
            page.indented(file.not_used_briefly, 0, style="error")


def rough_words(draws: int | None) -> str | None:
    """Return the sentence on bands of few machines; None where there are enough."""
    if draws is None or draws >= _FEW:
        return None
    return (
        f"worked out for {draws} machines only: typical values hold, the ends of a range may be a "
        f"tenth off (--draws {_FEW} or more places them better)"
    )


def write_rough(page: Page, draws: int | None) -> None:
    """Write that the bands are rough, where they are."""
    words = rough_words(draws)
    if words is not None:
        page.entry("rough", words, style="strong")


def write_uses(page: Page, weighed: Weighed | None) -> None:
    """Write that tests are used that lay in a folder and nobody named; nothing where none is."""
    words = uses_words(weighed)
    if words:
        page.entry("tests", words, label_style="strong")


def uses_words(weighed: Weighed | None) -> str:
    """Return which tests are used, by day, else name.

    Weighed tests where any of them was not named by hand; skip tests always.
    """
    tests = () if weighed is None else weighed.tests
    weighings = [test for test in tests if test.kind == "weighed"]
    told = [_used(weighings, "weighed test")] if any(test.kept for test in weighings) else []
    skips = [test for test in tests if test.kind == "skip"]
    told += [_used(skips, "skip test")] if skips else []
    return f"uses {' and '.join(told)}" if told else ""


def _used(tests: Sequence[UsedTest], kind: str) -> str:
    days = [test.date for test in tests]
    mark = "; " if any(test.other_roll for test in tests) else ", "
    named = mark.join(_day(test, days) for test in tests)
    return f"{len(tests)} {kind}{'s' if len(tests) > 1 else ''} ({named})"


def _day(test: UsedTest, days: list[str | None]) -> str:
    words = test.name if test.date is None else day_words(test.date, days)
    return f"{words}, another roll" if test.other_roll else words


def write_weighed(page: Page, weighed: Weighed | None, *, full: bool = False) -> None:
    """Write how much narrower the range is, or that the test contradicts; nothing without one.

    Tests of the folder that were left out follow, each with the reason where `full`.
    """
    if weighed is None:
        return
    for label, words, style in weighed_lines(weighed, full=full):
        strong = "strong" if label in _STRONG else ""
        page.entry(label, words, label_style=strong, style=style)


def weighed_lines(weighed: Weighed, *, full: bool = False) -> Iterator[tuple[str, str, str]]:
    """Yield label, words and style of what is said of the tests of an extruder."""
    if weighed.files:
        words, style = weighed_words(weighed)
        kinds = {test.kind for test in weighed.tests}
        label = "tested" if len(kinds) > 1 else "skip test" if "skip" in kinds else "weighed"
        yield label, words, style
    broken = [test for test in weighed.left_out if test.broken]
    others = [test for test in weighed.left_out if not test.broken]
    shown = len(others) if full or len(others) <= _TOLD else 0
    label = "left out"
    for test in broken if full else broken[:_TOLD]:
        yield label, f"{test.file}: {test.reason}", "warning"
        label = ""
    for test in others[:shown]:
        yield label, _left_out(test), ""
        label = ""
    rest = len(broken) + len(others) - shown - (len(broken) if full else min(len(broken), _TOLD))
    if rest:
        more = "more tests" if label == "" else "tests"
        yield label, f"{rest} {more} that {'is' if rest == 1 else 'are'} kept (--full: why)", ""


def _left_out(test: LeftOutTest) -> str:
    if test.other_kind:
        return f"{test.file}: {test.reason}"
    return f"{test.file} is not of this machine or filament: {test.reason}"


def weighed_words(weighed: Weighed) -> tuple[str, str]:
    """Return what tests made of the capacity in words, and the style of the sentence."""
    files = ", ".join(weighed.names or weighed.files)
    if weighed.contradiction is not None:
        words = "it contradicts the machine as stated, so nothing but a limit is taken from it"
        return f"{files}: {words}", "warning"
    if weighed.narrower is None or weighed.before is None or weighed.narrower <= 0.0:
        return f"{files}: it makes the range no narrower", ""
    before = f"{figure(weighed.before.low, 2)}-{figure(weighed.before.high, 2)}"
    return f"{files}: the range is {share(weighed.narrower)} narrower (was {before} mm3/s)", ""


def next_command(step: NextStep) -> str:
    """Return the command as it is typed."""
    return " ".join(("feedwright", *map(quote, step.arguments)))


def write_next(page: Page, step: NextStep | None, *, apart: bool = True) -> None:
    """Write what to do next, and its command on lines of its own that can be pasted together."""
    if step is not None:
        if apart:
            page.blank()
        page.entry("next", f"{step.words}:")
        write_command(page, step)


def write_command(page: Page, step: NextStep) -> None:
    """Write the command on lines of its own that can be pasted together."""
    for line in _lines(step, page.look.width):
        page.row((line, "strong"))


def _lines(step: NextStep, width: int) -> list[str]:
    """Return a command in lines that a shell reads as one: broken before an option, with a mark."""
    groups = [["feedwright"]]
    for word in step.arguments:
        if word.startswith("--"):
            groups.append([])
        groups[-1].append(quote(word))
    first, *options = (" ".join(group) for group in groups)
    lines = [f"  {first}"]
    for option in options:
        if len(lines[-1]) + len(option) + len(" ") + len(_GOES_ON) > width:
            lines[-1] += _GOES_ON
            lines.append(f"    {option}")
        else:
            lines[-1] += f" {option}"
    return lines
