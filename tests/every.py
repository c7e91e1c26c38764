"""One test for a whole table of cases: each case is tried, and every one that fails is listed."""

from __future__ import annotations

import inspect
import traceback
from collections.abc import Callable, Iterable, Sequence
from typing import Any

import pytest

Test = Callable[..., None]
Label = Callable[[Any], object]


def every(
    names: str | Sequence[str],
    cases: Iterable[Any] | Callable[[], Iterable[Any]],
    ids: Iterable[str] | Label | None = None,
) -> Callable[[Test], Test]:
    """Make one test of a table, where ``pytest.mark.parametrize`` would make one a case.

    The arguments are those of parametrize; ``cases`` may also be a function that makes them when
    the test runs. A case may not be skipped, and a table without cases fails. Fixtures are set up
    once for the whole table: a case that leaves something behind in one belongs to parametrize.
    """
    wanted = [name.strip() for name in names.split(",")] if isinstance(names, str) else list(names)

    def made(test: Test) -> Test:
        def whole_table(**fixtures: Any) -> None:
            table = _labelled(cases() if callable(cases) else cases, ids, len(wanted))
            assert table, "the table has no case"
            wrong = [
                f"{label}: {told}"
                for label, values in table
                if (told := _failure(test, {**fixtures, **dict(zip(wanted, values, strict=True))}))
            ]
            assert not wrong, "\n".join([f"{len(wrong)} of {len(table)} cases fail", *wrong])

        own = inspect.signature(test)
        rest = [it for name, it in own.parameters.items() if name not in wanted]
        assert len(rest) + len(wanted) == len(own.parameters), "a name the test does not take"
        whole_table.__signature__ = own.replace(parameters=rest)  # type: ignore[attr-defined]
        whole_table.__name__, whole_table.__doc__ = test.__name__, test.__doc__
        whole_table.__module__, whole_table.__qualname__ = test.__module__, test.__qualname__
        whole_table.pytestmark = getattr(test, "pytestmark", [])  # type: ignore[attr-defined]
        return whole_table

    return made


def _labelled(
    cases: Iterable[Any], ids: Iterable[str] | Label | None, width: int
) -> list[tuple[str, tuple[Any, ...]]]:
    listed = list(cases)
    given = list(ids) if ids is not None and not callable(ids) else [None] * len(listed)
    labelled = []
    for case, name in zip(listed, given, strict=True):
        marked = isinstance(case, type(pytest.param()))
        values = tuple(case.values) if marked else (case,) if width == 1 else tuple(case)
        found = "-".join(str(ids(value)) for value in values) if callable(ids) else name
        label = (case.id if marked else None) or found or ", ".join(map(repr, values))
        labelled.append((str(label)[:200], values))
    return labelled


def _failure(test: Test, arguments: dict[str, Any]) -> str:
    """Return what went wrong, with the line of the test; nothing where all held."""
    try:
        test(**arguments)
    except pytest.skip.Exception as skipped:
        return f"a case may not be skipped ({skipped})"
    except (Exception, pytest.fail.Exception) as failed:  # noqa: BLE001 - it is reported
        steps = traceback.extract_tb(failed.__traceback__)
        lines = [f"line {step.lineno}: " for step in steps if step.filename != __file__]
        text = str(failed) if isinstance(failed, AssertionError | pytest.fail.Exception) else ""
        told = text or "".join(traceback.format_exception_only(failed)).strip()
        return "".join(lines[:1]) + told.replace("\n", "\n    ")
    return ""
