"""What config and sheet say weighs in a diagnosis: shares, words that follow, odds.

Figures by hand from the sample's own lines (rotation distance 45.2 mm, 0.56 A); the shares of a
spread by numpy over its samples.
"""

from __future__ import annotations

import dataclasses
import functools
from pathlib import Path

import numpy as np
import pytest
from every import every
from tiers import only_wide, wide

from advisor.answers import Asks, SeenTexts
from advisor.answers.diagnosis.answer import diagnosed, worlds_of
from advisor.answers.diagnosis.cause_book import CauseBook, book_of, load_causes
from advisor.answers.diagnosis.cause_rows import compiled_causes
from advisor.answers.diagnosis.odds import _likelier, fit_of
from advisor.answers.diagnosis.sightings import read_seen
from advisor.answers.diagnosis.worlds import World, root_world
from advisor.answers.lint import check_config
from advisor.data import data_files, read_text
from advisor.machine import Machine

HEALTHY = Path("samples/healthy")
DRAWS = 64
_CAUSE = """- name: {name}
  title: Invented
  family: invented
  grade: 2
  likelier: [{likelier}]
  changes: [{change}]
  shows: []
  remedy: None.
  hazards: []
  confirm: caliper
  source: diagnose-practice
  status: common-practice
  examples: [{{sees: [thin]}}]
"""
_BAND = "is: [0.1, 0.2, 0.4], unit: '-'"
_FEED = f"fact: real.feed, {_BAND}"
_CURRENT = (
    "fact: motor.flowing_current, times: [1, 1, 1], of: macro.run_current / motor.run_current"
)
# name of an invented cause: its change
CHANGES = {
    "of-known": f"{{{_FEED}, of: drive.rotation_distance / 11.3 mm}}",
    "plain": f"{{{_FEED}}}",
    "of-unknown": f"{{{_FEED}, of: macro.flow_factor, else: [0.7, 1, 1.3]}}",
    "times-of": f"{{{_CURRENT}}}",
    "times-else": f"{{{_CURRENT}, else: [2, 2, 2]}}",
    "first-doubled": "{fact: drive.rotation_distance, times: [2, 2, 2]}",
}
_HOLDS = "if: drive.rotation_distance > 1 mm"
# name of an invented cause: its rows of 'likelier'
LIKELIER = {
    "rarer": f"{{{_HOLDS}, times: 0.25}}",
    "both": f"{{{_HOLDS}, times: 0.25}}, {{if: motor.run_current > 0.1 A, times: 3}}",
    "some": "{if: flow.melt > 17 mm3/s, times: 5}",
    "never": "{if: drive.rotation_distance < 1 mm, times: 0.25}",
    "unknown": "{if: macro.flow_factor < 97 %, times: 8}",
}


@functools.cache
def _book() -> CauseBook:
    """Return the book with invented causes beside the others."""
    paths = data_files("rules", "causes/*.yaml")
    texts = {path.name: read_text("rules", f"causes/{path.name}") for path in paths}
    plain = "{if: drive.rotation_distance < 1 mm, times: 2}"
    texts["more.yaml"] = "".join(
        [
            _CAUSE.format(name=name, change=change, likelier=plain)
            for name, change in CHANGES.items()
        ]
        + [_CAUSE.format(name=name, change="", likelier=rows) for name, rows in LIKELIER.items()]
    )
    return book_of(compiled_causes(texts))


def _machine(config: Path = HEALTHY / "printer.cfg", **fields: object) -> Machine:
    return check_config(str(config), Asks(draws=DRAWS)).machines["extruder"].with_(fields)


@functools.cache
def _root() -> World:
    return root_world(_machine(), _book())


def _with(name: str, key: str = "same", root: World | None = None) -> World:
    """Return the machine with an invented cause, its severities drawn under one key."""
    cause = next(one for one in _book().causes if one.name == name)
    return (root or _root()).changed(key, cause.changes, cause)


# --- shares of what config and sheet give -----------------------------------------------------


def test_the_ends_of_a_change_are_shares_of_what_the_config_gives() -> None:
    """45.2 mm / 11.3 mm = 4: the same draws, four times as far."""
    found, plain = _with("of-known").samples("real.feed"), _with("plain").samples("real.feed")
    assert found == pytest.approx(4.0 * plain, rel=1e-12)
    assert found[0] == pytest.approx(0.8)
    assert 0.4 <= found.min() < found.max() <= 1.6


def test_where_it_is_not_known_the_other_ends_count_or_nothing_is_changed() -> None:
    """No macro sets flow or current: `else` as it stands, and without it the machine as it is."""
    otherwise = _with("of-unknown").samples("real.feed")
    low, median, high = np.percentile(otherwise, [0, 50, 100])
    assert otherwise[0] == pytest.approx(1.0)
    assert (low, median, high) == pytest.approx((0.7, 1.0, 1.3), abs=0.02)
    as_it_is = _root().samples("motor.flowing_current")
    assert np.array_equal(_with("times-of").samples("motor.flowing_current"), as_it_is)
    doubled = _with("times-else").samples("motor.flowing_current")
    assert doubled == pytest.approx(2.0 * as_it_is)


def test_a_share_is_of_the_machine_without_a_cause() -> None:
    """The other cause doubles the rotation distance; the share is still of 45.2 mm."""
    both = _with("of-known", root=_with("first-doubled", key="other"))
    assert both.set_value("drive.rotation_distance") == pytest.approx(0.0452)
    assert both.samples("real.feed")[0] == pytest.approx(0.8)


def test_a_current_set_by_a_macro_flows() -> None:
    """0.56 A in the config, 0.84 A in the macro: half as much again, within 2 in 100."""
    root = root_world(_machine(**{"macro.run_current": 0.84}), load_causes())
    cause = next(one for one in load_causes().causes if one.name == "changed-by-macro")
    flows = root.changed(cause.name, cause.changes, cause).samples("motor.flowing_current")
    ratio = flows / root.samples("motor.flowing_current")
    assert ratio[0] == pytest.approx(1.5)
    assert 1.47 <= ratio.min() < ratio.max() <= 1.53


@every(
    "gives, fact, due",
    [
        ({"macro.flow_factor": 0.85}, "real.volume", 0.85),
        ({"macro.rotation_distance": 0.0226}, "real.feed", 2.0),  # 45.2 mm / 22.6 mm
        ({"macro.pressure_advance": 0.07}, "motion.pressure_advance", 0.07),
        ({"filament.diameter": 2.85e-3}, "real.volume", (1.75 / 2.85) ** 2),
    ],
)
def test_what_macros_and_sheet_set_is_what_comes(
    gives: dict[str, float], fact: str, due: float
) -> None:
    """Flow factor, length for a turn, section of the filament: by hand, on the nominal machine."""
    name = "changed-by-macro" if "filament.diameter" not in gives else "wrong-filament-diameter"
    root = root_world(_machine(**gives), load_causes())
    cause = next(one for one in load_causes().causes if one.name == name)
    found = root.changed(cause.name, cause.changes, cause).samples(fact)
    assert found[0] == pytest.approx(due, rel=1e-9)


# --- words that follow ------------------------------------------------------------------------


def test_what_follows_from_a_word_is_at_least_its_share() -> None:
    """Lost steps are missing plastic: in each circumstance, for each cause.

    What follows counts once: a jam leaves nothing to come out, which is not thin lines for it.
    """
    book = load_causes()
    pairs = [(word, *one) for word, row in book.words.items() for one in row.follows.items()]
    assert ("thin", "clicks", 0.6) in pairs
    bare = dataclasses.replace(
        book, words={name: dataclasses.replace(one, follows={}) for name, one in book.words.items()}
    )
    machine = _machine()
    for world, alone in zip(worlds_of(machine, book), worlds_of(machine, bare), strict=True):
        for word, other, share in pairs:
            assert np.all(world.chances(word) >= share * alone.chances(other) - 1e-12)


def test_a_word_that_nothing_else_shows_has_just_that_share() -> None:
    """Retracts that ask too much: clicks in 0.6, 0.85 where torque fails; thin in 0.6 of it."""
    book = load_causes()
    world = next(w for w in worlds_of(_machine(), book) if w.causes and
                 w.causes[0].name == "retract-too-hard")  # fmt: skip
    row = tuple(book.whens).index("retracts")
    weak = world.samples("motion.retract_force") < world.samples("motion.retract_load")
    assert 0 < weak.sum() < DRAWS / 2
    assert world.chances("clicks")[row] == pytest.approx(np.where(weak, 0.85, 0.6))
    assert world.chances("thin")[row] == pytest.approx(np.where(weak, 0.51, 0.36))


# --- commoner and rarer -----------------------------------------------------------------------


@every(
    "name, due", [("rarer", 0.25), ("both", 0.75), ("never", 1.0), ("unknown", 1.0), ("some", None)]
)
def test_rows_make_a_cause_commoner_and_rarer(name: str, due: float | None) -> None:
    """Each row counts by the share of machines it holds for; together they are multiplied."""
    fit = fit_of([_with(name)], ())
    if due is None:
        held = _root().samples("flow.melt") > 17e-9
        assert 0.1 < held.mean() < 0.9
        due = 1.0 + (5.0 - 1.0) * float(held.mean())
    assert _likelier(fit) == pytest.approx(due, rel=1e-12)


def _odds(machine: Machine, sees: str, cause: str) -> float:
    found = diagnosed(machine, read_seen(SeenTexts(sees=(sees,)), load_causes()), load_causes())
    return next(one.odds for one in found.causes if one.name == cause)


SHOWN = [
    ("thin@always", "changed-by-macro", {"macro.flow_factor": 0.85}),
    ("clicks@retracts", "retract-too-hard", {"profile.retract_force": 1.0}),
    ("refused@purge", "limit-refuses", {"hotend.min_extrude_temperature": 523.15}),
    ("folds@long-lines", "filament-soft", {"material.modulus": 6e7}),
]


@wide
@only_wide
@every("sees, cause, gives", SHOWN)
def test_what_the_config_shows_raises_the_odds(
    sees: str, cause: str, gives: dict[str, float]
) -> None:
    """A macro, a weak motor, a high limit, a soft filament: each as a tuner would weigh it."""
    assert _odds(_machine(**gives), sees, cause) > _odds(_machine(), sees, cause) + 0.02
