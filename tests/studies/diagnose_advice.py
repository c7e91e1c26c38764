"""Reads what `diagnose` advises, and tells what of it would do harm on the true machine.

The judge knows the truth: the current that flows, the nozzle as it is, what is built in. Texts are read by
plain patterns; a sentence that forbids a thing does not advise it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from tests.studies.diagnose_machine import PLASTICS, SOFT_MOUNT, Machine

LEAST = 0.02  # what stands below is no advice
LINING = 250.0  # degC, a tube lining that reaches the nozzle; common practice, no source
ABOVE_RANGE = 12.0  # K above the usual range of a filament, where it smokes; judgement
BELOW_RANGE = 12.0
WARM_MOTOR = 100.0  # degC of the case, what is let stand at most; common practice, no source
WARNS_OF_HEAT = ("nozzle-cools", "stopped")

_NOT = re.compile(
    r"\b(not|never|no|nor|without|don't|instead of|rather than|before you|only after)\b",
    re.IGNORECASE,
)
_MORE_CURRENT = re.compile(
    r"\b(rais(?:e|ing)|increas(?:e|ing)|more|higher|turn(?:ing)? up|step(?:ping)? up|add)\b[^.;]{0,45}\b(current|run_current|ampere)|"
    r"\bcurrent\b[^.;,]{0,15}\b(up|upwards)\b", re.IGNORECASE)  # fmt: skip
_HOTTER = re.compile(
    r"\b(hotter|warmer)\b|\b(rais(?:e|ing)|increas(?:e|ing)|higher)\b[^.;]{0,40}\btemperature\b",
    re.IGNORECASE,
)
_COOLER = re.compile(
    r"\b(lower|reduce|cooler)\b[^.;]{0,30}\b(nozzle|temperature)\b|\bprint cooler\b|\bK (cooler|colder)\b",
    re.IGNORECASE,
)
_TIGHTER = re.compile(
    r"\btighten\w*\b[^.;]{0,30}\b(idler|lever|spring)|\bmore tension\b|\bidler's screw in\b|\bidler (?:firmer|tighter)\b",
    re.IGNORECASE,
)
_OFF = re.compile(
    r"\b(switch|turn|take|set)\w*\b[^.;]{0,40}\b(cold[- ]extru\w+|min_extrude_temp|heater (?:protection|check|watch)|protection|verify_heater)\b[^.;]{0,25}\b(off|to 0|away|out|-\d+)\b|"
    r"\b(switch|turn)\w* off\b[^.;]{0,30}\b(cold[- ]extru\w+|protection|verify_heater|min_extrude_temp)\b|\bdisabl\w+\b[^.;]{0,40}\b(protection|cold|verify_heater|check)|"
    r"\blower\b[^.;]{0,15}\bmin_extrude_temp\b", re.IGNORECASE)  # fmt: skip
_WIDEN = re.compile(
    r"\b(raise|widen|increase|larger)\b[^.;]{0,40}\b(limit|max_extrude_\w+|cross[- ]section)\b",
    re.IGNORECASE,
)
_EXPLAINED = re.compile(r"\b(look|see|check|read|find|explain\w*|why|first|which)\b", re.IGNORECASE)
_AMPERE = re.compile(r"(\d+(?:\.\d+)?)\s*A\b")
_CELSIUS = re.compile(r"(\d{3})\s*(?:°\s*C|degC|C)\b")
_KELVIN = re.compile(r"(\d+)\s*(?:K|degrees|°C)\s*(?:hotter|warmer)")


@dataclass(frozen=True)
class Reading:
    """What the command says, likeliest first; a cause is its name, its odds and its remedy."""

    causes: tuple[tuple[str, float, str], ...]
    test: str = ""  # name of the next one, or ''
    test_text: str = ""
    settled: bool = False
    first_of_all: str = ""
    unexplained: float = 0.0
    outcomes: tuple[str, ...] = ()  # words that the next test takes

    def odds(self, names: Sequence[str]) -> float:
        """What is given to these together."""
        return sum(odds for name, odds, _ in self.causes if name in names)

    def advice(self) -> Iterator[tuple[str, str]]:
        """What is proposed: the test, and the remedy of each cause above 2 in 100."""
        if self.test_text:
            yield f"test {self.test}", self.test_text
        for name, odds, remedy in self.causes:
            if odds > LEAST:
                yield f"remedy of {name}", remedy


@dataclass(frozen=True)
class Truth:
    """What is so, whatever is written down."""

    names: tuple[str, ...]  # what the command calls the cause
    current_share: float | None  # true over stated; None where no current is stated
    safe: float  # true RMS A
    nozzle: float  # true, degC
    said_nozzle: float
    high: float
    low: float


def truth_of(machine: Machine, names: Sequence[str]) -> Truth:
    """Return the truth of a drawn machine."""
    built, matter = machine.built, PLASTICS[machine.built.plastic]
    share = built.current / machine.stated["current"] if machine.section == "extruder" else None
    around = max(built.ambient, built.chamber)
    bears = min(WARM_MOTOR, SOFT_MOUNT[built.mount])
    ohm = 2.0 * built.motor.ohm * 1.15 * built.to_air * (1.45 if built.mount != "metal" else 1.0)
    safe = min(built.motor.rated / math.sqrt(2.0), math.sqrt(max(0.0, bears - around) / ohm))
    high = min(matter.high + ABOVE_RANGE, LINING if built.bowden else 1e3)
    return Truth(
        tuple(names),
        share,
        safe,
        built.temperature,
        machine.stated["temperature"],
        high,
        matter.low - BELOW_RANGE,
    )


def advises(pattern: re.Pattern[str], text: str) -> list[str]:
    """Return the sentences that advise what the pattern says; those that forbid it are left out."""
    found = []
    for sentence in re.split(r"(?<=[.;!?])\s+|\n", text):
        for match in pattern.finditer(sentence):
            before = sentence[max(0, match.start() - 40) : match.start()]
            if not _NOT.search(before) and not _NOT.search(match.group(0)):
                found.append(sentence)
                break
    return found


def more_current(text: str) -> list[str]:
    """Sentences that raise the current."""
    return advises(_MORE_CURRENT, text)


def hotter(text: str) -> list[str]:
    """Sentences that raise the nozzle."""
    return advises(_HOTTER, text)


def cooler(text: str) -> list[str]:
    """Sentences that lower the nozzle."""
    return advises(_COOLER, text)


def tighter(text: str) -> list[str]:
    """Sentences that tighten the idler."""
    return advises(_TIGHTER, text)


def forbidden(reading: Reading) -> list[str]:
    """What is never advised, on any machine, whatever its odds."""
    texts = [
        (f"test {reading.test}", reading.test_text),
        *((f"remedy of {name}", text) for name, _, text in reading.causes),
    ]
    found = [
        f"{where} takes a protection away: {one}"
        for where, text in texts
        for one in advises(_OFF, text)
    ]
    for where, text in texts:
        widened = advises(_WIDEN, text)
        if widened and not _EXPLAINED.search(text[: text.find(widened[0]) + len(widened[0])]):
            found.append(f"{where} widens a limit before the move is explained: {widened[0]}")
    return found


def by_words(reading: Reading, sees: Sequence[str], unsure_of: Sequence[str]) -> list[str]:
    """What the words forbid: no more current where it is hot or not known; heater off first and alone."""
    words = {one.partition("@")[0] for one in sees}
    found = []
    doubtful = [name for name in unsure_of if reading.odds([name]) > LEAST]
    reasons = [
        *(["the motor is hot"] if words & {"motor-hot", "mount-soft"} else []),
        *(f"{name} stands above 2 in 100" for name in doubtful),
    ]
    if reasons:
        found += [
            f"{where} raises the current, though {reasons[0]}: {one}"
            for where, text in reading.advice()
            for one in more_current(text)
        ]
    if words & set(WARNS_OF_HEAT):
        if not re.search(
            r"heater off|switch(?:ed)? (?:the )?heaters? off|turn (?:the )?heaters? off",
            reading.first_of_all,
            re.IGNORECASE,
        ):
            found.append("'heater off' is not said first of all")
        if reading.test:
            found.append(f"test {reading.test} is proposed beside 'heater off'")
    return found


def by_truth(reading: Reading, truth: Truth) -> list[str]:
    """What would harm the true machine, where its cause is given above 2 in 100."""
    if reading.odds(truth.names) <= LEAST:
        return []
    found = []
    for where, text in reading.advice():
        for one in more_current(text):
            found += _over_current(where, one, text, truth)
        for one in hotter(text):
            found += _over_heat(where, one, truth)
        for one in cooler(text):
            found += _under_heat(where, one, truth)
    return found


def _over_current(where: str, one: str, text: str, truth: Truth) -> list[str]:
    if truth.current_share is None:
        return [f"{where} raises a current that is not known: {one}"]
    named = [float(figure) for figure in _AMPERE.findall(one)] or [
        float(figure) for figure in _AMPERE.findall(text)
    ]
    if not named:
        return (
            [
                f"{where} raises the current without a bound, {truth.current_share:.2f} of it flows: {one}"
            ]
            if truth.current_share > 1.25
            else []
        )
    true = max(named) * truth.current_share
    return (
        [f"{where} leaves {true:.2f} A where {truth.safe:.2f} A are safe: {one}"]
        if true > truth.safe * 1.02
        else []
    )


def _over_heat(where: str, one: str, truth: Truth) -> list[str]:
    off = truth.nozzle - truth.said_nozzle
    named = [float(figure) for figure in _CELSIUS.findall(one) if float(figure) >= 150]
    kelvin = [float(figure) for figure in _KELVIN.findall(one)]
    then = (
        min(max(named), truth.said_nozzle + max(kelvin))
        if named and kelvin
        else max(named)
        if named
        else truth.said_nozzle + max(kelvin, default=5.0)
    )
    true = max(then, truth.said_nozzle) + off
    return (
        [f"{where} leaves the nozzle at {true:.0f} C where {truth.high:.0f} C is the most: {one}"]
        if true > truth.high
        else []
    )


def _under_heat(where: str, one: str, truth: Truth) -> list[str]:
    named = [float(figure) for figure in _CELSIUS.findall(one) if float(figure) >= 150]
    true = min([*named, truth.said_nozzle]) + truth.nozzle - truth.said_nozzle
    return (
        [f"{where} leaves the nozzle at {true:.0f} C where {truth.low:.0f} C is the least: {one}"]
        if named and true < truth.low
        else []
    )


def harms(
    reading: Reading, sees: Sequence[str], truth: Truth, unsure_of: Sequence[str]
) -> list[str]:
    """Return everything that is advised and would do harm."""
    return list(
        dict.fromkeys(
            [*forbidden(reading), *by_words(reading, sees, unsure_of), *by_truth(reading, truth)]
        )
    )
