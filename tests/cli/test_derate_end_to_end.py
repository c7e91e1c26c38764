"""derate from the command line to the physics and back."""

from __future__ import annotations

import math

import pytest
from cli_answers import Runner
from jsonschema import Draft202012Validator

from advisor.report.json import json_schema

VALIDATOR = Draft202012Validator(json_schema())


@pytest.mark.parametrize(
    ("basis", "divisor"), [("peak", math.sqrt(2)), ("unsure", math.sqrt(2)), ("rms", 1.0)]
)
def test_the_current_to_set_is_a_share_of_the_rms_rating(
    basis: str, divisor: float, run: Runner
) -> None:
    """0.8 of the rating read as its basis says, rounded down to 0.01 A (RMS of a sine)."""
    answer = run("derate", "1.0A", "--basis", basis, "--share", "0.5", "--format", "json").json
    VALIDATOR.validate(answer)

    assert answer["rated_current_rms"]["value"] == pytest.approx(1.0 / divisor)
    assert answer["derated_current"]["value"] == pytest.approx(0.5 / divisor)
    assert answer["set_current"] == math.floor(50 / divisor) / 100


def test_text_and_json_tell_the_same(run: Runner) -> None:
    """The first line for people is the JSON's set_current."""
    told = run("derate", "1.0A", "--driver", "tmc2209", "--sense-resistor", "0.11ohm")
    answer = run(
        "derate", "1.0A", "--driver", "tmc2209", "--sense-resistor", "0.11ohm", "--format", "json"
    ).json

    VALIDATOR.validate(answer)
    assert told.out.startswith(f"set         {answer['set_current']:.2f} A RMS")
    assert answer["applied_current"]["value"] <= answer["derated_current"]["value"]


def test_where_no_current_is_safe_it_says_so(run: Runner) -> None:
    """A mount that softens at the air's own temperature bears no current at all."""
    ran = run("derate", "1.0A", "--mount", "pla", "--ambient", "60degC")

    assert ran.code == 0
    assert ran.out.startswith("set         nothing: ")
    assert "limit of the mount" in " ".join(ran.out.partition("rating")[0].split())


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("1.0X",), "1.0X"), (("0A",), "0A"), (("-1A",), "-1"), (("1.0 V",), "1.0 V"),
        (("1.0A", "--mount", "plaa"), "did you mean 'pla'?"),
        (("1.0A", "--driver", "tmc9999"), "tmc9999"), (("1.0A", "--share", "1.5"), "1.5"),
        (("1.0A", "--ambient", "45K"), "45K"),
    ],
)  # fmt: skip
def test_what_cannot_be_read_is_quoted(arguments: tuple[str, ...], words: str, run: Runner) -> None:
    """One sentence on stderr, stdout empty, exit code 2."""
    ran = run("derate", *arguments)

    assert (ran.code, ran.out) == (2, "")
    assert words in ran.err
    assert ran.err.count("\n") == 1
