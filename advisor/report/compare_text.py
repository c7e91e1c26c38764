"""The answer of `compare` for people: who delivers what, then the finer points, then the target."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from advisor.compare_records import CompareReport, LeverAnswer, TargetReport, Variant
from advisor.model import Band
from advisor.report.bar import Scale, axis, legend, scale_for, strand
from advisor.report.clean import cell_width, plain
from advisor.report.look import Look
from advisor.report.numbers import band, figure, flow, quantity, share
from advisor.report.page import LABEL, Page, wrapped
from advisor.report.weigh_note import write_weighed

__all__ = ["render"]

FLOW = "mm3/s"
_NAME = 24  # columns of a variant's name; a longer one stands above its row
_FLOW_COLUMN, _LIKELY_COLUMN, _STAGE_COLUMN, _FEWEST_CELLS = 6, 13, 10, 12
_Row = tuple[str, ...]
_BESIDE_HEADS = ("better in", "less in", "skips at", "delivers it", "the bottleneck")
_BESIDE_WIDTHS = (11, 10, 11, 14, 30)
_FINE_HEADS = ("motor", "case", "current", "step", "lag", "retract to", "torque to")
_FINE_WIDTHS = (7, 8, 10, 9, 8, 11, 10)
_NUMBER = 4


def render(report: CompareReport, look: Look | None = None) -> str:
    """Return the answer as text."""
    page = Page(look or Look())
    for sentence in report.lacking:
        page.entry("lacking", sentence)
    write_weighed(page, report.weighed)
    if len(report.variants) + report.left_out > 1 or report.target is None:
        _write_flows(page, report)
        _write_beside(page, report)
        _write_fine(page, report.variants)
        _write_notes(page, report)
    if report.target is not None:
        _write_target(page, report.target)
    return page.render()


def _write_flows(page: Page, report: CompareReport) -> None:
    """Write one strand a variant on a common scale, with its numbers beside it."""
    if not report.variants:
        return
    page.heading(f"What each delivers in {FLOW} (likely: nine machines of ten)")
    if report.asked is not None:
        page.entry("asked", band(report.asked, FLOW))
    fixed = _NAME + _FLOW_COLUMN + _LIKELY_COLUMN + _STAGE_COLUMN
    cells = page.look.width - fixed - 1
    scale = _scale(page, report, cells) if page.look.bars and cells >= _FEWEST_CELLS else None
    if scale is None and page.look.width < fixed:
        for row in report.variants:
            page.indented(f"{row.number} {row.name}: {_in_words(row)}", 1)
        return
    head = "flow".rjust(_FLOW_COLUMN) + "  likely".ljust(_LIKELY_COLUMN) + "gives out"
    drawn = "" if scale is None else axis(scale)
    page.row((" " * _NAME + head.ljust(fixed - _NAME) + drawn, ""))
    for row in report.variants:
        drawn = "" if scale is None else strand(scale, row.capacity)
        _write_row(page, row, _flows(row) + drawn)
    if scale is not None:
        page.row((" " * LABEL + legend(scale), ""))
    if report.left_out:
        page.entry("", f"{report.left_out} more not shown (--limit)")


def _scale(page: Page, report: CompareReport, cells: int) -> Scale | None:
    known = [row.capacity for row in report.variants if row.capacity is not None]
    if not known:
        return None
    most = max(one.value for one in known)
    flows = [min(one.high, 3.0 * most) for one in known]
    asked = None if report.asked is None else report.asked.value
    return scale_for(flows=flows, asked=asked, cells=cells, drawn=page.look.drawn)


def _in_words(row: Variant) -> str:
    if row.capacity is None:
        return "not known"
    return f"{band(row.capacity, FLOW)}; the {row.bottleneck} gives out first"


def _flows(row: Variant) -> str:
    capacity = row.capacity
    if capacity is None:
        return "?".rjust(_FLOW_COLUMN) + "  not known".ljust(_LIKELY_COLUMN + _STAGE_COLUMN)
    likely = f"  {figure(capacity.low, 2)} to {figure(capacity.high, 2)}"
    return (
        flow(capacity.value).rjust(_FLOW_COLUMN)
        + likely.ljust(_LIKELY_COLUMN)
        + (row.bottleneck or "").ljust(_STAGE_COLUMN)
    )


def _write_row(page: Page, row: Variant, cells: str) -> None:
    """Write a row; a name too long for its column stands in lines of its own above."""
    label = f"{row.number} {plain(row.name)}"
    if cell_width(label) < _NAME:
        page.row((label + " " * (_NAME - cell_width(label)) + cells, ""))
        return
    lines = wrapped(label, page.look.width - _NUMBER)
    for i, line in enumerate(lines):
        page.row((line if i == 0 else " " * _NUMBER + line, ""))
    page.row((" " * _NAME + cells, ""))


def _cells(texts: Iterable[str], widths: Iterable[int]) -> str:
    pairs = zip(texts, widths, strict=True)
    return "".join(text.rjust(width) for text, width in pairs)


def _write_beside(page: Page, report: CompareReport) -> None:
    """Write how each does beside the first: how sure it is better, where the bottleneck goes."""
    if len(report.variants) < 2:
        return
    page.heading("Beside the first one, by the number above")
    first = next((row for row in report.variants if row.number == 1), None)
    if page.look.width < _NUMBER + sum(_BESIDE_WIDTHS):
        for row in report.variants:
            page.indented(f"{row.number}: {'; '.join(_beside_words(row, first))}", 1)
        return
    heads = list(_BESIDE_HEADS)
    heads[3] = heads[3] if report.asked is not None else ""
    page.row((" " * _NUMBER + _cells(heads, _BESIDE_WIDTHS), ""))
    for row in report.variants:
        cells = _cells(_beside(row, first, report), _BESIDE_WIDTHS)
        page.row((f"{row.number:<{_NUMBER}}" + cells, ""))
    page.indented(
        "better, less: the share of likely machines, each pair alike but for the change, in which "
        "it delivers more or less than the first"
        + ("; delivers it: the share that delivers what is asked." if report.asked else "."),
        1,
    )


def _beside(row: Variant, first: Variant | None, report: CompareReport) -> _Row:
    better, less = row.better_share, row.worse_share
    return (
        "-" if better is None else share(better),
        "-" if less is None else share(less),
        flow(row.skip.value) if row.skip else "?",
        share(row.delivers_asked) if report.asked and row.delivers_asked is not None else "",
        _moved(row, first),
    )


def _beside_words(row: Variant, first: Variant | None) -> Iterator[str]:
    if row.better_share is not None and row.worse_share is not None:
        yield f"better in {share(row.better_share)}, less in {share(row.worse_share)}"
    if row.delivers_asked is not None:
        yield f"delivers what is asked in {share(row.delivers_asked)}"
    if row.skip is not None:
        yield f"skips at {flow(row.skip.value)} {FLOW}"
    if row.bottleneck:
        yield f"the bottleneck: {_moved(row, first)}"


def _moved(row: Variant, first: Variant | None) -> str:
    if row.bottleneck is None or first is None or first.bottleneck is None or row.number == 1:
        return row.bottleneck or "?"
    if row.bottleneck == first.bottleneck:
        return f"stays with the {row.bottleneck}"
    return f"from {first.bottleneck} to {row.bottleneck}"


def _write_fine(page: Page, rows: Iterable[Variant]) -> None:
    page.heading("Motor, resolution and retract, by the number above")
    page.row((" " * _NUMBER + _cells(_FINE_HEADS, _FINE_WIDTHS), ""))
    units = ("g", "degC", "A RMS", "mm", "mm", "mm/s", "mm/s")
    page.row((" " * _NUMBER + _cells(units, _FINE_WIDTHS), ""))
    for row in rows:
        page.row((f"{row.number:<{_NUMBER}}" + _cells(_fine(row), _FINE_WIDTHS), ""))
    page.indented(
        "motor: its mass. case: after a long run. current: as the driver applies it; ! is above "
        "the derated current. step: filament per microstep. lag: how far the feed trails at the "
        "capacity. retract to: filament speed at which the motor is still sure. torque to: "
        "highest speed at which the torque moves a retract, looked for to 0.9 of the corner speed.",
        1,
    )


def _fine(row: Variant) -> _Row:
    mark = "!" if row.above_derated else ""
    return (
        _digits(row.motor_mass, 2),
        _digits(row.case_temperature, 2),
        mark + _digits(row.run_current, 3),
        _digits(row.microstep, 2),
        _digits(row.lag, 2),
        _digits(row.retract_trusted, 2),
        _digits(row.retract_torque, 2),
    )


def _digits(estimate: Band | None, digits: int) -> str:
    return "-" if estimate is None else figure(estimate.value, digits)


def _write_notes(page: Page, report: CompareReport) -> None:
    told: dict[str, list[str]] = {}
    for row in report.variants:
        for note in row.notes:
            told.setdefault(note, []).append(str(row.number))
    hot = [str(row.number) for row in report.variants if row.above_derated]
    if hot:
        told["the current is above what this motor bears for long: set motor.run_current=derated"
             ] = hot  # fmt: skip
    if not told:
        return
    page.heading("Mind")
    for note, numbers in told.items():
        page.entry(", ".join(numbers) if len(numbers) <= 3 else f"{numbers[0]}, ...", f"{note}.")


def _write_target(page: Page, target: TargetReport) -> None:
    page.heading(f"To reach {flow(target.target)} {FLOW} by changing one thing alone")
    if target.capacity is None or target.reached is None:
        page.entry("answer", "not known: the capacity is not known")
        return
    if target.lowered_to is not None:
        words = f"{quantity(target.lowered_to, 'A rms')}: the run current is more than this motor "
        page.entry("set first", f"{words}bears for long, so all below is at that current")
    if target.reached:
        words = f"it reaches it as it is: {band(target.capacity, FLOW)}"
        page.entry("answer", words, style="strong")
        return
    page.entry("now", band(target.capacity, FLOW))
    reaching = [lever for lever in target.levers if lever.to is not None]
    if not reaching:
        page.entry("answer", "no change of one thing within its limits reaches it", style="strong")
    for i, lever in enumerate(reaching):
        page.entry("smallest" if i == 0 else "or", _reaches(lever))
    rest = [lever for lever in target.levers if lever.to is None]
    if rest:
        page.heading("What does not reach it")
        for lever in rest:
            page.indented(_falls_short(lever), 1)


def _reaches(lever: LeverAnswer) -> str:
    if lever.now is None or lever.to is None or lever.capacity is None:
        return lever.title
    assumed = " (assumed)" if lever.assumed else ""
    less = "" if lever.one_step_less is None else f", one step less {flow2(lever.one_step_less)}"
    note = f"; {lever.note}" if lever.note else ""
    return (
        f"{lever.title} {quantity(lever.now, lever.unit, 4)}{assumed} -> "
        f"{quantity(lever.to, lever.unit, 4)}: {flow2(lever.capacity.value)} {FLOW}{less}; "
        f"reached in {share(lever.sure or 0.0)} of likely machines, then the "
        f"{lever.bottleneck} gives out first{note}"
    )


def flow2(value: float) -> str:
    """Return a flow with the two decimals that show one step."""
    return f"{value:.2f}"


def _falls_short(lever: LeverAnswer) -> str:
    bound = ""
    if lever.limit is not None:
        bound = f" (up to {quantity(lever.limit, lever.unit, 4)}: {lever.limited_by})"
    if lever.best is None or lever.capacity is None:
        return f"{lever.title}: no gain{bound}"
    return (
        f"{lever.title}: at most {flow2(lever.capacity.value)} {FLOW}, at "
        f"{quantity(lever.best, lever.unit, 4)}{bound}"
    )
