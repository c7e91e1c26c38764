"""Answers `weigh compare`: two drives, two filaments or one drive on two days, side by side."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping, Sequence

from advisor.answers.asks import Asks
from advisor.answers.flow_limit import chosen_extruder
from advisor.answers.lint import check_config
from advisor.answers.matched_tests import tables_by_sheet
from advisor.base import FileStatus, UsageError, frozen
from advisor.weigh import (
    DeliveredMore,
    Evaluation,
    Pair,
    WeighCompareAnswer,
    load_words,
    pair_of,
    tests_in_trade,
    trade,
    weigh_numbers,
)

__all__ = ["compare_tests"]

_FLOW = "mm3/s"
_SURE = 0.95
_CONDITIONS = ("material", "temperature", "nozzle")
_SLOWS_OFF = 0.02  # slow runs that differ by more are told


def compare_tests(
    paths: Sequence[str],
    configs: Sequence[str],
    asks: Asks,
    *,
    sheets: Sequence[str] = (),
    extruder: str | None = None,
) -> WeighCompareAnswer:
    """Return what the second of two weighed tests shows against the first.

    Parameters
    ----------
    paths : sequence of str
        Two tables.
    configs : sequence of str
        The config of both, or one a table.
    asks : Asks
        What else the command line states, the same for both.
    sheets : sequence of str, optional
        One for both tables, or one a table; a table may name its own.
    extruder : str, optional
        The extruder's section name; the first one where not given.

    Raises
    ------
    UsageError
        For other than two tables, or configs and sheets that are not one or one a table.
    WeighError
        For a table that names a sheet outside of its folder.
    """
    _check(paths, configs)
    by_sheet = tables_by_sheet(paths, sheets or _texts(asks.sheet), asks.outside)
    sheet_of = {path: sheet for sheet, tables in by_sheet.items() for path in tables}
    each = [
        _read(path, config, dataclasses.replace(asks, sheet=sheet_of[path]), extruder)
        for path, config in zip(paths, list(configs) * (2 // len(configs)), strict=True)
    ]
    files = tuple(dict.fromkeys(file for one in each for file in one.files))
    errors = tuple(dict.fromkeys(error for one in each for error in one.errors))
    first, second = (one.test for one in each)
    if first is None or second is None:
        return WeighCompareAnswer((), files=files, errors=errors)
    one_machine = len(set(configs)) == 1 and len(by_sheet) == 1
    return dataclasses.replace(_compared(first, second, one_machine=one_machine), files=files,
                               errors=errors)  # fmt: skip


def _check(paths: Sequence[str], configs: Sequence[str]) -> None:
    if len(paths) != 2:
        several = "s" if len(paths) > 1 else ""
        problem = f"{len(paths)} table{several} cannot be set against each other"
        raise UsageError(problem, "name two; 'feedwright weigh read' takes more")
    if len(set(paths)) < len(paths):
        raise UsageError("a table is named twice", "name each test once")
    if len(configs) not in (1, len(paths)):
        problem = f"there are {len(configs)} configs for {len(paths)} tables"
        raise UsageError(problem, "give --config once for both, or once a table, in their order")


def _texts(sheet: str | None) -> tuple[str, ...]:
    return () if sheet is None else (sheet,)


@frozen
class _ReadTest:
    test: Evaluation | None
    files: tuple[FileStatus, ...]
    errors: tuple[str, ...]


def _read(path: str, config: str, asks: Asks, extruder: str | None) -> _ReadTest:
    checked = check_config(config, dataclasses.replace(asks, weighed=(path,), use_tests=False))
    name = chosen_extruder(checked, extruder)
    errors = checked.report.errors
    tests = () if name is None else checked.tests.get(name, ())
    if not tests and not errors:
        lacking = "the config has no extruder section" if name is None else (
            f"{path} is not for the extruder '{name}'; name it with '# extruder: {name}'"
        )  # fmt: skip
        errors = (lacking,)
    return _ReadTest(tests[0] if tests else None, checked.report.files, errors)


def _compared(first: Evaluation, second: Evaluation, *, one_machine: bool) -> WeighCompareAnswer:
    tests = (first, second)
    pair = pair_of(first, second, one_spool=_one_spool(first, second))
    more = pair.more()
    change = one_machine and _one_machine(first, second)
    expected = tuple(trade(test.expected, _FLOW) for test in tests)
    typical = [band.value for band in expected if band is not None]
    return WeighCompareAnswer(
        tests=tests_in_trade(tests),
        more=more,
        rows=pair.rows(),
        slow_ratio=pair.slow_ratio,
        expected=expected,
        expected_more=typical[1] - typical[0] if len(typical) == len(tests) else None,
        evenness=tuple(test.evenness for test in tests),
        change=change,
        shared_filament=_one_spool(first, second),
        cautions=tuple(_cautions(pair, more, change=change)),
    )


def _one_spool(first: Evaluation, second: Evaluation) -> bool:
    """Whether both are of one spool, as far as the tables say."""
    same = first.conditions.get("material") == second.conditions.get("material")
    rolls = {_plain(test.roll) for test in (first, second)} - {None}
    return same and len(rolls) < 2


def _plain(text: str | None) -> str | None:
    return " ".join(text.lower().split()) if text else None


def _one_machine(first: Evaluation, second: Evaluation) -> bool:
    """Whether both are of one machine on one filament, on two days."""
    days = {first.date, second.date}
    same = all(first.conditions.get(x) == second.conditions.get(x) for x in _CONDITIONS)
    same = same and first.hardware == second.hardware and _built_alike(first, second)
    return None not in days and len(days) == 2 and same


def _built_alike(first: Evaluation, second: Evaluation) -> bool:
    """Whether what both tables say of the machine is the same, but for a calibration."""
    within = {row.fact: row.within / 100.0 for row in load_words().notes.values() if row.fact}
    for name in first.built.keys() & second.built.keys():
        one, other = first.built[name], second.built[name]
        if isinstance(one, str) or isinstance(other, str):
            if one != other:
                return False
        elif abs(other / one - 1.0) > within[name]:
            return False
    return True


def _cautions(pair: Pair, more: DeliveredMore | None, *, change: bool) -> Iterator[str]:
    """Yield what differs beside what is compared, and what would explain a change."""
    first, second = pair.first, pair.second
    for name in _CONDITIONS:
        one, other = first.conditions.get(name), second.conditions.get(name)
        if one and other and one != other:
            yield f"the {name} differs ({one}, {other}): the difference is of that too"
    yield from _of_rolls(first, second)
    if abs(pair.ratio - 1.0) > max(_SLOWS_OFF, 2.0 * pair.unsure):
        yield (
            f"the second's slow run weighs {100.0 * (pair.ratio - 1.0):+.1f} % against the "
            "first's: by calibration or slip; it is reckoned with"
        )
    if change and more is not None and not (more.at_least or more.at_most):
        yield from _causes(more, second)


def _of_rolls(first: Evaluation, second: Evaluation) -> Iterator[str]:
    """Yield what another roll of the same material would do, or may have done unsaid."""
    if first.conditions.get("material") != second.conditions.get("material"):
        return
    spread = f"{100.0 * weigh_numbers('rolls')['spread']:.0f}"
    if not _one_spool(first, second):
        yield f"the rolls differ: that alone moves such a limit by some {spread} %"
    elif None in (first.roll, second.roll):
        who = "neither table says" if first.roll == second.roll else "not both tables say"
        yield (
            f"{who} its roll ('# roll: grey'): taken as one; another roll alone moves such a "
            f"limit by some {spread} %"
        )


def _causes(more: DeliveredMore, second: Evaluation) -> Sequence[str]:
    """Return why a drive delivers less than it did, the likeliest first."""
    if 1.0 - more.sure < _SURE:
        return ()
    words: Mapping[str, tuple[str, ...]] = load_words().causes
    kind = "worn" if second.loss == "slip" else "clogging"
    return words[kind]
