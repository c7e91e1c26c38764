"""Three-valued logic against Kleene's strong tables; values that are not known stay not known."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from every import every
from held import made

from advisor.base import Fact, Origin, OriginKind, State
from advisor.expression import Compiled, compile_expression, evaluate

# S. C. Kleene, Introduction to Metamathematics (1952), section 64, the strong tables; from memory.
AND = {
    ("t", "t"): "t", ("t", "u"): "u", ("t", "f"): "f",
    ("u", "t"): "u", ("u", "u"): "u", ("u", "f"): "f",
    ("f", "t"): "f", ("f", "u"): "f", ("f", "f"): "f",
}  # fmt: skip
OR = {
    ("t", "t"): "t", ("t", "u"): "t", ("t", "f"): "t",
    ("u", "t"): "t", ("u", "u"): "u", ("u", "f"): "u",
    ("f", "t"): "t", ("f", "u"): "u", ("f", "f"): "f",
}  # fmt: skip
NOT = {"t": "f", "u": "u", "f": "t"}
TRUTH: dict[str, Any] = {"t": True, "f": False, "u": None}
VALUE = {"t": 2.0, "f": 0.0, "u": math.nan}  # compared with 1

VOCABULARY = {"a.x": "-", "b.x": "-", "c.text": "", "d.mm": "mm"}


def fact(name: str, samples: Any, **more: Any) -> Fact:
    return made(name, VOCABULARY.get(name, "-"), samples, **more)


def outcome(text: str, **samples: Any) -> Any:
    facts = {f"{key}.x": fact(f"{key}.x", value) for key, value in samples.items()}
    return evaluate(compile_expression(text, VOCABULARY), facts).value


@pytest.mark.parametrize(("word", "table"), [("and", AND), ("or", OR)])
def test_scalar_logic_is_kleenes(word: str, table: dict[tuple[str, str], str]) -> None:
    """Each cell of the table of three-valued `and` and `or`."""
    for (left, right), expected in table.items():
        found = outcome(f"a.x > 1 {word} b.x > 1", a=VALUE[left], b=VALUE[right])
        assert found is TRUTH[expected], (left, word, right)


@pytest.mark.parametrize("word", ["and", "or"])
def test_logic_over_the_ensemble_is_kleenes_sample_by_sample(word: str) -> None:
    """Arrays give in each sample what the scalars give; unknown samples do not hold."""
    table = AND if word == "and" else OR
    left = np.array([VALUE[a] for a, _ in table])
    right = np.array([VALUE[b] for _, b in table])
    holds = outcome(f"a.x > 1 {word} b.x > 1", a=left, b=right)
    fails = outcome(f"not (a.x > 1 {word} b.x > 1)", a=left, b=right)

    assert holds.tolist() == [cell == "t" for cell in table.values()]
    assert fails.tolist() == [cell == "f" for cell in table.values()]


def test_a_scalar_and_an_array_join_as_two_arrays() -> None:
    """A fact without spread counts for every sample."""
    spread = np.array([VALUE[word] for word in "tuf"])
    for word, table in (("and", AND), ("or", OR)):
        for left in "tuf":
            found = outcome(f"a.x > 1 {word} b.x > 1", a=VALUE[left], b=spread)
            cells = [table[left, right] for right in "tuf"]
            listed = [found] * 3 if found is None or isinstance(found, bool) else found.tolist()
            assert [bool(x) for x in listed] == [cell == "t" for cell in cells], (left, word)


@pytest.mark.parametrize("word", "tuf")
def test_negation_is_kleenes(word: str) -> None:
    """`not` turns true and false round and leaves unknown."""
    assert outcome("not a.x > 1", a=VALUE[word]) is TRUTH[NOT[word]]


@every("sign", ["<", "<=", ">", ">=", "==", "!="])
@every("state", [State.MISSING, State.UNKNOWN, State.UNREADABLE])
def test_a_comparison_with_what_is_not_known_is_unknown(sign: str, state: State) -> None:
    """Whatever the reason, and `!=` too."""
    facts = {"a.x": fact("a.x", None, state=state)}

    assert evaluate(compile_expression(f"a.x {sign} 1", VOCABULARY), facts).value is None
    assert evaluate(compile_expression(f"b.x {sign} 1", VOCABULARY), facts).value is None


def test_a_chain_of_comparisons_is_their_conjunction() -> None:
    """`1 < x < 3` holds between both ends only."""
    found = outcome("1 < a.x < 3", a=np.array([0.0, 1.0, 2.0, 3.0, math.nan]))

    assert found.tolist() == [False, False, True, False, False]


def test_infinity_compares_and_nan_is_unknown_in_its_sample() -> None:
    """A limit beyond the bracket is above everything; nan in one sample spoils only that one."""
    found = outcome("a.x > 5", a=np.array([math.inf, math.nan, 7.0, 1.0]))

    assert found.tolist() == [True, False, True, False]
    assert outcome("a.x < b.x", a=5.0, b=math.inf) is True


@pytest.mark.parametrize(
    "text",
    ["a.x / (a.x - a.x)", "1 / 0", "0 ^ -1", "sqrt(-1)", "(0 - 8) ^ 0.5", "a.x / 0 - a.x / 0"],
)
def test_what_has_no_value_is_unknown_without_a_warning(text: str) -> None:
    """Division by zero and roots of negative numbers are unknown (warnings are errors here)."""
    assert outcome(text, a=3.0) is None
    assert outcome(f"{text} > 1", a=np.array([3.0, 4.0])) is None


def test_division_by_zero_spoils_its_sample_only() -> None:
    """The other samples keep their value."""
    found = outcome("1 / a.x", a=np.array([0.0, 2.0]))

    assert math.isnan(found[0])
    assert found[1] == 0.5


def texts(text: str, word: str | None) -> Any:
    facts = {} if word is None else {"c.text": fact("c.text", word)}
    return evaluate(compile_expression(text, VOCABULARY), facts).value


@every(
    ("text", "expected"),
    [
        ("c.text == 'pla'", [True, False, None]),
        ('c.text != "pla"', [False, True, None]),
        ("c.text in ('pla', 'abs')", [True, False, None]),
        ("c.text not in ('pla', 'abs',)", [False, True, None]),
        ("not c.text in ('pla')", [False, True, None]),
        ("(c.text == 'pla') == true", [True, False, None]),
        ("(c.text == 'pla') != false", [True, False, None]),
        ("known(c.text)", [True, True, False]),
    ],
)
def test_texts_are_compared_or_unknown(text: str, expected: list[bool | None]) -> None:
    """A text fact is equal, is one of a list, or is not known."""
    assert [texts(text, word) for word in ("pla", "petg", None)] == expected


def origin(kind: OriginKind) -> Origin:
    return Origin(kind)


CASES: dict[str, Fact | None] = {
    "command": fact("a.x", 1.0, origin=origin(OriginKind.COMMAND)),
    "sheet": fact("a.x", 1.0, origin=origin(OriginKind.SHEET)),
    "profile": fact("a.x", 1.0, origin=origin(OriginKind.PROFILE)),
    "config": fact("a.x", 1.0, origin=origin(OriginKind.CONFIG)),
    "measured": fact("a.x", 1.0, origin=origin(OriginKind.MEASURED)),
    "default": fact("a.x", 1.0, origin=origin(OriginKind.DEFAULT)),
    "from a default": fact("a.x", 1.0, defaulted=frozenset({"b.x"})),
    "catalogue": fact("a.x", 1.0, origin=origin(OriginKind.CATALOGUE), assumed=frozenset({"a.x"})),
    "derived": fact("a.x", 1.0),
    "from a guess": fact("a.x", 1.0, assumed=frozenset({"b.x"})),
    "not there": None,
    "missing": fact("a.x", None, state=State.MISSING),
    "unknown": fact("a.x", None, state=State.UNKNOWN),
    "unreadable": fact("a.x", None, state=State.UNREADABLE, origin=origin(OriginKind.CONFIG)),
}
TRUE_FOR = {
    "stated": {"command", "sheet", "profile", "config", "measured"},
    "assumed": {"catalogue", "from a guess"},
    "defaulted": {"default", "from a default"},
    "missing": {"missing", "not there"},
    "unknown": {"unknown"},
    "unreadable": {"unreadable"},
    "known": set(CASES) - {"not there", "missing", "unknown", "unreadable"},
}


@pytest.mark.parametrize("predicate", TRUE_FOR)
def test_predicates_say_how_a_fact_is_known(predicate: str) -> None:
    """Each predicate over each way of knowing; never unknown itself."""
    compiled = compile_expression(f"{predicate}(a.x)", VOCABULARY)
    found = {
        name
        for name, case in CASES.items()
        if evaluate(compiled, {} if case is None else {"a.x": case}).value
    }

    assert found == TRUE_FOR[predicate]
    assert compiled.values == ()
    assert compiled.states == ("a.x",)


def test_an_outcome_says_sample_zero_and_the_share() -> None:
    """The nominal machine and the share of the ensemble are read off the outcome."""
    facts = {"a.x": fact("a.x", np.array([3.0, 0.0, 3.0, math.nan]))}
    found = evaluate(compile_expression("a.x > 1", VOCABULARY), facts)

    assert found.nominal is True
    assert found.share == 0.5
    assert set(found.facts) == {"a.x"}


def test_a_stored_expression_is_the_same_expression() -> None:
    """JSON types hold all of it."""
    import json

    text = "missing(a.x) or min(a.x, b.x) ^ 2 > 3 and c.text in ('p', 'q') and d.mm < 4 mm"
    compiled = compile_expression(text, VOCABULARY)
    again = Compiled.from_json(json.loads(json.dumps(compiled.to_json())))

    assert again == compiled
    assert again.facts == {"a.x", "b.x", "c.text", "d.mm"}


def test_nominal_is_sample_zero() -> None:
    """The nominal machine alone, with its unit; a value without spread is itself."""
    assert outcome("nominal(a.x) > 1", a=np.array([3.0, 0.0, 0.0])) is True
    assert outcome("nominal(a.x) > 1", a=np.array([math.nan, 3.0])) is None
    assert outcome("nominal(a.x) > 1", a=3.0) is True


def test_the_ends_of_a_range_are_the_samples_at_5_and_95_percent() -> None:
    """As numpy picks them (the nearest rank); what is not known is left out; one value is both."""
    values = np.random.default_rng(3).normal(size=401)
    for share, name in ((0.05, "low"), (0.95, "high")):
        end = float(np.quantile(values, share, method="nearest"))
        assert outcome(f"{name}(a.x) <= {end + 1e-9}", a=values) is True
        assert outcome(f"{name}(a.x) <= {end - 1e-9}", a=values) is False
        assert outcome(f"{name}(a.x) == 3", a=np.array([math.nan, 3.0, 3.0])) is True
        assert outcome(f"{name}(a.x) == 3", a=3.0) is True
