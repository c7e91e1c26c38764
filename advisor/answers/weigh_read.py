"""Answers `weigh read`: what weighed tests show, and what they make of the capacity."""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence

import numpy as np

from advisor.answers.asks import Asks
from advisor.answers.flow_limit import chosen_extruder
from advisor.answers.lint import check_config
from advisor.answers.matched_tests import tables_by_sheet
from advisor.base import Band, ExtruderReport, UsageError
from advisor.machine import cap_of
from advisor.weigh import Calibration, Contrast, Evaluation, WeighReport

__all__ = ["read_tests"]

_LOW, _HIGH = 0.05, 0.95


def read_tests(
    paths: Sequence[str],
    config: str,
    asks: Asks,
    *,
    sheets: Sequence[str] = (),
    extruder: str | None = None,
) -> WeighReport:
    """Return what the tables of weighed tests show on one extruder of a config.

    Parameters
    ----------
    paths : sequence of str
        The tables; several are compared, those of one sheet are taken in together.
    config : str
        The config of the machine, or ``-``.
    asks : Asks
        What else the command line states.
    sheets : sequence of str, optional
        One for all tables that name none, or one a table.
    extruder : str, optional
        The extruder's section name; the first one where not given.

    Raises
    ------
    UsageError
        For an extruder the config does not have, or several sheets that are not one a table.
    WeighError
        For a table that names a sheet outside of its folder.
    """
    if len(set(paths)) < len(paths):
        raise UsageError("a table is named twice", "name each test once")
    groups = tables_by_sheet(paths, sheets or _texts(asks.sheet), asks.outside)
    made = [
        _read_group(
            tables, config, dataclasses.replace(asks, sheet=sheet), extruder, alone=len(groups) == 1
        )
        for sheet, tables in groups.items()
    ]
    return _joined(made, paths)


def _texts(sheet: str | None) -> tuple[str, ...]:
    return () if sheet is None else (sheet,)


def _joined(made: Sequence[WeighReport], paths: Sequence[str]) -> WeighReport:
    """Return the tests in the order they were named, each compared with the first."""
    tests = [test for one in made for test in one.tests]
    tests.sort(key=lambda test: paths.index(test.file) if test.file in paths else len(paths))
    return WeighReport(
        tests=tuple(tests),
        calibrations=tuple(told for one in made for told in one.calibrations),
        contrasts=tuple(_contrast(test, tests[0]) for test in tests[1:] if _both(test, tests[0])),
        files=tuple(dict.fromkeys(file for one in made for file in one.files)),
        errors=tuple(dict.fromkeys(error for one in made for error in one.errors)),
    )


def _read_group(
    paths: Sequence[str], config: str, asks: Asks, extruder: str | None, *, alone: bool
) -> WeighReport:
    """Return what the tables of one machine show."""
    checked = check_config(config, dataclasses.replace(asks, weighed=tuple(paths), use_tests=False))
    name = chosen_extruder(checked, extruder)
    files, errors = checked.report.files, checked.report.errors
    if name is None:
        lacking = () if errors else ("the config has no extruder section",)
        return WeighReport((), files=files, errors=(*errors, *lacking))
    report = next(one for one in checked.report.extruders if one.name == name)
    tests = checked.tests.get(name, ())
    if not tests and not errors:
        named = f"no table is for the extruder '{name}'"
        return WeighReport((), files=files, errors=(f"{named}; name it with '# extruder: {name}'",))
    sheet = report.called or asks.sheet or "the sheet beside the config"
    told = _calibration(report, None if alone else sheet, cap_of(checked.books[name]))
    unclear = any(test.off_from is not None for test in tests)
    calibrations = () if told is None or unclear else (told,)
    return WeighReport(tests, calibrations, files=files, errors=errors)


def _calibration(
    report: ExtruderReport, sheet: str | None, cap: float | None
) -> Calibration | None:
    weighed = report.weighed
    if weighed is None:
        return None
    return Calibration(
        extruder=report.name,
        before=weighed.before,
        after=weighed.after,
        narrower=weighed.narrower,
        bottleneck=report.bottleneck,
        fits=weighed.fits,
        contradiction=weighed.contradiction,
        causes=weighed.causes,
        sheet=sheet,
        set_to=None if weighed.contradiction is not None else cap,
    )


def _both(test: Evaluation, first: Evaluation) -> bool:
    return test.draws is not None and first.draws is not None


def _contrast(test: Evaluation, first: Evaluation) -> Contrast:
    """Return how the knees of two tests compare: every draw of one against every other one."""
    assert test.draws is not None
    assert first.draws is not None
    one, other = (_thinned(draws) for draws in (test.draws, first.draws))
    ratios = np.sort((one[:, None] / other[None]).ravel())
    value, low, high = (float(ratios[round((ratios.size - 1) * q)]) for q in (0.5, _LOW, _HIGH))
    sure = float(np.mean(ratios > 1.0) + 0.5 * np.mean(ratios == 1.0))
    return Contrast(test.name, first.name, Band(value, low, high), sure)


def _thinned(draws: np.ndarray[tuple[int], np.dtype[np.float64]]) -> np.ndarray[
    tuple[int], np.dtype[np.float64]
]:  # fmt: skip
    places = np.floor((np.arange(200) + 0.5) / 200 * draws.size).astype(int)
    thinned: np.ndarray[tuple[int], np.dtype[np.float64]] = np.sort(draws)[places]
    return thinned
