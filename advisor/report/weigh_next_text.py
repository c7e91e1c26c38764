"""The next piece of a weighed test for people: what to feed, what it settles, when to stop."""

from __future__ import annotations

from collections.abc import Iterator
from shlex import quote

from advisor.report.look import Look
from advisor.report.numbers import figure, flow, ranged, share
from advisor.report.page import Page
from advisor.weigh import NextPiece, ProvedFlow, WeighNextAnswer

__all__ = ["render"]

FLOW = "mm3/s"
_METRE = 1e3
_MINUTE = 60.0
_SURE = 0.95
_SAME = 0.95  # a range that stays wider than this part of it is told as unchanged


def render(report: WeighNextAnswer, look: Look | None = None, *, full: bool = False) -> str:
    """Return the answer as text; with `full` where pieces and model together put the limit."""
    page = Page(look or Look(), written=True)
    if report.piece is None:
        page.entry("next", "no piece is planned", label_style="strong", style="strong")
        for sentence in report.refused:
            page.entry("", sentence)
        return page.render() if report.refused else ""
    page.entry("answer", _answer(report, report.piece), label_style="strong", style="strong")
    if report.prove is not None:
        page.entry("proof", _proof(report.prove, report))
    for label, words in _reading(report, report.piece, full=full):
        page.entry(label, words)
    for remark in report.remarks:
        page.entry("note", remark)
    for number, words in enumerate(_then(report, report.piece)):
        page.entry("" if number else "then", words)
    if report.limit is not None or report.believed is not None:
        page.entry("", "In brackets: the range that holds 9 times in 10.")
    for number, stop in enumerate(report.stops):
        page.entry("" if number else "stop at", stop, label_style="warning")
    for number, caution in enumerate(report.cautions):
        page.entry("" if number else "caution", caution, label_style="warning")
    return page.render()


def _answer(report: WeighNextAnswer, piece: NextPiece) -> str:
    if report.stop is None:
        what = "the slow reference" if piece.reference else "a piece"
        return f"weigh {what} at {_fed(piece)}"
    if report.stop == "width":
        return "stop here: the range is as narrow as the whole test would make it"
    if report.stop == "pieces":
        return f"stop here: {report.weighed} pieces are weighed{_still_wide(report)}"
    if report.stop == "little":
        return "stop here: no piece that may be run would tell much more"
    prove = report.prove
    assert prove is not None
    way = "yes, under-extrusion starts above" if prove.answer == "yes" else (
        "no, under-extrusion starts below")  # fmt: skip
    return f"stop here: {way} {flow(prove.flow)} {FLOW}"


def _still_wide(report: WeighNextAnswer) -> str:
    if report.prove is not None:
        return "; it is still open"
    if report.width is None:
        return "; none shows for sure where under-extrusion starts"
    wide = report.wanted is not None and report.width > report.wanted
    return "; the range is still wider than the whole test would make it" if wide else ""


def _fed(piece: NextPiece) -> str:
    return (
        f"{flow(piece.flow)} {FLOW}: feed {figure(piece.length)} mm at {piece.speed:.2f} mm/s of "
        f"filament, {_time(piece.time)}; before it {figure(piece.cut_away)} mm to cut away"
    )


def _time(seconds: float) -> str:
    if seconds < 2 * _MINUTE:
        return f"{seconds:.0f} s"
    return f"{int(seconds // _MINUTE)} min {seconds % _MINUTE:.0f} s"


def _proof(prove: ProvedFlow, report: WeighNextAnswer) -> str:
    if report.weighed == 0 or (report.piece is not None and report.piece.reference):
        return f"whether the limit is above {flow(prove.flow)} {FLOW}: nothing is weighed yet"
    above = prove.above >= 0.5
    way = "above" if above else "below"
    words = f"{_sure(max(prove.above, 1 - prove.above))} sure that the limit is {way}"
    words += f" {flow(prove.flow)} {FLOW}"
    if prove.by_model:
        near = flow(0.9 * prove.flow)
        words += f"; that rests mostly on the model: no piece at {near} {FLOW} or above was weighed"
    return words


def _sure(part: float) -> str:
    return "over 99 %" if part > 0.99 else share(part)


def _reading(report: WeighNextAnswer, piece: NextPiece, *, full: bool) -> Iterator[tuple[str, str]]:
    if words := _settles(report, piece):
        yield "one more" if report.stop is not None else "settles", words
    yield "so far", _so_far(report)
    if full and report.believed is not None:
        yield "", f"by the pieces and the model together {ranged(report.believed, FLOW)}"
    if report.stop is None:
        yield "enough", _ends(report)
    if report.weighed:
        yield "filament", _used(report)


def _settles(report: WeighNextAnswer, piece: NextPiece) -> str:
    """Return what the piece would make of the reading; nothing where that is not known yet."""
    at = f"a piece at {flow(piece.flow)} {FLOW} " if report.stop is not None else ""
    if piece.reference:
        return "what all others are set against"
    if piece.sure_after is not None and report.prove is not None:
        return (
            f"{at}{'would settle ' if at else ''}whether the limit is above "
            f"{flow(report.prove.flow)} {FLOW}: {_sure(piece.sure_after)} sure after it, as "
            "expected"
        )
    if piece.width_after is not None:
        return _narrows(report, piece.width_after, at)
    if report.stop is not None:
        return f"{at}would most likely not show under-extrusion either"
    return "whether it under-extrudes there; a range takes more pieces"


def _narrows(report: WeighNextAnswer, after: float, at: str) -> str:
    """Return what the piece should make of the range's width."""
    now = "" if report.width is None else f", now {_percent(report.width)} wide,"
    if report.width is not None and after > _SAME * report.width:
        if at:
            return f"{at}would leave the range{now} as wide as it is"
        return f"which part of the range{now} holds; it may stay as wide for one more piece"
    would = "would make" if at else "where under-extrusion starts:"
    return f"{at}{would} the range{now} {'' if at else 'should be '}about {_percent(after)} wide"


def _so_far(report: WeighNextAnswer) -> str:
    pieces = f"{report.weighed} piece{'' if report.weighed == 1 else 's'} weighed"
    if report.weighed == 0:
        return "nothing is weighed yet"
    if report.limit is not None:
        return f"under-extrusion starts at {ranged(report.limit, FLOW)}; {pieces}"
    if report.believed is not None:
        return f"{pieces}; with the model the limit is at {ranged(report.believed, FLOW)}"
    return pieces


def _ends(report: WeighNextAnswer) -> str:
    if report.prove is not None:
        return f"when it is {share(_SURE)} sure, from 3 pieces on, or at {report.most} pieces"
    if report.wanted is None:
        return (
            "when the range is as narrow as the whole test's, twice running, or at "
            f"{report.most} pieces"
        )
    return (
        f"when the range is {_percent(report.wanted)} wide or less twice running, as the "
        f"{report.whole_pieces} pieces of the whole test would make it; or at {report.most} pieces"
    )


def _used(report: WeighNextAnswer) -> str:
    whole = "" if report.used_whole is None else (
        f"; the whole test takes {figure(report.used_whole / _METRE)} m")  # fmt: skip
    return f"{figure(report.used / _METRE, 2)} m fed so far{whole}"


def _then(report: WeighNextAnswer, piece: NextPiece) -> Iterator[str]:
    if report.stop is not None:
        read = f"feedwright weigh read {quote(report.table)} --config {quote(report.config)}"
        yield f"read it: {read}"
        yield f"or go on with one more: {_fed(piece)}"
        return
    if not piece.row:
        yield "cut it, weigh it, fill in mass and skipped in its row; then ask again"
        return
    yield "cut it, weigh it, add its row with mass and skipped (yes, no); then ask again:"
    yield piece.row


def _percent(part: float) -> str:
    return f"{figure(100 * part, 2)} %"
