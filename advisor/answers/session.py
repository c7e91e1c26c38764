"""Reads what a command was given: configs, sheet, profiles and what the command line states."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import TYPE_CHECKING

from advisor.answers.asks import Asks
from advisor.answers.input_files import InputFiles
from advisor.base import (
    SHEET_BYTES,
    Fact,
    FileStatus,
    InputError,
    Origin,
    OriginKind,
    Reason,
    SheetError,
    Span,
    UnreadableError,
    UsageError,
)
from advisor.catalog import Catalog
from advisor.config import Tree, read_tree, read_tree_from_bytes
from advisor.files import OUTSIDE, reach_of, real_path, unreadable
from advisor.inputs import Outside, SheetPart, read_asked, stated_by_option
from advisor.mend import Snapshot

if TYPE_CHECKING:
    pass

__all__ = [
    "SHEET_NAME",
    "InputFiles",
    "command_facts",
    "need_sheet",
    "read_config_tree",
    "read_given",
    "sheet_alone",
    "sheet_beside",
    "stated_flow",
]

SHEET_NAME = "hardware.yaml"


def read_config_tree(path: str, asks: Asks, files: Snapshot | None = None) -> Tree:
    """Return a config with its includes; ``-`` is what came on standard input.

    Raises
    ------
    UnreadableError
        If it cannot be read.
    """
    read = (files or Snapshot()).read
    if path == "-":
        if not (asks.stdin or b"").strip():
            raise UnreadableError(
                "nothing came on standard input", "pipe a config into it, or name a file"
            )
        reach = reach_of(asks.stdin_name, asks.outside)
        return read_tree_from_bytes(asks.stdin or b"", asks.stdin_name, open_file=read, reach=reach)
    reach = reach_of(path, asks.outside, follows=True)
    return read_tree(path, open_file=read, reach=reach, redactor=Outside())


def read_given(
    root: str,
    asks: Asks,
    catalog: Catalog,
    files: Snapshot | None = None,
    *,
    nozzle: float | None = None,
) -> InputFiles:
    """Return the sheet, the profiles and the tests that go with a config.

    `nozzle` is the config's nozzle diameter [m], for widths that a profile states as shares of it.

    Raises
    ------
    UsageError
        For a field of the sheet that the command line states and that cannot be.
    """
    given, files = InputFiles(), files or Snapshot()
    over = stated_by_option(asks.fields, catalog)
    path = asks.sheet if asks.sheet is not None else sheet_beside(root, asks)
    if path is not None:
        _collect(given, lambda: _add_sheet(given, path, asks, catalog, files, over), path, "sheet")
    elif over:
        _collect(given, lambda: _state(given, over, catalog), "", "sheet")
    if asks.profiles:
        _collect(
            given, lambda: _add_profiles(given, asks, files, nozzle), asks.profiles[0], "profile"
        )
    if asks.weighed:
        from advisor.answers.weighed import read_tables

        read_tables(asks.weighed, given, catalog, files)
    if asks.skip_tests:
        from advisor.answers.skip_tests import read_skip_tables

        read_skip_tables(asks.skip_tests, given, catalog, files)
    if asks.use_tests:
        from advisor.answers.kept_tests import read_kept

        read_kept(root, asks, given, catalog, files)
    return given


def _state(given: InputFiles, over: Mapping[str, Fact], catalog: Catalog) -> None:
    from advisor.inputs import sheet_of

    given.sheet = sheet_of(over, catalog)


def _collect(given: InputFiles, work: Callable[[], None], path: str, role: str) -> None:
    try:
        work()
    except InputError as err:
        given.errors.append(err)
        place = err.at.file if err.at is not None else path
        given.files.append(FileStatus(place, "unreadable", role, Reason.of(err)))


def need_sheet(files: Iterable[FileStatus]) -> None:
    """Go no further where a sheet, named or found, could not be used: a current hangs on it.

    Raises
    ------
    SheetError
        With what is wrong in the sheet.
    """
    for file in files:
        if file.role == "sheet" and file.status != "read":
            remedy = "nothing is worked out without it, as currents hang on it: mend the sheet"
            raise SheetError(file.not_used, remedy)


def sheet_beside(root: str, asks: Asks) -> str | None:
    """Return the path of the sheet that lies beside a config; None where there is none."""
    config = asks.stdin_name if root == "-" else root
    path = os.path.join(os.path.dirname(config), SHEET_NAME)
    return path if os.path.lexists(path) and not os.path.isdir(path) else None


def _add_sheet(
    given: InputFiles,
    path: str,
    asks: Asks,
    catalog: Catalog,
    files: Snapshot,
    over: Mapping[str, Fact],
) -> None:
    from advisor.inputs import read_sheet

    reach = reach_of(path, asks.outside)
    if asks.sheet is None and not reach.holds(path):
        raise SheetError(f"'{path}': {OUTSIDE}", "name it with --sheet, if it is yours")

    def base(name: str) -> str:
        if not reach.holds(name):
            raise InputError(OUTSIDE)
        return _text(name, files)

    sheet = read_sheet(_text(path, files), path, open_text=base, catalog=catalog, over=over)
    given.sheet = sheet
    given.files.append(FileStatus(path, "read", "sheet", called=sheet.name))
    given.files += [FileStatus(file, "read", "sheet") for file in sheet.files[1:]]


def sheet_alone(path: str | None, fields: Sequence[str], catalog: Catalog) -> SheetPart:
    """Return what a hardware sheet states of a machine with one extruder, without any config.

    `fields` are those of the sheet that the command line states.

    Raises
    ------
    SheetError
        For a sheet that cannot be read.
    UsageError
        For a field that cannot be.
    """
    given, over = InputFiles(), stated_by_option(fields, catalog)
    if path is None:
        _state(given, over, catalog)
    else:
        _add_sheet(given, path, Asks(sheet=path), catalog, Snapshot(), over)
    return given.sheet.shared if given.sheet is not None else SheetPart()


def _add_profiles(given: InputFiles, asks: Asks, files: Snapshot, nozzle: float | None) -> None:
    from advisor.inputs import read_profiles

    given.profiles = read_profiles(
        asks.profiles,
        presets=asks.presets,
        folders=asks.parents,
        nozzle_diameter=nozzle,
        open_file=lambda path: files.open(_reached(path, asks)),
        is_outside=lambda path: not _holds(path, asks),
    )
    given.files += list(given.profiles.files)


def _reached(path: str, asks: Asks) -> str:
    """Return the path of a profile or parent; one behind a link out of its folders is absent."""
    if path in asks.profiles:
        return path
    for own in map(os.path.dirname, asks.profiles):
        steps = os.path.relpath(path, own or os.curdir)
        if real_path(path) == os.path.normpath(os.path.join(real_path(own), steps)):
            return path
    if _holds(path, asks):
        return path
    raise FileNotFoundError(errno.ENOENT, "there is no such file", path)


def _holds(path: str, asks: Asks) -> bool:
    """Whether a path is inside for profiles: in their folders, or in those that were named."""
    own = (reach_of(one, (*asks.parents, *asks.outside)) for one in asks.profiles)
    return any(reach.holds(path) for reach in own)


def _text(path: str, files: Snapshot) -> str:
    if os.path.isdir(path):
        raise SheetError(f"'{path}' is a folder", "name the hardware sheet in it")
    try:
        data = files.read(path)
    except FileNotFoundError as err:
        raise unreadable(path, err) from None
    if len(data) > SHEET_BYTES:
        problem = f"'{path}' is larger than {SHEET_BYTES // 1024} kB, which no hardware sheet is"
        raise SheetError(problem, "name the hardware sheet, or shorten it")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise SheetError(f"'{path}' is no UTF-8 text", "save it as UTF-8") from None


def command_facts(asks: Asks, catalog: Catalog) -> Mapping[str, Fact]:
    """Return what the command line states.

    Raises
    ------
    UsageError
        For a material that is not in the catalogue, a number that cannot be read, or what two
        options state.
    """
    facts: dict[str, Fact] = {}
    origin = Origin(OriginKind.COMMAND)
    _refuse_twice(asks)
    try:
        if asks.material is not None:
            name = catalog.lookup("materials", asks.material).name
            facts["filament.material"] = Fact.of("filament.material", "", name, origin=origin)
        if asks.asked is not None:
            asked = read_asked(asks.asked)
            if not asked.needs_filament:
                facts["demand.stated_flow"] = stated_flow(asked.value)
        if asks.temperature is not None:
            kelvin = _temperature(asks.temperature, catalog)
            facts["hotend.temperature"] = Fact.of(
                "hotend.temperature", "degC", kelvin, origin=origin
            )
    except InputError as err:
        raise UsageError(err.problem, err.remedy) from None
    return facts


def stated_flow(flow: float) -> Fact:
    """Return the fact of a flow that the command line asks, in m3/s."""
    origin = Origin(OriginKind.COMMAND)
    return Fact.of("demand.stated_flow", "mm3/s", flow, origin=origin)


def _refuse_twice(asks: Asks) -> None:
    stated = {text.partition("=")[0].strip() for text in asks.fields}
    own = (
        ("--material", asks.material, "filament.material"),
        ("--asked", asks.asked, "asked"),
        ("--temperature", asks.temperature, "filament.temperature"),
    )
    for option, value, path in own:
        if value is not None and path in stated:
            raise UsageError(f"{option} and --with {path} state the same", "keep one")


def _temperature(text: str, catalog: Catalog) -> float:
    """Return a nozzle temperature [K] that the sheet would take as well."""
    from advisor.inputs import load_fields, read_value

    field = load_fields().fields["filament.temperature"]
    try:
        value, _ = read_value(field, text, at=Span("", 1), catalog=catalog)
    except InputError as err:
        problem = err.problem.removeprefix(f"{field.path}: ")
        raise InputError(f"--temperature: {problem}", err.remedy) from None
    nominal = Fact.of(field.fact, field.unit, value).nominal
    assert nominal is not None  # the field holds a number
    return nominal
