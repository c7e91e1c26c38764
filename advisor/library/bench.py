"""What is asked at the bench, from Python: a current, a weighed test, the sheet, a name."""

from __future__ import annotations

from typing import Unpack

from advisor.answers import (
    Asks,
    DerateReport,
    DiagnoseReport,
    Explanation,
    OneOrMore,
    SessionReport,
    texts_of,
)
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
from advisor.weigh import (
    SkipPlanAnswer,
    SkipReadAnswer,
    WeighCompareAnswer,
    WeighNextAnswer,
    WeighPlanAnswer,
    WeighReadAnswer,
)

__all__ = [
    "derate", "diagnose", "explain", "session", "sheet", "skip_plan", "skip_read", "weigh_compare",
    "weigh_next", "weigh_plan", "weigh_read",
]  # fmt: skip


@door
def derate(
    rating: Number | None = None,
    *,
    basis: str | None = None,
    share: Number | None = None,
    ambient: Number | None = None,
    mount: str | None = None,
    driver: str | None = None,
    sense_resistor: Number | None = None,
    reference_resistor: Number | None = None,
    material: str | None = None,
    motor: str | None = None,
    sheet: PathLike | None = None,
    fields: Values = (),
) -> DerateReport:
    """Work out the RMS current to set for a motor's rating.

    Parameters
    ----------
    rating : str or float, optional
        Rated current per phase [A]; the sheet's where not given.
    basis : str, optional
        What the rating means: ``peak``, ``rms`` or ``unsure`` (read as peak).
    share : str or float, optional
        Share of the rated RMS current to use at most, 0 to 1.
    ambient : str or float, optional
        Air temperature at the motor [degC].
    mount, driver, material, motor : str, optional
        Names of the catalogue: the mount's material, the driver chip, filament, motor class.
    sense_resistor, reference_resistor : str or float, optional
        Of the driver [ohm]; of a driver that has one instead [kohm].
    sheet : str or path, optional
        A hardware sheet; what is given here goes before it.
    fields : mapping, str or sequence of str, optional
        Fields of the sheet, such as ``{"motor.class": "round-36"}``.

    Returns
    -------
    DerateReport
        Currents in A, temperatures in degC.

    Raises
    ------
    AdvisorError
        For a value, a name or a sheet that cannot be read.

    Examples
    --------
    >>> import advisor
    >>> answer = advisor.derate(1.0, basis="peak", ambient=45, mount="petg")
    >>> answer.set_current, answer.governed_by
    (0.36, 'mount')
    """
    from advisor.answers import derate as work_out

    return work_out(
        in_unit(rating, "A"),
        basis=basis,
        share=in_unit(share, ""),
        ambient=in_unit(ambient, "degC"),
        mount=mount,
        driver=driver,
        sense_resistor=in_unit(sense_resistor, "ohm"),
        reference_resistor=in_unit(reference_resistor, "kohm"),
        material=material,
        motor=motor,
        sheet=None if sheet is None else texts_of(sheet)[0],
        fields=values_of(fields),
    )


@door
def diagnose(
    config: PathLike,
    asks: Asks | None = None,
    *,
    sees: OneOrMore = (),
    sees_not: OneOrMore = (),
    clicks_at: Number | None = None,
    holds: Number | None = None,
    case: Number | None = None,
    after: Number | None = None,
    fed: OneOrMore | None = None,
    nozzle_falls_to: Number | None = None,
    pull: Number | None = None,
    did: OneOrMore = (),
    extruder: str | None = None,
    **given: Unpack[Keywords],
) -> DiagnoseReport:
    """Find the causes of what is seen on a machine, and the test that tells them apart.

    Parameters
    ----------
    config, asks, **given, extruder
        As `flow` takes them.
    sees, sees_not : str or sequence of str
        What is seen, and what surely is not: ``"clicks@retracts"``.
    clicks_at, holds : str or float, optional
        Lowest flow at which it clicks, largest that comes out whole [mm3/s].
    case : str or float, optional
        Temperature of the motor's case by a taped probe [degC].
    after : str or float, optional
        How long after the start it was read [min].
    fed : str or sequence of str, optional
        Length commanded and come: ``"100mm=98mm@free"``, or ``@nozzle``.
    nozzle_falls_to : str or float, optional
        Nozzle temperature shown while it prints [degC].
    pull : str or float, optional
        Pull on a spring scale at which the drive gives way [N].
    did : str or sequence of str
        How proposed tests came out: ``"loose-spool=gone"``.

    Returns
    -------
    DiagnoseReport
        All causes with their odds from 0 to 1, likeliest first, and the next test.

    Raises
    ------
    UsageError
        For a word, a test or a reading that cannot be, or where nothing was seen.
    AdvisorError
        For what cannot be read.

    Examples
    --------
    >>> import advisor
    >>> found = advisor.diagnose("samples/healthy/printer.cfg", sees="clicks@first-layer")
    >>> found.causes[0].name, found.causes[0].odds > 0.5
    ('nozzle-too-near', True)
    """
    from advisor.answers import SeenTexts, diagnose as find

    names = ("sees", "sees_not", "clicks_at", "holds", "case", "after", "fed", "nozzle_falls_to",
             "pull", "did", "extruder")  # fmt: skip
    path, made = taken(config, asks, given, names)
    texts = SeenTexts(
        sees=texts_of(sees),
        sees_not=texts_of(sees_not),
        clicks_at=in_unit(clicks_at, "mm3/s"),
        holds=in_unit(holds, "mm3/s"),
        case=in_unit(case, "degC"),
        after=in_unit(after, "min"),
        fed=() if fed is None else texts_of(fed),
        nozzle_falls_to=in_unit(nozzle_falls_to, "degC"),
        pull=in_unit(pull, "N"),
        did=texts_of(did),
    )
    return find(path, made, texts, extruder=extruder)


@door
def skip_plan(
    config: PathLike,
    asks: Asks | None = None,
    *,
    extruder: str | None = None,
    **given: Unpack[Keywords],
) -> SkipPlanAnswer:
    """Plan a skip test: lowered currents, and the flow raised to the first click; no file written.

    A hot, moving machine is dangerous: read `cautions` before the G-code is run, and stay with it.

    Parameters
    ----------
    config, asks, **given, extruder
        As `flow` takes them.

    Returns
    -------
    SkipPlanAnswer
        Currents in A RMS, flows in mm3/s, lengths in mm, times in s; or `refused` says why not.

    Raises
    ------
    AdvisorError
        For what cannot be read.

    Examples
    --------
    >>> import advisor
    >>> answer = advisor.skip_plan("samples/healthy/printer.cfg")
    >>> [level.current < answer.plan.set_current for level in answer.plan.levels]
    [True, True, True]
    >>> [file.name for file in answer.gcode]
    ['1', '2', '3', 'end']
    """
    from advisor.answers import plan_skip_test

    path, made = taken(config, asks, given, ("extruder",))
    return plan_skip_test(path, made, extruder=extruder)


@door
def skip_read(
    tables: OneOrMore,
    config: PathLike,
    asks: Asks | None = None,
    *,
    extruder: str | None = None,
    **given: Unpack[Keywords],
) -> SkipReadAnswer:
    """Read skip tests: where the motor first clicked, and what that leaves of the capacity.

    Parameters
    ----------
    tables : str, path or sequence of them
        Tables of skip tests; all count together.
    config, asks, **given, extruder
        As `flow` takes them.

    Returns
    -------
    SkipReadAnswer
        Currents in A RMS, flows in mm3/s.

    Raises
    ------
    WeighError
        For a table that cannot be read.
    AdvisorError
        For what else cannot be read.

    Examples
    --------
    >>> import advisor
    >>> answer = advisor.skip_read("samples/healthy/skip-test.csv", "samples/healthy/printer.cfg")
    >>> [(point.current, point.runs) for point in answer.tests[0].points]
    [(0.37, 3), (0.28, 3), (0.21, 3)]
    >>> answer.calibration.narrower > 0.3
    True
    """
    from advisor.answers import read_skip_tests

    path, made = taken(config, asks, given, ("extruder",))
    return read_skip_tests(texts_of(tables), path, made, extruder=extruder)


@door
def weigh_plan(
    config: PathLike,
    asks: Asks | None = None,
    *,
    lowest: Number | None = None,
    highest: Number | None = None,
    steps: int | None = None,
    scale: Number | None = None,
    uncertainty: Number | None = None,
    lift: Number | None = None,
    one_by_one: bool = False,
    extruder: str | None = None,
    **given: Unpack[Keywords],
) -> WeighPlanAnswer:
    """Plan a weighed flow test, with its G-code and the table to fill in; writes no file.

    A hot, moving machine is dangerous: read `cautions` before the G-code is run, and stay with it.

    Parameters
    ----------
    config, asks, **given, extruder
        As `flow` takes them.
    lowest, highest : str or float, optional
        Slowest and fastest flow beside the slow reference [mm3/s].
    steps : int, optional
        Flows beside the reference.
    scale : str or float, optional
        Resolution of the scale [g].
    uncertainty : str or float, optional
        Standard uncertainty wanted of a piece's mass, a share.
    lift : str or float, optional
        Lift the head by this first [mm].
    one_by_one : bool, optional
        The first two pieces alone; `weigh_next` chooses the others.

    Returns
    -------
    WeighPlanAnswer
        Flows in mm3/s, lengths in mm, masses in g, times in s; or `refused` says why not.

    Raises
    ------
    AdvisorError
        For what cannot be read, or wishes that cannot be.

    Examples
    --------
    >>> import advisor
    >>> answer = advisor.weigh_plan("samples/healthy/printer.cfg", scale=0.01, steps=9)
    >>> answer.plan.steps[0].reference, answer.plan.expected_knee.value > 5
    (True, True)
    >>> answer.gcode.startswith(";")
    True
    """
    from advisor.answers import WishTexts, plan_test
    from advisor.weigh import plan_in_trade

    names = (
        "lowest", "highest", "steps", "scale", "uncertainty", "lift", "one_by_one", "extruder",
    )  # fmt: skip
    path, made = taken(config, asks, given, names)
    wishes = WishTexts(
        in_unit(lowest, "mm3/s"),
        in_unit(highest, "mm3/s"),
        steps,
        in_unit(scale, "g"),
        in_unit(uncertainty, ""),
        in_unit(lift, "mm"),
        one_by_one,
    )
    return plan_in_trade(plan_test(path, made, wishes, extruder=extruder))


@door
def weigh_next(
    table: PathLike,
    config: PathLike,
    asks: Asks | None = None,
    *,
    prove: Number | None = None,
    keep_hot: bool = False,
    extruder: str | None = None,
    **given: Unpack[Keywords],
) -> WeighNextAnswer:
    """Choose the next piece of a weighed test that is made one by one; writes no file.

    A hot, moving machine is dangerous: read `cautions` before the G-code is run, and stay with it.

    Parameters
    ----------
    table : str or path
        The table as far as it is filled in, as `weigh_plan` with ``one_by_one`` begins it.
    config, asks, **given, extruder
        As `flow` takes them.
    prove : str or float, optional
        Ask only whether under-extrusion starts above this flow [mm3/s].
    keep_hot : bool, optional
        Leave the heater on at the end of the piece's G-code.

    Returns
    -------
    WeighNextAnswer
        Flows in mm3/s, lengths in mm, times in s; `stop` says why the test may end.

    Raises
    ------
    WeighError
        For a table that cannot be read.
    AdvisorError
        For what else cannot be read.

    Examples
    --------
    >>> import advisor
    >>> answer = advisor.weigh_next(
    ...     "samples/healthy/flow-test.csv", "samples/healthy/printer.cfg", prove=12
    ... )
    >>> answer.stop, answer.prove.answer, answer.prove.by_model
    ('proved', 'yes', False)
    """
    from advisor.answers import next_piece

    path, made = taken(config, asks, given, ("prove", "keep_hot", "extruder"))
    wanted = in_unit(prove, "mm3/s")
    (file,) = texts_of(table)
    return next_piece(file, path, made, prove=wanted, hot=keep_hot, extruder=extruder)


@door
def weigh_read(
    tables: OneOrMore,
    config: PathLike,
    asks: Asks | None = None,
    *,
    sheets: OneOrMore = (),
    extruder: str | None = None,
    **given: Unpack[Keywords],
) -> WeighReadAnswer:
    """Read weighed flow tests: where under-extrusion starts, why, and what the capacity is then.

    Parameters
    ----------
    tables : str, path or sequence of them
        Tables of weighed tests; several are compared.
    config, asks, **given, extruder
        As `flow` takes them.
    sheets : str, path or sequence of them, optional
        One sheet for all tables that name none, or one a table.

    Returns
    -------
    WeighReadAnswer
        Flows in mm3/s, lengths in mm, masses in g.

    Raises
    ------
    WeighError
        For a table that cannot be read.
    AdvisorError
        For what else cannot be read.

    Examples
    --------
    >>> import advisor
    >>> answer = advisor.weigh_read("samples/healthy/flow-test.csv", "samples/healthy/printer.cfg")
    >>> test, capacity = answer.tests[0], answer.calibrations[0]
    >>> test.knee is not None and test.knee.low < test.knee.value < test.knee.high
    True
    >>> capacity.after.high - capacity.after.low < capacity.before.high - capacity.before.low
    True
    """
    from advisor.answers import read_tests
    from advisor.weigh import read_in_trade

    path, made = taken(config, asks, given, ("sheets", "extruder"))
    report = read_tests(texts_of(tables), path, made, sheets=texts_of(sheets), extruder=extruder)
    return read_in_trade(report)


@door
def session(
    config: PathLike,
    asks: Asks | None = None,
    *,
    widths: Sizes = None,
    heights: Sizes = None,
    materials: OneOrMore = (),
    temperatures: Sizes = None,
    extruder: str | None = None,
    **given: Unpack[Keywords],
) -> SessionReport:
    """Work out the page for a session at the machine: speeds, limits, currents, steps.

    Parameters
    ----------
    config, asks, **given, extruder
        As `flow` takes them.
    widths, heights : str, float or sequence of float, optional
        Of lines [mm]; a text such as ``"0.4,0.45"`` or ``"0.1..0.3:3"`` too. The profile's, else
        usual ones where not given.
    materials : str or sequence of str, optional
        Materials beside the machine's own; usual ones where not given.
    temperatures : str, float or sequence of float, optional
        Of the nozzle [degC].

    Returns
    -------
    SessionReport
        Flows in mm3/s, speeds in mm/s, accelerations in mm/s2, currents in A RMS, temperatures in
        degC.

    Raises
    ------
    UsageError
        For a list that cannot be read, or an extruder the config does not have.
    AdvisorError
        For what cannot be read.

    Examples
    --------
    >>> import advisor
    >>> page = advisor.session("samples/healthy/printer.cfg", widths=0.45, heights=[0.2, 0.3])
    >>> [(row.height, row.cap) for row in page.ceilings]
    [(0.2, 142.0), (0.3, 100.0)]
    >>> page.inside, page.advance.rows[0].limit, page.current.set_now
    (True, 'speed', 0.56)
    """
    from advisor.answers import SessionTexts, tuning_session

    names = ("widths", "heights", "materials", "temperatures", "extruder")
    path, made = taken(config, asks, given, names)
    texts = SessionTexts(
        widths=listed_in(widths),
        heights=listed_in(heights),
        materials=texts_of(materials),
        temperatures=listed_in(temperatures),
    )
    return tuning_session(path, made, texts, extruder=extruder)


@door
def weigh_compare(
    tables: OneOrMore,
    config: OneOrMore,
    asks: Asks | None = None,
    *,
    sheets: OneOrMore = (),
    extruder: str | None = None,
    **given: Unpack[Keywords],
) -> WeighCompareAnswer:
    """Set two weighed tests side by side: two drives, two filaments, or one drive on two days.

    Parameters
    ----------
    tables : sequence of str or path
        Two tables.
    config : str, path or sequence of them
        The config of both machines, or one a table.
    asks, **given, extruder
        As `flow` takes them.
    sheets : str, path or sequence of them, optional
        One sheet for both tables, or one a table.

    Returns
    -------
    WeighCompareAnswer
        Flows in mm3/s.

    Raises
    ------
    WeighError
        For a table that cannot be read.
    AdvisorError
        For what else cannot be read, or other than two tables.

    Examples
    --------
    >>> import advisor
    >>> kept = "samples/healthy/kept"
    >>> answer = advisor.weigh_compare(
    ...     [f"{kept}/2026-05-12.csv", f"{kept}/2026-06-03.csv"], "samples/healthy/printer.cfg"
    ... )
    >>> answer.change, answer.more.more.low < answer.more.more.value < answer.more.more.high
    (True, True)
    """
    from advisor.answers import compare_tests

    configs = texts_of(config)
    path, made = taken(configs[0] if len(configs) == 1 else "", asks, given, ("sheets", "extruder"))
    listed = (path,) if len(configs) == 1 else configs
    return compare_tests(texts_of(tables), listed, made, sheets=texts_of(sheets), extruder=extruder)


@door
def sheet(
    config: PathLike,
    asks: Asks | None = None,
    *,
    extruder: str | None = None,
    **given: Unpack[Keywords],
) -> str:
    """Return the text of a hardware sheet to fill in, what matters most asked first.

    Parameters
    ----------
    config, asks, **given, extruder
        As `flow` takes them; a sheet that is there already is filled in.

    Returns
    -------
    str
        YAML.

    Raises
    ------
    AdvisorError
        For what cannot be read, or a config without extruder.

    Examples
    --------
    >>> import advisor
    >>> print(advisor.sheet("samples/no-sheet/printer.cfg").splitlines()[0])
    # Hardware sheet for samples/no-sheet/printer.cfg
    """
    from advisor.answers import starter_sheet

    path, made = taken(config, asks, given, ("extruder",))
    return starter_sheet(path, made, extruder=extruder)


@door
def explain(
    name: str,
    config: PathLike | None = None,
    asks: Asks | None = None,
    **given: Unpack[Keywords],
) -> Explanation:
    """Tell what a rule, a fact, a limit, a material or another name of the catalogue means.

    Parameters
    ----------
    name : str
        The name; it may be written in capitals.
    config : str or path, optional
        A config: then a fact comes with its derivation, a rule with its findings.
    asks, **given
        As `check` takes them.

    Returns
    -------
    Explanation
        The facts of a derivation are `Figure` in trade units.

    Raises
    ------
    UsageError
        For a name that there is not; names the closest one.
    AdvisorError
        For what cannot be read.

    Examples
    --------
    >>> import advisor
    >>> answer = advisor.explain("flow.capacity", "samples/no-sheet/printer.cfg")
    >>> answer.derivation[0].fact.unit
    'mm3/s'
    >>> try:
    ...     advisor.explain("petgg")
    ... except advisor.UsageError as error:
    ...     print(error.thing, error.remedy)
    petgg did you mean 'petg'?
    """
    from advisor.answers import explain as look_up

    if config is None:
        return look_up(name, asks=taken("", asks, given)[1])
    path, made = taken(config, asks, given)
    return look_up(name, config=path, asks=made)
