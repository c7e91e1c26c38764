"""How likely each thing that was seen or measured is, machine by machine.

A word that tells the same event as another, in the same circumstance, counts once with it. What is
not said is no evidence.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from advisor.answers.diagnosis.cause_book import CauseBook
from advisor.answers.diagnosis.sightings import Complaint, Fed, Sighting
from advisor.answers.diagnosis.trial_chances import outcome_chances
from advisor.answers.diagnosis.worlds import World
from advisor.base import frozen, parse_unit

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

Numbers = Mapping[str, float]

__all__ = ["Evidence", "evidence_of", "said_of"]

_ALWAYS = "always"
_OFTEN_SAID = 0.7  # where it is always seen, people name one circumstance so much more seldom
_SPREAD = math.sqrt(2.0 * math.pi)


@frozen(eq=False)
class Evidence:
    """One thing that was seen or measured.

    ``words``: it is a complaint by itself; ``likelihood`` gives that of each machine of a world.
    """

    label: str
    words: bool
    likelihood: Callable[[World], Array]


def evidence_of(seen: Complaint, book: CauseBook) -> tuple[Evidence, ...]:
    """Return what was seen and measured, in the order in which it is told."""
    groups: dict[tuple[str, str | None, bool], list[Sighting]] = {}
    for one in seen.sightings:
        event = book.words[one.word].event
        groups.setdefault((event, one.when, one.seen), []).append(one)
    made = [_words(tuple(group), book) for group in groups.values()]
    made += [_of_fed(fed, book) for fed in seen.fed]
    made += _readings(seen, book)
    for done in seen.did:
        test = book.tests[done.test]

        def of_test(world: World, name: str = done.test, word: str = done.word) -> Array:
            return outcome_chances(world, book.tests[name], seen)[word]

        made.append(Evidence(f"{test.title}: {done.word}", False, of_test))
    return tuple(made)


# --- words ----------------------------------------------------------------------------------


def said_of(sighting: Sighting, book: CauseBook) -> str:
    """Return a sighting in words."""
    word = book.words[sighting.word].title
    when = "" if sighting.when is None else f" {book.whens[sighting.when].title}"
    return f"{word}{when}" if sighting.seen else f"not: {word}{when}"


def _words(group: Sequence[Sighting], book: CauseBook) -> Evidence:
    def likelihood(world: World) -> Array:
        logs = np.zeros(world.size)
        for one in group:
            chance = _placed(world, one)
            logs += np.log(chance if one.seen else 1.0 - chance)
        return np.asarray(np.exp(logs / len(group)))

    label = "; ".join(said_of(one, book) for one in group)
    return Evidence(label, group[0].seen, likelihood)


def _chance(world: World, sighting: Sighting) -> Array:
    """Return the chance that a word is said: of the circumstances one is named, if it varies.

    A circumstance may be misplaced: then the word alone counts.
    """
    rows = world.chances(sighting.word)
    if sighting.when is None:
        return np.asarray(rows.max(axis=0))
    whens = tuple(world.book.whens)
    row = whens.index(sighting.when)
    if not sighting.seen or sighting.when == _ALWAYS:
        return np.asarray(rows[row])
    always = whens.index(_ALWAYS)
    rest = np.maximum(rows - _OFTEN_SAID * rows[always], 0.0)
    rest[always] = 0.0
    total = np.maximum(rest.sum(axis=0), 1e-9)
    return np.asarray(rest.max(axis=0) * rest[row] / total)


def _placed(world: World, sighting: Sighting) -> Array:
    """Return the chance that a word is said of a circumstance, which may be the wrong one."""
    numbers = world.book.numbers
    chance, least = _chance(world, sighting), numbers["floor"] * world.complaint()
    if not sighting.seen or sighting.when is None:
        return np.asarray(np.clip(chance, least, 1.0 - numbers["floor"]))
    anywhere = np.maximum(world.chances(sighting.word).max(axis=0), least)
    share = numbers["misplaced"]
    return np.asarray((1.0 - share) * chance + share * anywhere)


# --- readings -------------------------------------------------------------------------------


def _normal(off: Array, error: float, span: float, wrong: float) -> Array:
    """Return the likelihood of a reading that is off by so much, 1 where it is not.

    A share of readings is simply wrong, and may be anything within a span.
    """
    z = off / error
    return np.asarray((1.0 - wrong) * np.exp(-0.5 * z * z) + wrong * error * _SPREAD / span)


def _above(z: Array, wrong: float) -> Array:
    """Return the chance that a standard normal is below z, what is one-sided, or wrong."""
    made = np.array([0.5 * math.erfc(-x / math.sqrt(2.0)) for x in np.ravel(z)])
    return (1.0 - wrong) * made + 0.5 * wrong


def _flat(world: World) -> Array:
    return np.full(world.size, 0.5)


def _of_fed(fed: Fed, book: CauseBook) -> Evidence:
    name = "real.fed_nozzle" if fed.where == "nozzle" else "real.fed_free"
    error = book.numbers["ruler_error"] / fed.asked
    came, wrong = fed.came / fed.asked, book.numbers["misread"]

    def likelihood(world: World) -> Array:
        share = world.samples(name)
        return _flat(world) if share is None else _normal(came - share, error, 2.0, wrong)

    where = {"free": " in free air", "nozzle": " through the nozzle", None: ""}[fed.where]
    label = f"{fed.asked * 1e3:.4g} mm fed{where}, {fed.came * 1e3:.4g} mm came"
    return Evidence(label, False, likelihood)


def _readings(seen: Complaint, book: CauseBook) -> list[Evidence]:
    numbers, made = book.numbers, []
    if seen.clicks_at is not None:
        made.append(_clicks_at(seen.clicks_at, numbers))
    if seen.holds is not None:
        made.append(_holds(seen.holds, numbers))
    if seen.case is not None:
        made.append(_case(seen.case, seen.after, book))
    if seen.nozzle_falls_to is not None:
        made.append(_falls(seen.nozzle_falls_to, numbers))
    if seen.pull is not None:
        made.append(_pull(seen.pull, numbers))
    return made


def _shown_flow(flow: float) -> str:
    return f"{flow * 1e9:.3g} mm3/s"


def _real_flow(world: World, flow: float) -> Array:
    feed = world.samples("real.feed")
    return np.full(world.size, flow) if feed is None else flow * feed


def _clicks_at(flow: float, numbers: Numbers) -> Evidence:
    late, error, wrong = (numbers[one] for one in ("heard_late", "heard_error", "misread"))

    def likelihood(world: World) -> Array:
        skip = world.samples("flow.skip")
        if skip is None:
            return _flat(world)
        off = np.log(_real_flow(world, flow) / (late * np.maximum(skip, 1e-12)))
        return _normal(off, error, 3.0, wrong)

    return Evidence(f"clicks from {_shown_flow(flow)}", True, likelihood)


def _holds(flow: float, numbers: Numbers) -> Evidence:
    error, wrong = numbers["holds_error"], numbers["misread"]

    def likelihood(world: World) -> Array:
        weakest = world.samples("ask.weakest")
        if weakest is None:
            return _flat(world)
        return _above(np.log(np.maximum(weakest, 1e-12) / _real_flow(world, flow)) / error,
                      wrong)  # fmt: skip

    return Evidence(f"holds {_shown_flow(flow)}", False, likelihood)


def case_after(world: World, after: float | None) -> Array | None:
    """Return the case's temperature after a time from cold, in the long run without one, [K]."""
    long_run, ambient = world.samples("motor.case_temperature"), world.samples("ambient.motor")
    if long_run is None or ambient is None or after is None:
        return long_run
    tau = world.samples("motor.time_constant")
    if tau is None:
        return long_run
    return np.asarray(ambient + (long_run - ambient) * (1.0 - np.exp(-after / tau)))


def _case(case: float, after: float | None, book: CauseBook) -> Evidence:
    numbers = book.numbers
    error = numbers["case_error"] if after is not None else numbers["case_doubt"]

    def likelihood(world: World) -> Array:
        expected = case_after(world, after)
        if expected is None:
            return _flat(world)
        return _normal(case - (expected - numbers["case_low"]), error, 100.0, numbers["misread"])

    when = "" if after is None else f" after {after / 60.0:.3g} min"
    return Evidence(f"motor case {_degrees(case)}{when}", False, likelihood)


def _degrees(kelvin: float) -> str:
    return f"{float(parse_unit('degC').from_si(kelvin)):.3g} degC"


def _falls(shown: float, numbers: Numbers) -> Evidence:
    error, wrong = numbers["falls_error"], numbers["misread"]

    def likelihood(world: World) -> Array:
        drop, asked = world.samples("real.nozzle_drop"), _set_temperature(world)
        if drop is None or asked is None:
            return _flat(world)
        return _normal(shown - (asked - drop - _starved(world)), error, 80.0, wrong)

    return Evidence(f"nozzle falls to {_degrees(shown)}", True, likelihood)


def _set_temperature(world: World) -> Array | None:
    """Return the shown temperature: what is set, whatever the nozzle really has."""
    fact = world.set_value("hotend.temperature")
    return None if fact is None else np.full(world.size, fact)


def _starved(world: World) -> Array:
    """Return how far the nozzle falls where the heater has too little power, [K]: 30 K a third."""
    flow, most = world.samples("ask.print"), world.samples("flow.heater")
    if flow is None or most is None:
        return np.zeros(world.size)
    return np.asarray(np.clip(90.0 * (1.0 - most / np.maximum(flow, 1e-12)), 0.0, 80.0))


def _pull(force: float, numbers: Numbers) -> Evidence:
    error, wrong = numbers["pull_error"], numbers["misread"]

    def likelihood(world: World) -> Array:
        expected = world.samples("real.pull")
        if expected is None:
            return _flat(world)
        return _normal(np.log(force / np.maximum(expected, 1e-6)), error, 3.0, wrong)

    return Evidence(f"gives way at a pull of {force:.3g} N", False, likelihood)
