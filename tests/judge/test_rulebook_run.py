"""How findings come out: places, order, one finding a value, messages, edits."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from every import every
from held import made
from rulebook_helpers import Book, book, rule_row

from advisor.base import Event, Fact, Fix, Level, Origin, OriginKind, Span, State, Trace
from advisor.judge.run import unknown_settings

AT = Span("x.cfg", 7, 3, 6)
HOME = Span("x.cfg", 5, 1)


def fact(name: str, samples: Any, unit: str = "-", **more: Any) -> Fact:
    origin = Origin(OriginKind.CONFIG, AT, setting="key", text=str(samples))
    return made(name, unit, samples, **{"origin": origin, "home": HOME, **more})


def high(**keys: Any) -> dict[str, Any]:
    return rule_row(**{"name": "high", "when": "a.x > 1", "at": "a.x", **keys})


def silent(rules: Book, **facts: Fact) -> bool:
    return rules.run({fact.name: fact for fact in facts.values()}) == []


# --- places -------------------------------------------------------------------------------


def test_a_stated_value_is_pointed_at() -> None:
    """The finding stands where the value stands."""
    assert book(high()).run({"a.x": fact("a.x", 2.0)})[0].at == AT


def test_a_missing_value_points_to_its_section() -> None:
    """The header is where it would stand."""
    rules = book(high(when="missing(a.x)"))
    origin = Origin(OriginKind.CONFIG, setting="key")
    found = rules.run({"a.x": fact("a.x", None, state=State.MISSING, origin=origin)})

    assert found[0].at == HOME


def test_a_derived_value_points_to_what_it_was_made_from() -> None:
    """Through as many steps as there are, round in a circle too."""
    other = fact("a.x", 2.0, origin=Origin(OriginKind.DERIVED), inputs=("b.x",), home=None)
    step = replace(other, name="b.x", trace=Trace(inputs=("a.x", "a.flow")))
    found = book(high()).run({"a.x": other, "b.x": step, "a.flow": fact("a.flow", 1.0)})

    assert found[0].at == AT


def test_facts_to_point_at_are_tried_in_turn() -> None:
    """The first that has a place gives it; none of them may have one."""
    command = fact("a.x", 2.0, origin=Origin(OriginKind.COMMAND), home=None)
    rules = book(high(at=["a.x", "a.flow"]))

    assert rules.run({"a.x": command, "a.flow": fact("a.flow", 1.0)})[0].at == AT
    assert rules.run({"a.x": command})[0].at is None


def test_a_default_is_at_most_a_note_at_its_section() -> None:
    """What the firmware would apply by default is not the owner's fault."""
    default = fact("a.x", 2.0, origin=Origin(OriginKind.DEFAULT, setting="key"))
    found = book(high(level="error")).run({"a.x": default})

    assert (found[0].level, found[0].at) == (Level.NOTE, HOME)


# --- what is told once --------------------------------------------------------------------

LOW = {"name": "low", "when": "a.x > 0", "at": "a.x"}


def test_a_superseded_rule_is_silent_on_the_same_extruder() -> None:
    """The graver rule speaks alone, and only where it speaks."""
    rules = book(high(supersedes="low"), rule_row(**LOW))

    assert [one.rule for one in rules.run({"a.x": fact("a.x", 2.0)})] == ["high"]
    assert [one.rule for one in rules.run({"a.x": fact("a.x", 0.5)})] == ["low"]


def test_another_extruder_is_not_silenced() -> None:
    """Each extruder is judged on its own."""
    from advisor.judge import evaluate_rules

    rules = book(high(supersedes="low"), rule_row(**LOW)).rulebook
    found = evaluate_rules(
        rules, {"b": {"a.x": fact("a.x", 2.0)}, "a": {"a.x": fact("a.x", 0.5)}}, {}
    )

    assert [(one.extruder, one.rule) for one in found] == [("a", "low"), ("b", "high")]


def test_a_note_does_not_silence_a_warning() -> None:
    """What holds in a tenth of the ensemble cannot hide what holds for sure."""
    rules = book(high(supersedes="low"), rule_row(**LOW))
    spread = np.concatenate((np.full(800, 0.5), np.full(200, 2.0)))
    found = rules.run({"a.x": fact("a.x", spread)})

    assert {(one.rule, one.level) for one in found} == {
        ("high", Level.NOTE),
        ("low", Level.WARNING),
    }


LOST = Event("lost-file", Span("x.cfg", 3), {"target": "a.cfg", "reason": "gone"})
ODD = Event("odd-line", Span("x.cfg", 9), {"key": "k", "text": "k 1"}, "a.x", "extruder")


def test_an_event_silences_a_condition_on_its_fact() -> None:
    """A rule on the text of a value speaks for rules on the value, on the same extruder."""
    odd = rule_row(name="odd", event="odd-line", supersedes="high")
    rules = book(odd, high(when="missing(a.x)"))

    assert [one.rule for one in rules.run(events=[ODD])] == ["odd"]
    for event in (replace(ODD, fact="b.x"), replace(ODD, extruder=None)):
        assert {one.rule for one in rules.run(events=[event])} == {"odd", "high"}


def test_events_silence_each_other_in_one_place() -> None:
    """The same line, or the line that the other names; not another file."""
    odd = rule_row(name="odd", event="odd-line", supersedes="odder")
    rules = book(odd, rule_row(name="odder", event="odder-line"))
    fields = {"key": "k", "text": "t", "other_line": "9"}
    odder = Event("odder-line", Span("x.cfg", 4), fields, "a.x", "extruder")

    assert [one.rule for one in rules.run(events=[ODD, odder])] == ["odd"]
    for other in (
        replace(odder, fields={**fields, "other_line": "8"}),
        replace(odder, at=Span("y.cfg", 4)),
    ):
        assert {one.rule for one in rules.run(events=[ODD, other])} == {"odd", "odder"}


def test_a_machines_rule_is_told_once() -> None:
    """However many extruders there are, with no extruder named."""
    from advisor.judge import evaluate_rules

    fast = rule_row(name="fast", scope="machine", when="m.speed > 1 mm/s", at="m.speed")
    machine = {"m.speed": fact("m.speed", 1.0, "mm/s")}
    found = evaluate_rules(book(fast).rulebook, {"e": {}, "e1": {}}, machine)

    assert [(one.rule, one.extruder) for one in found] == [("fast", None)]


def test_an_extruders_rule_sees_the_machines_facts() -> None:
    """And is told for each extruder."""
    rules = book(high(when="m.speed > 1 mm/s", at="m.speed"))
    found = rules.run({}, machine={"m.speed": fact("m.speed", 1.0, "mm/s")})

    assert [one.extruder for one in found] == ["extruder"]


def test_findings_stand_in_order() -> None:
    """Machine first, then by extruder, stage, level and place, whatever the order of rules."""
    rows = [
        rule_row(name="s", stage="slicer", level="error", when="a.x > 1", at="a.x"),
        rule_row(name="m-note", level="note", when="a.x > 1", at="a.x"),
        rule_row(name="m-warning", when="a.x > 1", at="a.x"),
        rule_row(name="t", stage="text", event="lost-file"),
    ]
    found = book(*rows).run({"a.x": fact("a.x", 2.0)}, events=[LOST])

    assert [one.rule for one in found] == ["t", "m-warning", "m-note", "s"]
    assert found == book(*reversed(rows)).run({"a.x": fact("a.x", 2.0)}, events=[LOST])


# --- events and messages ------------------------------------------------------------------


def test_grouped_events_are_one_finding() -> None:
    """At the first place, with all targets, their count and what is unknown for it."""
    message = "Lost ({count}): {target}; {reason}; unknown: {unknown_settings}."
    rules = book(rule_row(name="lost", event="lost-file", grouped=True, message=message))
    events = [
        replace(LOST, at=Span("x.cfg", 3 + i), fields={"target": f"{i}.cfg", "reason": "gone"})
        for i in range(8)
    ]
    unknown = fact("a.x", None, state=State.UNKNOWN)
    found = rules.run({"a.x": unknown, "b.x": fact("b.x", 1.0)}, events=events)

    assert [one.at for one in found] == [Span("x.cfg", 3)]
    assert found[0].message == (
        "Lost (8): 0.cfg, 1.cfg, 2.cfg, 3.cfg, 4.cfg and 3 more; gone; unknown: key."
    )


def test_events_are_told_one_by_one_otherwise() -> None:
    """With their own fields; words replace a field's value; long texts are cut."""
    words = {"key": {"k": "the key k"}}
    rules = book(rule_row(name="odd", event="odd-line", message="{key}: '{text}'.", words=words))
    other = replace(ODD, at=Span("x.cfg", 2), fields={"key": "j", "text": " a\n b " * 40})
    found = rules.run(events=[ODD, other])

    assert [one.message for one in found] == [
        "j: 'a b a b a b a b a b a b a b a b a b a b a b a b a b a b a b a b a b a b a b a...'.",
        "the key k: 'k 1'.",
    ]
    assert all(one.sure == 1.0 for one in found)


def test_a_rule_may_ask_the_fields_of_its_event() -> None:
    """They are text facts beside the extruder's facts."""
    when = "event.key in ('k') and a.x > 1"
    rules = book(rule_row(name="odd", event="odd-line", when=when))

    assert rules.run({"a.x": fact("a.x", 2.0)}, events=[ODD])
    assert not rules.run({"a.x": fact("a.x", 0.5)}, events=[ODD])
    assert not rules.run(
        {"a.x": fact("a.x", 2.0)}, events=[replace(ODD, fields={"key": "j", "text": ""})]
    )


def test_messages_show_values_in_the_ways_there_are() -> None:
    """Value, unit, band, place, text, key, expression; unknown where there is none."""
    message = (
        "{a.flow} {a.flow:value} {a.flow:number} {a.current:place} {a.current:text} "
        "{a.current:setting} {a.current | mA} {2 * a.x | %} {a.heat} {a.word} {b.x} {b.x:setting}"
    )
    flow = np.concatenate(([23e-9], np.linspace(16e-9, 31e-9, 1000)))
    facts = {
        "a.flow": fact("a.flow", flow, "mm3/s"),
        "a.current": fact("a.current", 0.7, "A rms"),
        "a.x": fact("a.x", 2.0),
        "a.heat": fact("a.heat", 333.4, "degC"),
        "a.word": fact("a.word", "pla", ""),
    }
    found = book(high(message=message)).run(facts)

    assert found[0].message == (
        "23 (17-30) mm3/s 23 mm3/s 23 x.cfg line 7 0.7 key 700 mA 400 % 60 degC PLA unknown the b"
    )


def test_a_finding_names_the_facts_it_hangs_on() -> None:
    """For `explain` and for whoever mends."""
    found = book(high(when="a.x > 1 and not missing(b.x)")).run(
        {"a.x": fact("a.x", 2.0), "b.x": fact("b.x", 1.0)}
    )

    assert found[0].facts == ("a.x",)
    assert (found[0].title, found[0].why) == ("Some rule", "It matters.")
    assert (found[0].advice, found[0].source) == ("Do something.", "some-source")


# --- edits --------------------------------------------------------------------------------

FIX = {"set": "a.current", "to": "a.x * 1 A", "round": "down", "step": 0.01}


def fixed(present: Fact, target: Any, **keys: Any) -> Fix | None:
    rules = book(high(when="known(b.x)", at="a.current", fix={**FIX, **keys}))
    facts = {"a.current": present, "a.x": fact("a.x", target), "b.x": fact("b.x", 1.0)}
    return rules.run(facts)[0].fix


CURRENT = fact("a.current", 0.7, "A rms")


def test_an_edit_is_rounded_and_names_what_it_replaces() -> None:
    """From the user's own text to the new one, at its place."""
    assert fixed(CURRENT, 0.5657) == Fix("key", "0.56", "0.7", AT)
    assert fixed(CURRENT, np.array([0.5657, 0.9])) == Fix("key", "0.56", "0.7", AT)


@every(
    ("target", "way", "step", "new"),
    [
        (0.5799, "down", 0.01, "0.57"),
        (0.57, "down", 0.01, "0.57"),
        (0.29 + 0.28, "down", 0.01, "0.57"),
        (0.7101, "up", 0.01, "0.72"),
        (0.72, "up", 0.01, "0.72"),
        (0.564, "nearest", 0.01, "0.56"),
        (0.5, "down", 0.25, "0.50"),
        (12.7, "up", 5, "15"),
    ],
)
def test_rounding_goes_to_the_safe_side(target: float, way: str, step: float, new: str) -> None:
    """Whole steps as they stand stay, everything else goes the way the rule says."""
    edit = fixed(CURRENT, target, round=way, step=step)

    assert edit is not None
    assert edit.new == new


@every(
    ("present", "target", "why"),
    [
        (CURRENT, 0.7001, "it would not change"),
        (CURRENT, 0.9, "it would go up where the rule rounds down"),
        (CURRENT, 0.004, "it would be zero"),
        (CURRENT, -0.5, "it would be negative"),
        (CURRENT, float("nan"), "the target is unknown"),
        (CURRENT, float("inf"), "the target has no end"),
        (replace(CURRENT, origin=Origin(OriginKind.SHEET, AT, setting="k")), 0.5, "a sheet"),
        (replace(CURRENT, origin=Origin(OriginKind.DERIVED)), 0.5, "it stands nowhere"),
        (replace(CURRENT, origin=Origin(OriginKind.CONFIG, AT)), 0.5, "it has no key"),
    ],
)
def test_there_is_no_edit_where_none_can_be(present: Fact, target: float, why: str) -> None:
    """The finding is told all the same."""
    assert fixed(present, target) is None, why


@pytest.mark.parametrize(
    "present",
    [
        Fact.of("a.current", "A rms", 0.9, origin=Origin(OriginKind.DEFAULT, setting="key")),
        Fact("a.current", None, State.MISSING, Origin(OriginKind.CONFIG, setting="key")),
    ],
)
def test_a_setting_that_is_not_there_is_inserted(present: Fact) -> None:
    """Nothing is replaced; the place is the header of its section."""
    assert fixed(replace(present, home=HOME), 0.5657) == Fix("key", "0.56", None, HOME)


def test_the_edit_is_in_the_units_of_the_setting() -> None:
    """A rule may write milliamperes."""
    assert fixed(CURRENT, 0.5657, unit="mA", step=1) == Fix("key", "565", "0.7", AT)


def test_many_names_are_counted_and_the_count_is_never_cut_off() -> None:
    """The settings of the drive come first, the rest is told as a number."""
    names = [f"firmware.setting_number_{number}" for number in range(12)] + ["drive.distance"]
    unknown = {
        name: Fact(name, None, State.UNKNOWN, Origin(OriginKind.CONFIG, setting=name[-17:]))
        for name in names
    }
    told = unknown_settings([unknown])
    assert told.startswith("drive.distance, ")
    assert told.endswith(" more")
    assert len(told) <= 80
