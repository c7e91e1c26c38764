"""The page says what the terminal says, in the same words."""

from __future__ import annotations

from typing import Any

import pytest
from html_pages import Made
from tiers import spread, wide

from advisor.cli import main
from advisor.report.look import typeset


@wide
@pytest.mark.parametrize(
    ("config", "asked", "options"),
    spread(
        [
            ("healthy/printer.cfg", {}, []),
            ("healthy/printer.cfg", {"asked": "14mm3/s"}, ["--asked", "14mm3/s"]),
            ("no-sheet/printer.cfg", {"material": "petg"}, ["--material", "petg"]),
            ("soft-filament/printer.cfg", {}, []),
        ],
        2,
    ),
)
def test_the_answer_has_the_words_of_lint(
    page: Made,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    config: str,
    asked: dict[str, Any],
    options: list[str],
) -> None:
    """All rows before the first empty line, and the sum, word for word."""
    monkeypatch.setenv("COLUMNS", "120")
    main(["lint", config, *options, "--full"])
    told = typeset(capsys.readouterr().out).splitlines()
    _, html = page(config, **asked)
    rows = html.one("dl", class_="answer").children

    answer: list[str] = []
    for line in told[: told.index("")]:  # a row without a label goes on
        if line.startswith(" " * 12):
            answer[-1] += f" {line.strip()}"
        else:
            answer.append(line)
    assert [f"{row.one('dt').words:<12}{row.one('dd').words}" for row in rows] == answer
    counts = html.one("p", class_="sum").words.removeprefix("Summary: ").removesuffix(".")
    assert told[-1] == f"summary     {counts}"


def test_the_print_does_not_change_the_edits(page: Made) -> None:
    """They are those of `feedwright mend`, which knows no print; nor does its command."""
    asked = {"profiles": ("asks-too-much/profile.ini",)}
    _, without = page("asks-too-much/printer.cfg", **asked)
    _, with_it = page("asks-too-much/printer.cfg", **asked, sliced="asks-too-much/box.gcode")
    steps = with_it.one("ol", class_="steps").words

    assert with_it.one("pre").text == without.one("pre").text
    assert "mend asks-too-much/printer.cfg --profile" in steps
    assert "--print" not in steps
