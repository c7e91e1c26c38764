"""The answer of `diagnose` for people: what it most likely is, why, and what to do next."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from advisor.answers import (
    CauseLine,
    CauseOdds,
    CurrentDoubt,
    DiagnoseReport,
    FedLength,
    NextTest,
    SeenWords,
)
from advisor.base import NextStep
from advisor.report.answer_notes import write_command, write_rough, write_unused, write_uses
from advisor.report.look import Look
from advisor.report.page import Page

__all__ = ["look_words", "odds_words", "render", "render_words", "write"]

_RISKS = ("only look", "touch nothing hot", "the machine runs", "open it, or power off")


def render(report: DiagnoseReport, look: Look | None = None, *, full: bool = False) -> str:
    """Return the answer as text, on one screen; `full` tells all causes and remedies."""
    page = Page(look or Look(), written=True)
    write(page, report, full=full)
    return page.render()


def write(page: Page, report: DiagnoseReport, *, full: bool = False) -> None:
    """Write the answer on a page."""
    write_unused(page, report.files)
    write_uses(page, report.weighed)
    for sentence in report.lacking:
        page.entry("answer", sentence)
    if report.extruder is None:
        return
    if report.first_of_all is not None:
        _write_first(page, report, report.first_of_all)
        return
    _write_answer(page, report)
    for sentence in report.ask:
        page.entry("look", sentence)
    if report.shown:
        _write_lines(page, report, full=full)
    _write_readings(page, report)
    if report.next_test is not None:
        _write_test(page, report, report.next_test)
    write_rough(page, report.draws)


def odds_words(odds: float) -> str:
    """Return odds as they are told: never as a percentage, which they are not good for."""
    tens = int(10.0 * odds + 0.5)
    if tens < 1:
        return "under 1 in 10"
    return "over 9 in 10" if tens > 9 else f"about {tens} in 10"


def _short_odds(odds: float) -> str:
    return odds_words(odds).removeprefix("about ").replace("under ", "<").replace("over ", ">")


def _write_first(page: Page, report: DiagnoseReport, first: str) -> None:
    page.entry("first", first, label_style="strong", style="error")
    page.entry("", "Nothing else before that. With power off and all of it cold, look at both and "
                   "at their wires; then tell how it was:")  # fmt: skip
    _write_command(page, report, "sensor-seated=same", "both sit tight")
    _write_command(page, report, "sensor-seated=gone", "one was loose; it is well now")


def _write_answer(page: Page, report: DiagnoseReport) -> None:
    if report.as_expected:
        page.entry(
            "answer", "A sound machine like this one gives that too, within the error of the "
            "reading: it points to no cause. If something is wrong, say what you see: --sees WHAT "
            "(--sees list shows the words).", label_style="strong",
        )  # fmt: skip
        return
    if not report.shown:
        page.entry("answer", "Nothing in the list stands out.", label_style="strong")
        return
    first = report.shown[0]
    words = f"{_titles(first)}: {odds_words(first.odds)}."
    page.entry("answer", words, label_style="strong", style="strong")
    if report.only_common:
        page.entry("", "It comes first only because it is common; what was seen does not part it "
                       "from the next.")  # fmt: skip
    if report.settled:
        page.entry("", "What remains likely shares one remedy: try that.")
    if report.pair is not None:
        names = {one.name: one.title for one in report.causes}
        one, other = (names[name] for name in report.pair)
        page.entry("", f"Two at once explain more. {one}; and {_lower(other)}.")
    if report.rough:
        page.entry("", "Few machines like this one would show all of it: take the odds as rough.")


def _titles(line: CauseLine) -> str:
    if line.together is not None:
        return line.together
    first, *others = (one.title for one in line.causes)
    return "; or ".join((first, *map(_lower, others)))


def _lower(title: str) -> str:
    return f"{title[:1].lower()}{title[1:]}"


def _write_lines(page: Page, report: DiagnoseReport, *, full: bool) -> None:
    page.heading("What would explain it")
    alike = _speaks_alike(report.shown)
    for number, line in enumerate(report.shown):
        page.entry(_short_odds(line.odds), _titles(line))
        first = line.causes[0]
        if line.together is not None:
            for cause in line.causes:
                page.entry("  either" if cause is first else "  or", cause.title)
        if len(report.said) > 1:  # of one thing alone all that is told speaks alike
            _write_speaks(page, first, alike)
        if number == 0 or full:
            for cause in line.causes if full else (first,):
                _write_remedy(page, cause)
    page.entry(_short_odds(report.unexplained), "nothing in this list")
    page.blank()


def _speaks_alike(lines: Sequence[CauseLine]) -> frozenset[str]:
    """Return what speaks for each line that is told: it parts none from another."""
    each = [frozenset(line.causes[0].speaks_for) for line in lines]
    return frozenset.intersection(*each) if len(each) > 1 else frozenset()


def _write_speaks(page: Page, cause: CauseOdds, alike: frozenset[str]) -> None:
    own = [one for one in cause.speaks_for if one not in alike]
    if own:
        page.entry("  for", "; ".join(own))
    if cause.speaks_against:
        page.entry("  against", "; ".join(cause.speaks_against))


def _write_remedy(page: Page, cause: CauseOdds) -> None:
    page.entry("  fix", cause.remedy)
    if cause.cautions:
        page.entry("  caution", cause.caution)


def _write_readings(page: Page, report: DiagnoseReport) -> None:
    """Say what readings tell of current and feed beside any cause."""
    if report.current is not None and report.current.told:
        page.entry("current", current_words(report.current))
    if report.fed is not None:
        for sentence in fed_words(report.fed):
            page.entry("fed", sentence)
    for sentence in report.notes:
        page.entry("note", sentence)


def current_words(doubt: CurrentDoubt) -> str:
    """Return that the driver may not give the current that is set."""
    than = "more" if doubt.above else "less"
    return (
        f"The driver may not give the current that is set: by the case it is {than}, "
        f"{doubt.low:.2g} to {doubt.high:.2g} times as much (9 in 10 machines like this one, mount "
        "included). That is no figure to set."
    )


def fed_words(fed: FedLength) -> Iterator[str]:
    """Yield what a fed length says."""
    where = {"free": " in free air", "nozzle": " through the nozzle", None: ""}[fed.where]
    if fed.rotation_distance is not None:
        band = fed.rotation_distance
        yield (
            f"{fed.asked:.4g} mm asked{where}, {fed.came:.4g} mm came: a rotation distance of "
            f"{band.value:.4g} ({band.low:.4g}-{band.high:.4g}) mm would be right, "
            "if nothing slips."
        )
    for pair in fed.pairs:
        built, is_set = pair.split(" for ")
        yield f"The gear ratio explains it if {built} is built in where {is_set} is set."
    if fed.slips:
        yield (
            "Slip would explain it too: leave the rotation distance as it is until a feed in free "
            "air."
        )


def _write_test(page: Page, report: DiagnoseReport, test: NextTest) -> None:
    page.heading(f"Next: {test.title} ({_RISKS[test.risk]}; about {test.minutes:.0f} min)")
    page.entry("do", test.do)
    if test.cautions:
        page.entry("caution", " ".join(test.cautions))
    if test.look is not None:
        page.entry("look for", test.look)
    found = {"gone": "found", "same": "not found"} if test.look is not None else {}
    for outcome in test.outcomes:
        if outcome.word in found or (test.look is None and outcome.word != "worse"):
            page.entry(f"  {found.get(outcome.word, outcome.word)}", outcome.meaning)
    if test.reads is not None:
        page.entry("tell", f"Add {test.reads} with what you read to the command.")
        return
    _write_command(page, report, f"{test.name}={'found' if test.look else 'gone'}", "for example")


def _write_command(page: Page, report: DiagnoseReport, outcome: str, words: str) -> None:
    step = NextStep(words, (*report.command, "--did", outcome))
    page.entry("tell", f"{words}:")
    write_command(page, step)


def look_words(ask: str) -> str:
    """Return what to look at, as a question where it is one."""
    if ask.split(" ", 1)[0] in _ASKING:
        return f"Look: {ask}?"
    return f"{ask[:1].upper()}{ask[1:]}."


_ASKING = frozenset(("are", "do", "does", "is", "what"))


def render_words(words: SeenWords, look: Look | None = None) -> str:
    """Return the words that `--sees` takes."""
    page = Page(look or Look(), written=True)
    page.row(("What is seen: --sees WHAT, or --sees WHAT@WHEN", "heading"))
    for name, title, ask, aliases in words.words:
        page.entry(name, f"{title}. {look_words(ask)}")
        page.entry("", f"also: {', '.join(aliases[:5])}")
    page.heading("When: @WHEN")
    for name, title, _, aliases in words.whens:
        page.entry(name, f"{title} (also: {', '.join(aliases[:4])})")
    return page.render()
