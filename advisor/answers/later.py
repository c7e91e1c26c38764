"""What macros and start code set when they run, beside what the config states: told, not used.

Only what stands there as a number: a default may never be used. A value that the config has anyway
is no other setting, nor is a flow factor of 100 %.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import groupby

from advisor.base import LaterSetting, parse_unit
from advisor.catalog import Catalog
from advisor.inputs import ConfigFacts, MacroSetting

__all__ = ["later_settings"]

_TOLD = ("motion.pressure_advance", "motor.run_current", "motion.max_velocity", "motion.max_accel",
         "motion.square_corner_velocity", "macro.flow_factor", "drive.rotation_distance",
         "demand.stated_flow")  # fmt: skip
_USUAL = {"macro.flow_factor": 1.0}  # a factor that changes nothing
_TITLES = {"macro.flow_factor": "flow factor", "motor.run_current": "run current"}
_SAME = 1e-6  # relative


def later_settings(
    settings: Iterable[MacroSetting], config: ConfigFacts, catalog: Catalog
) -> tuple[LaterSetting, ...]:
    """Return what is set otherwise than in the config, by setting, by who sets it, by extruder."""
    names = {one.name for one in config.extruders}
    rows = [
        one
        for one in settings
        if one.fact in _TOLD
        and one.literal
        and (one.extruder is None or one.extruder in names)
        and (one.kept or not _stated(one, config))
        and not _in_a_finding(one, config)
    ]
    if not names:
        return ()

    def key(one: MacroSetting) -> tuple[int, bool, str]:
        return _TOLD.index(one.fact), one.profile, one.extruder or ""

    return tuple(_row(list(group), catalog) for _, group in groupby(sorted(rows, key=key), key))


def _row(settings: list[MacroSetting], catalog: Catalog) -> LaterSetting:
    first = settings[0]
    info = catalog.facts[first.fact]
    unit = parse_unit(info.unit)
    values = sorted({float(unit.from_si(one.value)) for one in settings})
    macros = tuple(dict.fromkeys(one.macro for one in settings))
    title = _TITLES.get(first.fact, info.title)
    return LaterSetting(
        fact=first.fact,
        title=title,
        unit=info.unit,
        values=tuple(values),
        macros=macros,
        at=first.at,
        extruder=first.extruder,
        kept=first.kept,
        profile=first.profile,
    )


def _in_a_finding(setting: MacroSetting, config: ConfigFacts) -> bool:
    """Whether a rule tells it: a profile's pressure advance where the config sets one too."""
    if not setting.profile or setting.fact != _TOLD[0]:
        return False
    return any((value or 0.0) > 0.0 for value in _values(setting, config))


def _stated(setting: MacroSetting, config: ConfigFacts) -> bool:
    """Whether the very value is the config's, or changes nothing."""
    there = [*_values(setting, config), _USUAL.get(setting.fact)]
    return any(
        value is not None and abs(value - setting.value) <= _SAME * abs(setting.value)
        for value in there
    )


def _values(setting: MacroSetting, config: ConfigFacts) -> Iterator[float | None]:
    whose = [one.facts for one in config.extruders if setting.extruder in (None, one.name)]
    for facts in (config.machine, *whose):
        fact = facts.get(setting.fact)
        if fact is not None:
            yield fact.nominal
