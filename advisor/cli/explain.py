"""`feedwright explain`: what a name means and how its value came about."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from advisor.cli.asking import asks_of
from advisor.cli.options import Shared, takes
from advisor.cli.outcome import answer_failure, respond, shown
from advisor.cli.streams import Exit

if TYPE_CHECKING:
    from advisor.answers import Explanation
    from advisor.report import Look

__all__ = ["EPILOG", "explain"]

EPILOG = (
    "Exit codes: 0 answered; 2 wrong usage, an unknown name too; 3 something could not be read, "
    "or an internal fault."
)

NameArgument = Annotated[
    str | None,
    typer.Argument(
        metavar="[NAME]",
        help="A key of the config (run_current), a rule, a fact (motor.derated_current), a limit "
        "(torque), a catalogue name (pla) or a word of the trade (clicking). [default: list them]",
        show_default=False,
    ),
]
ConfigArgument = Annotated[
    str | None,
    typer.Argument(
        metavar="[CONFIG]",
        help="Config file, for the whole derivation of a fact.",
        show_default=False,
    ),
]


@takes(
    "name", "config", "sheet", "with_", "profile", "material", "asked", "weighed", "skip_test",
    "tests", "no_tests", "allow_outside", "full", "form", "colour",
)  # fmt: skip
def explain(shared: Shared, name: NameArgument = None, config: ConfigArgument = None) -> int:
    """Explain a setting, a rule, a fact, a limit, a material or a word.

    \b
    Examples:
      feedwright explain run_current
      feedwright explain run-current-above-derated
      feedwright explain motor.derated_current printer.cfg --sheet hardware.yaml
      feedwright explain petg
      feedwright explain clicking

    With a config, shows how the value of a fact comes about, two levels deep; --full has all of
    it. Every number has its unit, its range and where it comes from.
    """

    def work() -> tuple[str, Exit]:
        from advisor.answers import explain as look_up

        explanation = look_up(name, config=config, asks=asks_of(shared=shared))
        return shown(shared, explanation, text), Exit.CLEAN

    def text(explanation: Explanation, look: Look) -> str:
        from advisor.report import explain_text

        return explain_text.render(explanation, look, full=shared.full)

    return respond(work, failure=answer_failure(shared.form))
