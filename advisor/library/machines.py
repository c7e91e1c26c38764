"""What one machine can do, asked from Python: each question of the commands on a config."""

from __future__ import annotations

import os
from collections.abc import Iterable
from typing import Unpack

from advisor.answers import (
    Asks,
    CompareReport,
    DemandReport,
    FlowReport,
    GripReport,
    MendReport,
    OneOrMore,
    TorqueReport,
    texts_of,
)
from advisor.base import Report, UsageError
from advisor.library.given import (
    Keywords,
    Number,
    PathLike,
    Sizes,
    Values,
    door,
    in_unit,
    listed_in,
    taken,
    values_of,
)

__all__ = ["check", "compare", "demand", "edits", "flow", "grip", "torque", "undo"]


@door
def check(paths: OneOrMore, asks: Asks | None = None, **given: Unpack[Keywords]) -> Report:
    """Tell what is wrong with one or more configs, and what each extruder can do.

    Parameters
    ----------
    paths : str, path or sequence of them
        Config files or folders of configs; a text with a line break is the config itself.
    asks : Asks, optional
        Sheet, profiles and what else goes with the config, as one record.
    **given
        The same by keyword, laid over `asks`: sheet, fields, profiles, presets, parents, sliced,
        material, asked [mm3/s], weighed, temperature [degC], outside, draws, allow, strict.

    Returns
    -------
    Report
        Findings, and for each extruder its limits [mm3/s] and its facts, each a `Figure` in its
        trade unit.

    Raises
    ------
    AdvisorError
        For what cannot be read. With ``strict=False`` the report tells it in `errors`.

    Examples
    --------
    >>> import advisor
    >>> report = advisor.check("samples/asks-too-much/printer.cfg", asked=24)
    >>> report.extruders[0].bottleneck
    'grip'
    >>> capacity = report.extruders[0].facts["flow.capacity"]
    >>> capacity.unit, 5 < capacity.low < capacity.value < capacity.high < 40
    ('mm3/s', True)
    >>> [finding.rule for finding in report.findings if finding.level == "error"]
    ['flow-asked-above-limits']
    """
    from advisor.answers import check as work_out

    if isinstance(paths, str | os.PathLike):
        path, made = taken(paths, asks, given)
        return work_out(path, made)
    listed = texts_of(paths)
    if any("\n" in path for path in listed):
        raise UsageError("a config given as text stands in a list", "give it alone, or its path")
    return work_out(listed, taken("", asks, given)[1])


@door
def flow(
    config: PathLike,
    asks: Asks | None = None,
    *,
    extruder: str | None = None,
    **given: Unpack[Keywords],
) -> FlowReport:
    """Tell whether the slicer asks for too much, and the flow to set.

    Parameters
    ----------
    config : str or path
        A config; a text with a line break is the config itself.
    asks, **given
        As `check` takes them; profiles or asked [mm3/s] say what is asked.
    extruder : str, optional
        The extruder's section name; the first one where not given.

    Returns
    -------
    FlowReport
        Flows in mm3/s.

    Raises
    ------
    UsageError
        For an extruder the config does not have.
    AdvisorError
        For what cannot be read.

    Examples
    --------
    >>> import advisor
    >>> answer = advisor.flow("samples/asks-too-much/printer.cfg", asked="24 mm3/s")
    >>> answer.exceeds, answer.asked.value, answer.set_to < answer.capacity.value
    (True, 24.0, True)
    """
    from advisor.answers import flow as work_out

    path, made = taken(config, asks, given, ("extruder",))
    return work_out(path, made, extruder=extruder)


@door
def demand(
    print_path: PathLike,
    config: PathLike,
    asks: Asks | None = None,
    *,
    caps: Sizes = None,
    extruder: str | None = None,
    **given: Unpack[Keywords],
) -> DemandReport:
    """Tell what a sliced print really asks of the extruder over time.

    Parameters
    ----------
    print_path : str or path
        A sliced print, G-code, plain or gzip.
    config : str or path
        The config whose limits it runs under; a text with a line break is the config itself.
    caps : number or str, or several, optional
        Flows in mm3/s that the print is held to one after the other, by its speed as a slicer
        does it: the answer's `caps` tell its time with each. Text: ``"8..30mm3/s"``.
    asks, **given, extruder
        As `flow` takes them.

    Returns
    -------
    DemandReport
        Flows in mm3/s, times in s, lengths in mm.

    Raises
    ------
    PrintError
        If the print cannot be read.
    AdvisorError
        For what cannot be read or planned.

    Examples
    --------
    >>> import advisor
    >>> answer = advisor.demand(
    ...     "samples/asks-too-much/box.gcode", "samples/asks-too-much/printer.cfg"
    ... )
    >>> answer.verdict, answer.peak > answer.capacity.value
    ('does-not-fit', True)
    >>> held = advisor.demand(
    ...     "samples/asks-too-much/box.gcode", "samples/asks-too-much/printer.cfg", caps=[8, 24]
    ... )
    >>> [f"{row.flow:g} mm3/s: {row.time:.0f} s" for row in held.caps.rows]
    ['8 mm3/s: 149 s', '24 mm3/s: 89 s']
    """
    from advisor.answers import demand as work_out, read_caps
    from advisor.files import open_plain, unreadable

    path, made = taken(config, asks, given, ("caps", "extruder"))
    name, flows = os.fspath(print_path), listed_in(caps)
    try:
        stream = open_plain(name)
    except (OSError, ValueError) as err:
        raise unreadable(name, err) from None
    with stream:
        return work_out(stream, name, path, made, extruder=extruder, caps=read_caps(flows))


@door
def torque(
    config: PathLike,
    asks: Asks | None = None,
    *,
    extruder: str | None = None,
    **given: Unpack[Keywords],
) -> TorqueReport:
    """Set the motor's torque against what is needed at each speed; tell which motor would do.

    Parameters
    ----------
    config, asks, **given, extruder
        As `flow` takes them.

    Returns
    -------
    TorqueReport
        Torque in mN m, motor speed in turns per second, speed of the filament in mm/s.

    Raises
    ------
    AdvisorError
        For what cannot be read, or an extruder the config does not have.

    Examples
    --------
    >>> import advisor
    >>> answer = advisor.torque("samples/healthy/printer.cfg")
    >>> answer.enough, len(answer.speeds) == len(answer.usable.value)
    (True, True)
    """
    from advisor.answers import torque_answer

    path, made = taken(config, asks, given, ("extruder",))
    return torque_answer(path, made, extruder=extruder)


@door
def grip(
    config: PathLike,
    asks: Asks | None = None,
    *,
    extruder: str | None = None,
    materials: OneOrMore = (),
    **given: Unpack[Keywords],
) -> GripReport:
    """Tell what the gears do to the filament, by material and gear size.

    Parameters
    ----------
    config, asks, **given, extruder
        As `flow` takes them.
    materials : str or sequence of str, optional
        Materials beside the machine's own; all of the catalogue where not given.

    Returns
    -------
    GripReport
        Forces in N, pressures in MPa, flows in mm3/s.

    Raises
    ------
    AdvisorError
        For what cannot be read, or an extruder or a material that there is not.

    Examples
    --------
    >>> import advisor
    >>> answer = advisor.grip("samples/healthy/printer.cfg", materials="petg")
    >>> sorted({row.material for row in answer.rows})
    ['petg', 'pla']
    """
    from advisor.answers import grip_answer

    path, made = taken(config, asks, given, ("extruder", "materials"))
    return grip_answer(path, made, extruder=extruder, materials=texts_of(materials))


@door
def compare(
    config: PathLike,
    asks: Asks | None = None,
    *,
    sheets: OneOrMore = (),
    vary: Values = (),
    target: Number | None = None,
    sure: Number | None = None,
    sort: str | None = None,
    limit: int | None = None,
    extruder: str | None = None,
    **given: Unpack[Keywords],
) -> CompareReport:
    """Put builds of a machine side by side, or find the smallest change that reaches a flow.

    Parameters
    ----------
    config, asks, **given, extruder
        As `flow` takes them.
    sheets : str, path or sequence of them, optional
        Hardware sheets, a machine each; the first is the machine as it is.
    vary : mapping, str or sequence of str, optional
        What is changed, and to what: ``{"motor.run_current": [0.5, 0.6, 0.7]}``, numbers in the
        field's unit; or texts such as ``"drive.gear_diameter=8mm..18mm:5"``. Every combination is
        a machine.
    target : str or float, optional
        A flow to reach by one change [mm3/s].
    sure : str or float, optional
        The share of machines like this one that are to reach it [%]; the typical one alone where
        not given.
    sort : str, optional
        A figure to sort by, the best first: capacity, better, skip, case, mass ...
    limit : int, optional
        Show so many at most.

    Returns
    -------
    CompareReport
        Flows in mm3/s, currents in A RMS, temperatures in degC, lengths in mm, masses in g.

    Raises
    ------
    UsageError
        Where nothing is compared, or for a name or a value that there is not.
    AdvisorError
        For what cannot be read.

    Examples
    --------
    >>> import advisor
    >>> answer = advisor.compare(
    ...     "samples/no-sheet/printer.cfg", vary={"hotend.class": ["standard", "long"]}
    ... )
    >>> [variant.short for variant in answer.variants]
    ['as it is', 'standard', 'long']
    >>> answer.variants[2].capacity.value > answer.variants[1].capacity.value
    True
    """
    from advisor.answers import compare as work_out

    names = ("sheets", "vary", "target", "sure", "sort", "limit", "extruder")
    path, made = taken(config, asks, given, names)
    return work_out(
        path,
        made,
        sheets=texts_of(sheets),
        vary=values_of(vary),
        target=in_unit(target, "mm3/s"),
        sure=in_unit(sure, "%"),
        sort=sort,
        limit=limit,
        extruder=extruder,
    )


@door
def edits(
    config: PathLike,
    asks: Asks | None = None,
    *,
    only: str | Iterable[str] = (),
    skip: str | Iterable[str] = (),
    write: bool = False,
    write_profile: bool = False,
    **given: Unpack[Keywords],
) -> MendReport:
    """Work out the edits that fix what can be fixed; write them only where told to.

    No edit raises a current above the derated limit, nor a temperature. A file that is written
    keeps a copy beside it, which `undo` puts back.

    Parameters
    ----------
    config, asks, **given
        As `check` takes them; one config.
    only, skip : str or iterable of str, optional
        Rules that may edit, and rules that may not.
    write, write_profile : bool, optional
        Write the edits of the config and its includes; those of the profiles.

    Returns
    -------
    MendReport
        The edits, what is left to do by hand, and `patch`, the diff as bytes.

    Raises
    ------
    MendError
        If the edits cannot be made together, or a file cannot be written.
    AdvisorError
        For what cannot be read, or a rule that there is not.

    Examples
    --------
    >>> import advisor
    >>> answer = advisor.edits("samples/over-driven/printer.cfg")
    >>> edit = answer.edits[0]
    >>> edit.setting, float(edit.new) < float(edit.old), answer.written
    ('run_current', True, ())
    """
    from advisor.answers import choice_of, mend

    path, made = taken(config, asks, given, ("only", "skip", "write", "write_profile"))
    if path == "-":
        raise UsageError("a config given as text has no file to edit", "give its path")
    if write_profile and not made.profiles:
        raise UsageError("write_profile needs a profile", "give profiles=")
    choice = choice_of(texts_of(only), texts_of(skip))
    return mend(path, made, choice=choice, write=write, write_profile=write_profile)


@door
def undo(config: PathLike, asks: Asks | None = None, *, profiles: OneOrMore = ()) -> MendReport:
    """Put back what the newest written edits of a config, its includes and profiles replaced.

    Parameters
    ----------
    config : str or path
        The config.
    asks : Asks, optional
        Its `profiles` and `outside` count.
    profiles : str, path or sequence of them, optional
        Slicer profiles that were written too.

    Returns
    -------
    MendReport
        With what was written.

    Raises
    ------
    MendError
        If there is nothing to put back, or a file was changed since.

    Examples
    --------
    >>> import advisor
    >>> try:
    ...     advisor.undo("samples/healthy/printer.cfg")
    ... except advisor.MendError as error:
    ...     print(error.problem)
    there is no backup of 'samples/healthy/printer.cfg' to take back
    """
    from advisor.answers import undo as take_back

    given: Keywords = {"profiles": profiles} if profiles else {}
    path, made = taken(config, asks, given)
    return take_back(path, made)
