"""What the owner of a drawn machine sees, says and measures, with misses and false words.

The rates of noticing and of mixing up are the bench's own (judgement, no source).
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np

from tests.studies.diagnose_machine import FILAMENT_AREA, PLASTICS, Machine
from tests.studies.diagnose_physics import (
    SLOW,
    Event,
    at,
    case_temperature,
    doings,
    events,
    gear_grip,
    motor_push,
    nozzle_under_load,
    push_needed,
)

NOTICED = 0.85
WHEN_TOLD = 0.65
WHEN_WRONG = 0.07
FALSE_WORD = 0.05
MIXED_UP = {"clicks": ("slips", 0.12), "slips": ("clicks", 0.2), "thin": ("uneven", 0.1), "folds": ("stuck", 0.15),
            "nothing-comes": ("thin", 0.15), "hums": ("clicks", 0.25), "stuck": ("nothing-comes", 0.15)}  # fmt: skip
LOUD = {"clicks": 1.0, "nothing-comes": 1.0, "refused": 1.0, "stopped": 1.0, "folds": 1.0, "stuck": 0.95, "nozzle-cools": 0.9, "mount-soft": 0.9,
        "hums": 0.9, "motor-hot": 0.8, "slips": 0.85, "thin": 0.75, "too-much": 0.8, "uneven": 0.7}  # fmt: skip
FALSE = ("uneven", "thin", "motor-hot", "clicks")
PREFERRED = (
    "always",
    "first-layer",
    "retracts",
    "line-starts",
    "purge",
    "with-fan",
    "one-roll",
    "after-a-while",
    "above-a-flow",
    "long-lines",
)
NO_WHEN = {"hums", "mount-soft", "refused", "stopped", "motor-hot"}  # often told without a time


Fact = str | float | tuple[str, ...]


@dataclass(frozen=True)
class Told:
    """What is said of a machine: words, first the one that is complained of, and measured facts."""

    sees: tuple[str, ...]
    sees_not: tuple[str, ...] = ()
    facts: dict[str, Fact] = field(default_factory=dict)

    @property
    def main(self) -> tuple[str, str]:
        """The first word and its time, or ''."""
        word, _, when = self.sees[0].partition("@")
        return word, when

    def and_(self, name: str, value: Fact) -> Told:
        """The same with one fact more; a length that was fed stands beside one that was fed before."""
        if name == "fed" and "fed" in self.facts:
            before = self.facts["fed"]
            value = (*(before if isinstance(before, tuple) else (str(before),)), str(value))
        return replace(self, facts={**self.facts, name: value})


def complains(shown: dict[Event, float], rng: np.random.Generator) -> bool:
    """Whether anybody would ask for help."""
    return max(
        (strength * LOUD[word] for (word, _), strength in shown.items()), default=0.0
    ) > rng.uniform(0.3, 0.9)


def tell(machine: Machine, rng: np.random.Generator) -> Told | None:
    """Return what its owner says, or nothing where nobody would complain."""
    shown = events(machine)
    if not complains(shown, rng):
        return None
    words: dict[str, float] = {}
    for (word, _), strength in shown.items():
        words[word] = max(words.get(word, 0.0), strength * LOUD[word])
    told = [
        (word, strength)
        for word, strength in words.items()
        if strength > 0.4 and rng.random() < NOTICED * strength
    ]
    if not told:
        told = [max(words.items(), key=lambda item: item[1])]
    told.sort(key=lambda item: -item[1] * rng.uniform(0.8, 1.0))
    sees = [_say(word, shown, rng) for word, _ in told[:3]]
    if rng.random() < FALSE_WORD:
        sees.append(str(rng.choice(FALSE)))
    sees = list(dict.fromkeys(sees))
    return Told(tuple(sees), _not_seen(sees, shown, rng), _facts(machine, sees, rng))


def _say(word: str, shown: dict[Event, float], rng: np.random.Generator) -> str:
    whens = [when for when in PREFERRED if shown.get((word, when), 0.0) > 0.4]
    if word in MIXED_UP and rng.random() < MIXED_UP[word][1]:
        word = MIXED_UP[word][0]
    share = WHEN_TOLD * (0.5 if word in NO_WHEN else 1.0)
    if not whens or rng.random() > share:
        return word
    when = whens[0] if rng.random() < 0.75 else str(rng.choice(whens))
    if rng.random() < WHEN_WRONG:
        when = str(rng.choice(PREFERRED))
    return f"{word}@{when}"


def _not_seen(
    sees: list[str], shown: dict[Event, float], rng: np.random.Generator
) -> tuple[str, ...]:
    main = sees[0].partition("@")[0]
    absent = [
        (main, when)
        for when in ("first-layer", "retracts", "long-lines")
        if not sees[0].endswith(when)
    ]
    found = [
        f"{word}@{when}"
        for word, when in absent
        if rng.random() < 0.12
        and shown.get((word, when), 0.0) + shown.get((word, "always"), 0.0) < 0.15
    ]
    if (
        "motor-hot" not in sees
        and rng.random() < 0.15
        and shown.get(("motor-hot", "after-a-while"), 0.0) < 0.2
    ):
        found.append("motor-hot")
    return tuple(one for one in found if one not in sees)


def _facts(machine: Machine, sees: list[str], rng: np.random.Generator) -> dict[str, Fact]:
    words = {one.partition("@")[0] for one in sees}
    facts: dict[str, Fact] = {}
    if words & {"thin", "too-much"} and rng.random() < 0.25:
        facts["fed"] = fed(machine, rng, nozzle=bool(rng.random() < 0.4))
    if "motor-hot" in words and rng.random() < 0.3 and _warm(machine) < 150:
        facts.update(
            case=round(_warm(machine) + rng.normal(-2, 3), 0), after=float(rng.choice((30, 45, 60)))
        )
    if "nozzle-cools" in words and rng.random() < 0.6:
        sunk = max(nozzle_under_load(machine.built, machine.flow, fan=True), 4.0 * rng.random())
        if sunk > 3:
            facts["nozzle_falls_to"] = round(
                max(machine.stated["temperature"] - min(sunk, 60.0), 150.0)
            )
    if words & {"clicks", "slips"} and rng.random() < 0.15:
        onset = begins(machine)
        if onset is not None:
            facts["clicks_at"] = round(onset * rng.uniform(1.03, 1.2), 1)
    return facts


def _warm(machine: Machine) -> float:
    return case_temperature(machine.built)


def begins(machine: Machine) -> float | None:
    """The flow at which it begins to click or slip, mm3/s; nothing where it does not up to 3 times what is asked."""
    for flow in np.geomspace(0.1 * machine.flow, 3.0 * machine.flow, 60):
        built = machine.built
        push = push_needed(built, float(flow), built.temperature)
        if push > min(motor_push(built, float(flow) / FILAMENT_AREA), gear_grip(built, hot=False)):
            return float(flow)
    return None


def fed(machine: Machine, rng: np.random.Generator, *, nozzle: bool) -> str:
    """Feed 100 mm slowly in free air, or through the nozzle, by a ruler."""
    built = machine.built
    came = 100.0 * built.feed
    if nozzle:
        flow = 0.5 * machine.flow
        need = push_needed(built, flow, built.temperature)
        grip = min(gear_grip(built, hot=False), motor_push(built, flow / FILAMENT_AREA))
        came *= (1.0 - 0.05 * min(need / grip, 1.2) ** 2) * (0.6 if need > grip else 1.0)
    elif built.motor_factor < 0.06:
        came *= rng.uniform(0.1, 0.8)
    came = max(1.0, round(came + rng.normal(0, 0.7)))
    return f"100mm={came:.0f}mm@{'nozzle' if nozzle else 'free'}"


def strength(machine: Machine, main: tuple[str, str]) -> float:
    """How strongly the complaint shows; where no time was told, at its strongest."""
    shown = events(machine)
    word, when = main
    if when and (word, when) in shown:
        return shown[word, when]
    return max(
        (s for (w, _), s in shown.items() if w == word), default=max(shown.values(), default=0.0)
    )


def answer(before: float, after: float, rng: np.random.Generator) -> str:
    """What is reported of a try: gone, better, same, worse or unsure, with slips."""
    if rng.random() < 0.08:
        return "unsure"
    share = after / max(before, 0.05)
    said = (
        "gone" if share < 0.25 else "better" if share < 0.7 else "worse" if share > 1.35 else "same"
    )
    if rng.random() < 0.06:
        near = {"gone": "better", "better": "same", "same": "better", "worse": "same"}
        said = near[said]
    return said


__all__ = [
    "PLASTICS",
    "SLOW",
    "Told",
    "answer",
    "at",
    "begins",
    "case_temperature",
    "complains",
    "doings",
    "fed",
    "strength",
    "tell",
]
