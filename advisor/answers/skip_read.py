"""Answers `skip-test read`: what skip tests show, and what they make of the capacity."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

from advisor.answers.asks import Asks
from advisor.answers.checked import CheckedConfig, CheckedExtruder
from advisor.answers.flow_limit import chosen_extruder
from advisor.answers.lint import check_config
from advisor.answers.session import need_sheet
from advisor.base import UsageError
from advisor.machine import band_of, cap_of
from advisor.weigh import Calibration, SkipReadAnswer

__all__ = ["read_skip_tests"]


def read_skip_tests(
    paths: Sequence[str], config: str, asks: Asks, *, extruder: str | None = None
) -> SkipReadAnswer:
    """Return what the tables of skip tests show on one extruder of a config.

    Parameters
    ----------
    paths : sequence of str
        The tables; all are taken in together.
    config : str
        The config of the machine, or ``-``.
    asks : Asks
        What else the command line states.
    extruder : str, optional
        The extruder's section name; the first one where not given.

    Raises
    ------
    UsageError
        For an extruder the config does not have, or a table that is named twice.
    """
    if len(set(paths)) < len(paths):
        raise UsageError("a table is named twice", "name each test once")
    checked = check_config(
        config, dataclasses.replace(asks, skip_tests=tuple(paths), weighed=(), use_tests=False)
    )
    need_sheet(checked.report.files)
    name = chosen_extruder(checked, extruder)
    if name is not None and (checked.taken[name].skips or checked.report.errors):
        return _told(name, checked)
    lacking = "the config has no extruder section"
    if name is not None:
        lacking = f"no table is for the extruder '{name}'; name it with '# extruder: {name}'"
    errors = checked.report.errors or (lacking,)
    return SkipReadAnswer((), files=checked.report.files, errors=errors)


def _told(name: str, checked: CheckedConfig) -> SkipReadAnswer:
    taken, report = checked.taken[name], checked.report
    facts = taken.machine.book.facts
    return SkipReadAnswer(
        taken.skips,
        _calibration(name, taken),
        torque=band_of(facts.get("flow.torque")),
        grip=band_of(facts.get("flow.grip")),
        files=report.files,
        errors=report.errors,
    )


def _calibration(name: str, taken: CheckedExtruder) -> Calibration | None:
    """Return what the tests make of the capacity; None where none was taken in."""
    note = taken.note
    if note is None or not note.files:
        return None
    return Calibration(
        extruder=name,
        before=note.before,
        after=note.after,
        narrower=note.narrower,
        bottleneck=taken.bottleneck[0],
        fits=note.fits,
        contradiction=note.contradiction,
        causes=note.causes,
        set_to=None if note.contradiction is not None else cap_of(taken.machine.book),
    )
