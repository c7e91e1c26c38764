"""Answers `diagnose`: from what is seen on the machine to its causes, and the next test."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Iterator, Sequence

from advisor.answers.asks import Asks, typed
from advisor.answers.diagnosis.cause_book import Cause, CauseBook, load_causes
from advisor.answers.diagnosis.evidence import Evidence, evidence_of
from advisor.answers.diagnosis.next_trial import is_settled, next_test
from advisor.answers.diagnosis.odds import CauseFit, Odds, fit_of, odds_of, redrawn
from advisor.answers.diagnosis.reality import current_doubt, fed_length
from advisor.answers.diagnosis.sightings import Complaint, SeenTexts, read_seen
from advisor.answers.diagnosis.withhold import first_of_all, remedy_of
from advisor.answers.diagnosis.worlds import World, root_world
from advisor.answers.diagnosis_records import CauseLine, CauseOdds, DiagnoseReport, SeenWords
from advisor.answers.flow_limit import chosen_extruder
from advisor.answers.lint import check_config
from advisor.base import UsageError, parse_unit
from advisor.expression import evaluate
from advisor.machine import Machine

__all__ = ["diagnose", "diagnosed", "lines_of", "odds_for", "seen_words", "worlds_of"]

_HOLE = re.compile(r"\{([^{}]*)\}")
_NO_EXTRUDER = "The config has no extruder section: name the root config."
_NOTHING = UsageError(
    "nothing is given that was seen or measured",
    "say what you see: --sees clicks@retracts (--sees list shows the words)",
)


def diagnose(
    config: str, asks: Asks, texts: SeenTexts, *, extruder: str | None = None
) -> DiagnoseReport:
    """Return the causes of what is seen on a machine, likeliest first, and the test to do next.

    Parameters
    ----------
    config : str
        A config, or ``-``.
    asks : Asks
        The profiles, the sheet, weighed tests and what else the command line states.
    texts : SeenTexts
        What was seen and measured, as typed.
    extruder : str, optional
        The extruder's section name; the first one where not given.

    Raises
    ------
    UsageError
        For an extruder the config does not have, a word or reading that cannot be, or where
        nothing is given that was seen.
    """
    book = load_causes()
    seen = read_seen(texts, book)
    if not seen.anything:
        raise _NOTHING
    draws = asks.draws or int(book.numbers["machines"])
    checked = check_config(config, dataclasses.replace(asks, draws=draws))
    name = chosen_extruder(checked, extruder)
    if name is None:
        report = checked.report
        lacking = () if report.errors else (_NO_EXTRUDER,)
        return DiagnoseReport(extruder=None, config=config, lacking=lacking, files=report.files,
                              errors=report.errors)  # fmt: skip
    made = diagnosed(checked.machines[name], seen, book)
    return dataclasses.replace(
        made,
        extruder=name,
        config=config,
        command=("diagnose", config, *typed(asks), *_typed(texts, extruder)),
        files=checked.report.files,
        errors=checked.report.errors,
        weighed=checked.weighed(name),
        draws=asks.draws,
    )


def _typed(texts: SeenTexts, extruder: str | None) -> Iterator[str]:
    """Yield what was seen and measured, as it is typed."""
    given: tuple[tuple[str, Sequence[str | None]], ...] = (
        ("--sees", texts.sees), ("--sees-not", texts.sees_not), ("--clicks-at", (texts.clicks_at,)),
        ("--holds", (texts.holds,)), ("--case", (texts.case,)), ("--after", (texts.after,)),
        ("--fed", texts.fed), ("--nozzle-falls-to", (texts.nozzle_falls_to,)),
        ("--pull", (texts.pull,)), ("--did", texts.did), ("--extruder", (extruder,)),
    )  # fmt: skip
    for option, values in given:
        for value in values:
            if value is not None:
                yield from (option, value)


def seen_words() -> SeenWords:
    """Return the words that say what is seen, and in which circumstance."""
    book = load_causes()
    return SeenWords(
        tuple((one.name, one.title, one.ask, one.aliases) for one in book.words.values()),
        tuple((one.name, one.title, "", one.aliases) for one in book.whens.values()),
    )


def diagnosed(machine: Machine, seen: Complaint, book: CauseBook) -> DiagnoseReport:
    """Return the causes of what is seen on one machine."""
    evidence = evidence_of(seen, book)
    odds, times = odds_for(machine, evidence, book)
    first = first_of_all(seen, book)
    world, sound = odds.fits[0].worlds[0], _as_expected(machine, odds, evidence, book)
    causes = tuple(_told(odds, evidence, seen, book, hold=first is not None))
    lines = tuple(_lines(causes, odds, book))
    return DiagnoseReport(
        extruder=None,
        said=tuple(one.label for one in evidence),
        ask=tuple(_asked(seen, book)),
        causes=_led(causes, lines),
        shown=() if first is not None or sound else lines,
        pair=odds.pair,
        unexplained=odds.unexplained,
        only_common=odds.only_common,
        as_expected=sound,
        rough=odds.fits[0].effective < book.numbers["effective"],
        redrawn=times,
        first_of_all=first,
        next_test=None if first is not None or sound else next_test(odds, seen, book),
        settled=first is None and is_settled(odds, book),
        current=current_doubt(root_world(machine, book), seen, book),
        fed=fed_length(world, seen.fed[0], book) if seen.fed else None,
        notes=tuple(_notes(seen)),
    )


def _led(causes: Sequence[CauseOdds], lines: Sequence[CauseLine]) -> tuple[CauseOdds, ...]:
    """Return causes by their odds, but that one first with which what is told begins."""
    leading = lines[0].causes[0] if lines else causes[0]
    return leading, *(one for one in causes if one is not leading)


def _as_expected(
    machine: Machine, odds: Odds, evidence: Sequence[Evidence], book: CauseBook
) -> bool:
    """Whether nothing was seen, only measured, and a sound machine gives it as well as any."""
    if any(one.words for one in evidence):
        return False
    sound = fit_of([root_world(machine, book)], evidence).likelihood
    return sound >= book.numbers["as_expected"] * max(fit.likelihood for fit in odds.fits)


def lines_of(seen: Complaint, odds: Odds, book: CauseBook) -> tuple[CauseLine, ...]:
    """Return the causes that are told, likeliest first."""
    evidence = evidence_of(seen, book)
    return tuple(_lines(tuple(_told(odds, evidence, seen, book, hold=False)), odds, book))


# --- odds -----------------------------------------------------------------------------------


def odds_for(
    machine: Machine,
    evidence: Sequence[Evidence],
    book: CauseBook,
    kept: Sequence[World] = (),
) -> tuple[Odds, int]:
    """Return the odds of each cause the machine can have, and how often machines were drawn.

    Where too few machines with the leading causes show all of it, more of them are drawn. ``kept``:
    `worlds_of` the machine, where more than one thing is asked of it.
    """
    root, *worlds = kept or worlds_of(machine, book)
    roots = [root]
    fits = [fit_of([world], evidence) for world in worlds]
    while len(roots) < int(book.numbers["most_ensembles"]):
        few = _too_few(odds_of(fits, evidence, book, pairs=False), book)
        other = redrawn(machine, len(roots), roots[0].wanted) if few else None
        if other is None:
            break
        roots.append(root_world(other, book))
        for fit in few:
            fit.take([_with(roots[-1], fit.causes[0])], evidence)
    return odds_of(fits, evidence, book), len(roots)


def _too_few(odds: Odds, book: CauseBook) -> Sequence[CauseFit]:
    """Return the likely causes of which too few machines show it all; none if the first has."""
    enough = book.numbers["effective"]
    if odds.fits[0].effective >= enough:
        return ()
    pairs = zip(odds.fits, odds.shares, strict=True)
    return [
        fit for fit, share in pairs if fit.effective < enough and share >= book.numbers["remaining"]
    ] or odds.fits[:1]


def worlds_of(machine: Machine, book: CauseBook) -> tuple[World, ...]:
    """Return a machine as it is, and with each cause that it can have."""
    root = root_world(machine, book)
    return root, *(_with(root, cause) for cause in book.causes if _applies(cause, root))


def _with(root: World, cause: Cause) -> World:
    return root.changed(cause.name, cause.changes, cause)


def _applies(cause: Cause, root: World) -> bool:
    """Whether the machine can have a cause: unless it surely cannot."""
    return cause.applies is None or evaluate(cause.applies, root.facts).nominal is not False


# --- what is told ---------------------------------------------------------------------------


def _told(
    odds: Odds, evidence: Sequence[Evidence], seen: Complaint, book: CauseBook, *, hold: bool
) -> Iterator[CauseOdds]:
    for fit, share in zip(odds.fits, odds.shares, strict=True):
        cause = fit.causes[0]
        remedy, withheld = remedy_of(cause, odds, seen, book)
        yield CauseOdds(
            name=cause.name,
            family=cause.family,
            title=cause.title,
            odds=share,
            speaks_for=tuple(_speaks(fit, odds, evidence, book, against=False)),
            speaks_against=tuple(_speaks(fit, odds, evidence, book, against=True)),
            remedy="" if hold else _filled(remedy, fit.worlds[0]),
            cautions=() if hold else book.cautions_of(cause.hazards),
            confirm=cause.confirm,
            withheld=withheld,
        )


def _speaks(
    fit: CauseFit, odds: Odds, evidence: Sequence[Evidence], book: CauseBook, *, against: bool
) -> Iterator[str]:
    """Yield what speaks for a cause, or against it, compared with causes on average."""
    numbers = book.numbers
    for one, own, usual in zip(evidence, fit.each, odds.usual, strict=True):
        ratio = own / max(usual, 1e-12)
        weak = one.words and own < numbers["worth_saying"]  # next to nothing is no sign of it
        speaks_for = ratio >= numbers["speaks_for"] and not weak
        if ratio <= numbers["speaks_against"] if against else speaks_for:
            yield one.label


def _filled(text: str, world: World) -> str:
    """Return a text with its figures, typical of the machine as config and sheet have it."""

    def figure(found: re.Match[str]) -> str:
        value = world.set_value(found[1])
        if value is None:
            return "what its datasheet allows"
        unit = parse_unit(world.machine.book.units[found[1]])
        return f"{float(unit.from_si(value)):.3g} {unit.symbol}".replace("A rms", "A RMS")

    return _HOLE.sub(figure, text)


def _lines(causes: Sequence[CauseOdds], odds: Odds, book: CauseBook) -> Iterator[CauseLine]:
    """Yield what is told: causes of one family that all that was seen fits alike share a line."""
    likely = {fit.causes[0].name: fit.likelihood for fit in odds.fits}
    worth = [one for one in causes if one.odds >= book.numbers["worth_telling"]]
    lines: list[list[CauseOdds]] = []
    for one in worth:
        line = next((line for line in lines if _alike(line[0], one, likely)), None)
        if line is None:
            lines.append([one])
        else:
            line.append(one)
    made = [_line(line, book) for line in lines]
    yield from sorted(made, key=lambda line: -line.odds)[: int(book.numbers["shown"])]


def _line(causes: Sequence[CauseOdds], book: CauseBook) -> CauseLine:
    """Return causes as one line; three or more by what their family is told as."""
    title = book.families.get(causes[0].family) if len(causes) >= _MANY else None
    return CauseLine(causes=tuple(causes), odds=sum(one.odds for one in causes), together=title)


def _alike(first: CauseOdds, other: CauseOdds, likely: dict[str, float]) -> bool:
    """Whether nothing that was seen parts two causes of a family."""
    if first.family != other.family:
        return False
    ratio = likely[first.name] / max(likely[other.name], 1e-300)
    return 1.0 / _PARTED < ratio < _PARTED


_MANY = 3  # causes on a line, from which it is told by their family
_PARTED = 3.0  # times likelier from which what was seen parts two causes


def _asked(seen: Complaint, book: CauseBook) -> Iterator[str]:
    """Yield what to look at where a word may mean another thing."""
    if "clicks" in seen.words and not any(one.word == "slips" for one in seen.sightings):
        yield f"clicks: {book.words['clicks'].ask}?"


def _notes(seen: Complaint) -> Iterator[str]:
    """Yield what one reading cannot tell."""
    if seen.case is not None:
        yield (
            "One case temperature gives current squared times how the motor loses its heat; "
            "it does not tell which of them is off."
        )
    if seen.fed and all(one.where != "free" for one in seen.fed):
        yield "One fed length gives ratio times slip; feed once in free air too, to tell which."
