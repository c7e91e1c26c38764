"""`feedwright diagnose`: from what is seen on the machine to its cause, and the next test."""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import TYPE_CHECKING, Annotated

import typer

from advisor.answers import DiagnoseReport, SeenTexts
from advisor.base import UsageError, __version__
from advisor.cli.asking import STDIN, asks_of
from advisor.cli.options import ConfigArgument, PlainFormat, Shared, WantedPageOption, takes
from advisor.cli.outcome import answer_failure, respond, shown
from advisor.cli.output_files import STDOUT, may_replace, write_page
from advisor.cli.streams import Exit, complain

if TYPE_CHECKING:
    from advisor.report import Look

__all__ = ["EPILOG", "diagnose"]

EPILOG = (
    "Exit codes: 0 answered; 2 wrong usage; 3 something could not be read, or an internal fault; "
    "130 interrupted: what was said until then is answered."
)


def _several(flag: str, metavar: str, text: str) -> object:
    return typer.Option(flag, metavar=metavar, help=text, show_default=False)


SeesOption = Annotated[
    list[str] | None,
    _several("--sees", "WHAT[@WHEN]", "What is seen: clicks@retracts, thin, motor-hot ... ; may be "
             "given several times; --sees list shows the words."),
]  # fmt: skip
SeesNotOption = Annotated[
    list[str] | None,
    _several("--sees-not", "WHAT[@WHEN]", "What is surely not seen, though you looked."),
]
ClicksAtOption = Annotated[
    str | None, _several("--clicks-at", "FLOW", "Lowest flow at which it clicks: 9mm3/s.")
]
HoldsOption = Annotated[
    str | None, _several("--holds", "FLOW", "Largest flow that comes out whole: 6mm3/s.")
]
CaseOption = Annotated[
    str | None,
    _several("--case", "TEMPERATURE", "Motor case by a taped probe, 88C; an infrared thermometer "
             "reads bare metal far too low."),
]  # fmt: skip
AfterOption = Annotated[
    str | None, _several("--after", "TIME", "How long after the start it was read: 30min.")
]
FedOption = Annotated[
    list[str] | None,
    _several("--fed", "ASKED=CAME[@WHERE]", "Length commanded and come: 100mm=98mm@free (hotend "
             "left out) or @nozzle."),
]  # fmt: skip
FallsOption = Annotated[
    str | None,
    _several("--nozzle-falls-to", "TEMPERATURE", "Nozzle temperature shown while it prints: 198C."),
]
PullOption = Annotated[
    str | None,
    _several("--pull", "FORCE", "Pull on a spring scale at which the drive gives way: 38N."),
]
DidOption = Annotated[
    list[str] | None,
    _several("--did", "TEST=OUTCOME", "How a proposed test came out: gone, better, same, worse, "
             "unsure; may be given several times."),
]  # fmt: skip
InteractiveOption = Annotated[
    bool,
    typer.Option(
        "--interactive",
        help="Ask for what is seen and measured, what tells most first; then answer.",
    ),
]


@takes(
    "config", "interactive", "html", "sees", "sees_not", "clicks_at", "holds", "case", "after",
    "fed", "nozzle_falls_to", "pull", "did", "sheet", "with_", "profile", "preset", "parents",
    "print_", "material", "asked", "weighed", "skip_test", "tests", "no_tests", "draws",
    "extruder", "allow_outside", "full", "form", "colour",
)  # fmt: skip
def diagnose(
    config: ConfigArgument,
    shared: Shared,
    interactive: InteractiveOption = False,
    html: WantedPageOption = None,
    sees: SeesOption = None,
    sees_not: SeesNotOption = None,
    clicks_at: ClicksAtOption = None,
    holds: HoldsOption = None,
    case: CaseOption = None,
    after: AfterOption = None,
    fed: FedOption = None,
    nozzle_falls_to: FallsOption = None,
    pull: PullOption = None,
    did: DidOption = None,
) -> int:
    """Find why it clicks, grinds, prints thin or gets hot, and the test that tells.

    \b
    Examples:
      feedwright diagnose printer.cfg --interactive
      feedwright diagnose printer.cfg --sees clicks@retracts --html cause.html
      feedwright diagnose printer.cfg --sees motor-hot --case 88C --after 30min
      feedwright diagnose printer.cfg --sees thin --fed 100mm=98mm@free
      feedwright diagnose printer.cfg --sees clicks --did loose-spool=same

    Says the likeliest causes by this machine's numbers, what speaks for and against each, and the
    next test with what each outcome would mean. What you do not name counts neither way.
    """
    if "list" in {*(sees or ()), *(sees_not or ())}:
        return respond(lambda: (_words(shared), Exit.CLEAN))

    texts = SeenTexts(
        sees=tuple(sees or ()), sees_not=tuple(sees_not or ()), clicks_at=clicks_at,
        holds=holds, case=case, after=after, fed=tuple(fed or ()),
        nozzle_falls_to=nozzle_falls_to, pull=pull, did=tuple(did or ()),
    )  # fmt: skip

    def work() -> tuple[str, Exit]:
        if html == STDOUT and shared.form is PlainFormat.JSON:
            problem = "--html - and --format json both go to stdout"
            raise UsageError(problem, "name a file for the page")
        replace = html is not None and may_replace(html)
        ask = _by_questions if interactive else _at_once
        report, code = ask(config, texts, shared)
        for error in report.errors:
            complain(error)
        page = _page(report, shared) if html is not None and report.extruder else ""
        if html is not None and html != STDOUT and page:
            write_page(html, page, replace=replace)
        told = page if html == STDOUT else shown(shared, report, _text(shared, again=interactive))
        return told, Exit.FAULT if report.errors else code

    return respond(work, failure=answer_failure(shared.form))


def _text(shared: Shared, *, again: bool) -> Callable[[DiagnoseReport, Look], str]:
    def text(report: DiagnoseReport, look: Look) -> str:
        from advisor.report import diagnose_text, symptom_text

        command = symptom_text.closing(report, look) if again else ""
        return diagnose_text.render(report, look, full=shared.full) + command

    return text


def _page(report: DiagnoseReport, shared: Shared) -> str:
    from shlex import quote

    from advisor.report import render_diagnose

    options = (*(("--full",) if shared.full else ()), "--html")
    command = " ".join(("feedwright", *map(quote, report.command), *options, "FILE"))
    return render_diagnose(report, command=command, version=__version__, full=shared.full)


def _at_once(config: str, texts: SeenTexts, shared: Shared) -> tuple[DiagnoseReport, Exit]:
    from advisor.answers import diagnose as work_out

    asks = asks_of(config, shared=shared)
    return work_out(config, asks, texts, extruder=shared.extruder), Exit.CLEAN


def _by_questions(config: str, texts: SeenTexts, shared: Shared) -> tuple[DiagnoseReport, Exit]:
    """Ask, and return the answer to all that was said; an end of the input loses nothing."""
    from advisor.answers import Inquiry
    from advisor.cli import conversation
    from advisor.report import symptom_text

    if config == STDIN:
        raise UsageError("the answers come on standard input", "name the config file")
    look = conversation.narrow()
    inquiry = Inquiry(config, asks_of(shared=shared), texts, extruder=shared.extruder)
    conversation.take_any_bytes()
    with conversation.hang_up_is_ctrl_c():
        ending = conversation.ask_all(
            inquiry, symptom_text, lambda: symptom_text.standing(inquiry.leading(), look), look
        )
    cut = ending is conversation.Ending.INTERRUPTED
    if cut and not inquiry.anything:
        raise KeyboardInterrupt
    with conversation.undisturbed():
        return inquiry.report(), Exit.INTERRUPTED if cut else Exit.CLEAN


def _words(shared: Shared) -> str:
    from advisor.answers import seen_words
    from advisor.report import diagnose_text, look_for

    return diagnose_text.render_words(seen_words(), look_for(sys.stdout, shared.colour.value))
