"""Answers `weigh next`: the next piece of a weighed test, what it would settle, when to stop."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from advisor.answers.asks import Asks
from advisor.answers.checked import CheckedConfig
from advisor.answers.flow_limit import chosen_extruder
from advisor.answers.input_files import table_bytes
from advisor.answers.lint import check_config
from advisor.answers.matched_tests import tables_by_sheet
from advisor.answers.weigh_plan import (
    conditions_of,
    read_wish,
    refusals,
    selection,
    spoken,
    stops_of,
    weighing_bench,
)
from advisor.answers.weighed import conditions_of_table, setup_of
from advisor.base import FileStatus, Span, UsageError, parse_unit
from advisor.catalog import load_catalog
from advisor.machine import FactBook, Machine
from advisor.mend import Snapshot
from advisor.weigh import (
    Bench,
    NextPiece,
    Outlook,
    OutlookBench,
    Plan,
    ProvedFlow,
    Run,
    WeighedResult,
    WeighedTable,
    WeighNextAnswer,
    Wishes,
    load_words,
    make_plan,
    next_row,
    one_by_one,
    outlook_of,
    piece_of,
    read_weighed,
    text_of,
    trade,
    weigh_numbers,
    weighed_as,
    write_gcode,
)

__all__ = ["next_piece"]

_FLOW = "mm3/s"
_MM = 1e3
_ROOM = 0.999  # flows stay this much within what the firmware feeds


def next_piece(
    path: str,
    config: str,
    asks: Asks,
    *,
    prove: str | None = None,
    hot: bool = False,
    extruder: str | None = None,
) -> WeighNextAnswer:
    """Return the next piece of a weighed test, or why it may end.

    Parameters
    ----------
    path : str
        The table as far as it is filled in; it is only read.
    config : str
        The config of the machine, or ``-``.
    asks : Asks
        What else the command line states.
    prove : str, optional
        A flow as typed: ask whether the limit is above it, else where it is.
    hot : bool, optional
        Leave the heater on after the piece.
    extruder : str, optional
        The extruder's section name; by default the table's, else the first one.

    Raises
    ------
    UsageError
        For an extruder the config does not have, or a flow that cannot be.
    WeighError
        For a table that cannot be read.
    """
    wanted = read_wish("--prove", prove, _FLOW, (0.1e-9, 400e-9))
    (sheet,) = tables_by_sheet([path], (asks.sheet,) if asks.sheet else (), asks.outside)
    data = table_bytes(path, Snapshot())
    table = read_weighed(data, path, unfinished=True)
    own = dataclasses.replace(asks, sheet=sheet, weighed=(), use_tests=False)
    checked = check_config(config, own)
    name = chosen_extruder(checked, extruder or table.conditions.extruder)
    status = FileStatus(path, "read", "weighed", called=table.conditions.name)
    files, errors = (*checked.report.files, status), checked.report.errors
    if name is None:
        lacking = () if errors else ("The config has no extruder section.",)
        return _refused(None, path, lacking, files, errors)
    machine = _under(table, checked.machines[name])
    refused = (*refusals(machine.book, load_catalog()), *selection(checked, name))
    if refused or errors:
        return _refused(name, path, refused, files, errors)
    made = _Asked(name, checked, machine, table, data, wanted, hot=hot).answer()
    return dataclasses.replace(made, files=files, config=config)


def _under(table: WeighedTable, machine: Machine) -> Machine:
    """Return the machine with the filament, temperature and nozzle of the test."""
    seen = WeighedResult(Span(table.file, 1), conditions_of_table(table))
    return weighed_as(seen, machine, machine.book)


def _refused(
    extruder: str | None, table: str, refused: tuple[str, ...], files: tuple[FileStatus, ...],
    errors: tuple[str, ...],
) -> WeighNextAnswer:  # fmt: skip
    return WeighNextAnswer(
        extruder, table, stop=None, piece=None, weighed=0, most=_most(), limit=None, believed=None,
        width=None, wanted=None, whole_pieces=None, used=0.0, used_whole=None, refused=refused,
        files=files, errors=errors,
    )  # fmt: skip


def _most() -> int:
    return int(weigh_numbers("next")["most_pieces"])


@dataclass(frozen=True, slots=True)
class _Asked:
    """A test on its machine, and what is asked of it."""

    extruder: str
    checked: CheckedConfig
    machine: Machine
    table: WeighedTable
    data: bytes
    prove: float | None
    hot: bool

    @property
    def book(self) -> FactBook:
        """The facts of the machine under the conditions of the test."""
        return self.machine.book

    def answer(self) -> WeighNextAnswer:
        """Return where the test stands, with the next piece and its G-code."""
        bench = weighing_bench(self.book)
        top = bench.largest_speed * bench.area
        if self.prove is not None and self.prove > top:
            most = parse_unit(_FLOW).from_si(top)
            problem = f"--prove: the firmware feeds no more than {most:.1f} mm3/s"
            raise UsageError(problem, "ask for less, or raise its extrude-only speed with care")
        wishes = Wishes(scale=self.table.conditions.scale)
        whole = make_plan(bench, wishes)
        first = one_by_one(whole, bench, wishes)
        setup = setup_of(self.table, self.checked.machines[self.extruder])
        at = OutlookBench(setup, bench.loss, whole, first, _ROOM * top)
        outlook = outlook_of(self.table, at, prove=self.prove)
        return self._told(outlook, bench, whole, first)

    def _told(self, outlook: Outlook, bench: Bench, whole: Plan, first: Plan) -> WeighNextAnswer:
        number, slow = outlook.weighed + 1, first.steps[0].flow
        plan = piece_of(whole, bench, outlook.flow, number=number, slow=slow, hot=self.hot)
        stops = tuple(stops_of(plan, self.book, light=False))
        return WeighNextAnswer(
            extruder=self.extruder,
            table=self.table.file,
            stop=outlook.stop,
            piece=self._piece(outlook, plan),
            weighed=outlook.weighed,
            most=_most(),
            limit=trade(outlook.limit, _FLOW),
            believed=trade(outlook.believed, _FLOW),
            width=outlook.width,
            wanted=outlook.wanted,
            whole_pieces=len(whole.steps),
            used=_MM * self._used(first),
            used_whole=_MM * whole.length,
            prove=self._proved(outlook),
            conditions=self._conditions(),
            gcode=self._gcode(plan, stops),
            cautions=load_words().cautions,
            stops=stops,
            remarks=tuple(self._remarks(outlook)),
        )

    def _piece(self, outlook: Outlook, plan: Plan) -> NextPiece:
        step = plan.steps[0]
        values: dict[str, float | str] = {
            "step": f"{outlook.weighed + 1}", "flow": step.flow, "speed": step.speed,
            "length": step.length, "pieces": "1",
            "note": "slow reference" if step.reference else "",
        }  # fmt: skip
        return NextPiece(
            flow=_in(_FLOW, step.flow),
            speed=_in("mm/s", step.speed),
            length=_in("mm", step.length),
            cut_away=_in("mm", weigh_numbers("plan")["step_prime"]),
            time=step.time,
            reference=outlook.reference,
            row=next_row(text_of(self.data, self.table.file), self.table.file, values),
            width_after=outlook.width_after,
            sure_after=outlook.sure_after,
        )

    def _used(self, first: Plan) -> float:
        """Return the filament fed so far, with what was cut away, [m]."""
        runs, prime = self.table.runs, weigh_numbers("plan")["step_prime"]
        fed = sum(run.length * run.pieces + prime * run.pieces for run in runs)
        return fed + first.fill if runs else 0.0

    def _proved(self, outlook: Outlook) -> ProvedFlow | None:
        if self.prove is None:
            return None
        numbers, above = weigh_numbers("next"), outlook.above
        near = numbers["at_least"] * self.prove
        by_model = all(self._flow(run) < near for run in self.table.runs)
        sure = above is not None and outlook.stop == "proved"
        answer = "open" if not sure or above is None else "yes" if above > 0.5 else "no"
        share = 0.5 if above is None else above
        return ProvedFlow(_in(_FLOW, self.prove), share, answer, by_model)

    def _conditions(self) -> Mapping[str, str]:
        return spoken(conditions_of(self.book), load_catalog())

    def _gcode(self, plan: Plan, stops: tuple[str, ...]) -> str:
        names = list(self.checked.books)
        select = self.extruder if len(names) > 1 else None
        return write_gcode(plan, self._conditions(), stops=stops, select=select, first=names[0])

    def _flow(self, run: Run) -> float:
        """Return the flow of a run, also where its speed was written down, [m3/s]."""
        area = self.book.nominal("filament.area") or 0.0
        return run.flow if run.flow is not None else (run.speed or 0.0) * area

    def _remarks(self, outlook: Outlook) -> Iterator[str]:
        skipped = [self._flow(run) for run in self.table.runs if run.skipped == "yes"]
        if skipped:
            flow = _in(_FLOW, min(skipped))
            yield f"it skipped at {flow:.1f} mm3/s: nothing faster is proposed"
        if self.hot:
            yield "the G-code leaves the heater ON for the next piece: M104 S0 turns it off"


def _in(unit: str, value: float) -> float:
    return float(parse_unit(unit).from_si(value))
