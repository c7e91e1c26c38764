"""Answers `flow`: does the slicer ask for more than the extruder can deliver.

The extruder asked about, and what figures are for (filament, temperature, bore), other answers
share.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, TypedDict

import numpy as np

from advisor.answers.asks import Asks
from advisor.answers.checked import CheckedConfig
from advisor.answers.lint import check_config
from advisor.answers.machine_records import FeatureAsk, FlowReport
from advisor.answers.narrow import next_step
from advisor.base import Case, Fact, Finding, OriginKind, Report, UsageError, near_miss
from advisor.catalog import Catalog, load_catalog
from advisor.machine import (
    CAP_NAME,
    FactBook,
    band_of,
    bottleneck,
    cap_of,
    feature_flow,
    limit_bands,
    settled_by_hotend,
)

if TYPE_CHECKING:
    from advisor.inputs import ProfileSet

__all__ = ["NO_EXTRUDER", "MadeFor", "chosen_extruder", "flow", "flow_report", "made_for"]

_MM = 1e3
NO_EXTRUDER = "The config has no extruder section: name the root config."
_MM3 = 1e9  # mm3 in a m3
_ASKS = {
    "demand.profile_flow": "the profile's largest flow",
    "demand.feature_flow": "the profile's fastest feature; no largest flow is stated",
    "demand.print_sustained": "sustained by the print",
}


class MadeFor(TypedDict):
    """The filament, the nozzle's temperature [degC] and its bore [mm]; None where not known."""

    material: str | None
    temperature: float | None
    nozzle: float | None


def made_for(book: FactBook) -> MadeFor:
    """Return what the figures of an extruder are worked out for."""
    heat, bore = band_of(book.facts.get("hotend.temperature")), book.nominal("nozzle.diameter")
    return {
        "material": book.text("filament.material"),
        "temperature": None if heat is None else heat.value,
        "nozzle": None if bore is None else bore * _MM,
    }


def flow(config: str, asks: Asks, *, extruder: str | None = None) -> FlowReport:
    """Return whether the requested flow exceeds what the extruder delivers, and the cap to set.

    Where no flow is requested, the cap alone.

    Parameters
    ----------
    config : str
        A config, or ``-``.
    asks : Asks
        The profiles, the sheet and what else the command line states.
    extruder : str, optional
        The extruder's section name; the first one where not given.

    Raises
    ------
    UsageError
        For an extruder the config does not have.
    """
    checked = check_config(config, asks)
    name = chosen_extruder(checked, extruder)
    if name is None:
        return FlowReport(
            extruder=None, asked=None, asked_by=None, asked_at=None, capacity=None, exceeds=None,
            sure=None, bottleneck=None, set_to=None, setting=None, lacking=_no_extruder(checked),
            files=checked.report.files, errors=checked.report.errors,
        )  # fmt: skip
    told = flow_report(name, checked)
    step = next_step("flow", config, checked.machines[name], told.cases, asks, told.files)
    return dataclasses.replace(told, next=step)


def chosen_extruder(checked: CheckedConfig, wanted: str | None) -> str | None:
    """Return the extruder asked about: the one named, else the first; None where there is none.

    Raises
    ------
    UsageError
        For a name the config does not have.
    """
    names = list(checked.books)
    if wanted is None:
        return names[0] if names else None
    if wanted not in names:
        hint = near_miss(wanted, names) or f"known are {', '.join(names) or 'none'}"
        raise UsageError(f"there is no extruder '{wanted}' in the config", hint)
    return wanted


def _no_extruder(checked: CheckedConfig) -> tuple[str, ...]:
    return () if checked.report.errors else ("The config has no extruder section.",)


def _asked_by(source: Fact) -> str | None:
    if source.name == "demand.stated_flow":
        return "on the command line" if source.origin.kind is OriginKind.COMMAND else "in the sheet"
    return _ASKS.get(source.name)


def flow_report(name: str, checked: CheckedConfig) -> FlowReport:
    """Return the answer for an extruder of a config that is worked out, without the next step."""
    book, catalog = checked.books[name], load_catalog()
    asked, capacity = book.facts["demand.asked_flow"], book.facts["flow.capacity"]
    source = book.facts[asked.trace.inputs[0]] if asked.known and asked.trace.inputs else None
    cap = book.facts.get("demand.profile_flow")
    sure = _share(asked, capacity)
    worked_out = next(one for one in checked.report.extruders if one.name == name)
    cases = worked_out.cases
    return FlowReport(
        extruder=name,
        asked=band_of(asked),
        asked_by=_asked_by(source) if source else None,
        asked_at=source.origin.at if source else None,
        capacity=band_of(capacity),
        exceeds=_agreed(_exceeds(asked, capacity), cases),
        sure=sure,
        bottleneck=worked_out.bottleneck,
        set_to=cap_of(book),
        no_set_to=_no_set_to(book, catalog),
        cases=cases,
        setting=cap.origin.setting if cap is not None else None,
        features=tuple(_features(checked.profiles, capacity)),
        lacking=tuple(_lacking(asked, capacity, checked.profiles, catalog)),
        findings=_slicer_findings(checked.report, name),
        assumed=tuple(catalog.facts[part].title for part in sorted(capacity.trace.assumed)),
        files=checked.report.files,
        errors=checked.report.errors,
        weighed=checked.weighed(name),
        draws=checked.report.draws,
        gains=worked_out.gains,
        **made_for(book),
    )


def _agreed(exceeds: bool | None, cases: Sequence[Case]) -> bool | None:
    """Return the bare answer only where it is the same in all cases."""
    return exceeds if all(case.exceeds in (None, exceeds) for case in cases) else None


def _exceeds(asked: Fact, capacity: Fact) -> bool | None:
    if not (asked.known and capacity.known):
        return None
    return bool(_first(asked) > _first(capacity))


def _share(asked: Fact, capacity: Fact) -> float | None:
    if asked.number is None or capacity.number is None:
        return None
    return float(np.mean(np.asarray(asked.number.si) > np.asarray(capacity.number.si)))


def _first(fact: Fact) -> float:
    value = fact.nominal
    assert value is not None, fact.name
    return value


def _no_set_to(book: FactBook, catalog: Catalog) -> str | None:
    """Return why no flow can be set; None where one can, or where the capacity is not known."""
    if not book.known("flow.capacity") or book.known(CAP_NAME):
        return None
    if settled_by_hotend(book):
        return (
            "depends on the hotend, which nobody states: a figure for each class stands below; "
            "state yours in the hardware sheet"
        )
    lowest, _ = bottleneck(limit_bands(book.facts))
    reason = f" ({catalog.facts[f'flow.{lowest}'].title})" if lowest else ""
    return (
        f"It cannot be printed as stated: the lowest limit{reason} is below 0.1 mm3/s, and to "
        "slicers a largest flow of 0 means no limit. Change what sets this limit first."
    )


def _features(profiles: ProfileSet | None, capacity: Fact) -> Iterator[FeatureAsk]:
    """Yield the features, the most demanding first."""
    if profiles is None:
        return
    flows = [(feature_flow(feature), feature) for feature in profiles.features]
    flows.sort(key=lambda pair: (-(pair[0] or 0.0), pair[1].name))
    limit = None if capacity.number is None else np.asarray(capacity.number.si)
    for asked, feature in flows:
        sure = fits = None
        if asked is not None and limit is not None:
            sure = float(np.mean(asked > limit))
        if asked is not None and limit is not None and asked > _first(capacity):
            fits = math.floor(feature.speed * _MM * _first(capacity) / asked)
        speed = feature.origins.get("speed")
        yield FeatureAsk(
            name=feature.name,
            title=feature.title,
            speed=feature.speed * _MM,
            width=None if feature.width is None else feature.width * _MM,
            height=None if feature.height is None else feature.height * _MM,
            flow=None if asked is None else asked * _MM3,
            sure=sure,
            speed_that_fits=fits,
            at=speed.at if speed else None,
        )


def _lacking(
    asked: Fact, capacity: Fact, profiles: ProfileSet | None, catalog: Catalog
) -> Iterator[str]:
    if not asked.known and profiles is not None:
        parents = [name for one in profiles.profiles for name in one.missing_parents]
        reason = "no profile states a largest flow, or a feature's speed, width and height"
        if parents:
            named = ", ".join(f"'{name}'" for name in parents)
            reason = f"it may stand in the parent {named}, which was not found (--parents FOLDER)"
        yield f"The requested flow is not known: {reason}."
    if not capacity.known:
        titles = ", ".join(catalog.facts[name].title for name in capacity.trace.inputs)
        yield f"The capacity is not known; it needs: {titles}."


def _slicer_findings(report: Report, extruder: str) -> tuple[Finding, ...]:
    return tuple(
        finding
        for finding in report.findings
        if finding.stage == "slicer" and finding.extruder in (None, extruder)
    )
