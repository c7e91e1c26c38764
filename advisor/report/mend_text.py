"""What `mend` has to say beside its diff: why each edit, what it leaves, what to do next."""

from __future__ import annotations

from collections.abc import Iterable
from shlex import quote as quoted

from advisor.answers import ByHand, Edit, MendReport
from advisor.base import Band, Finding, Level
from advisor.report.clean import plain
from advisor.report.findings_text import place, sentences_of
from advisor.report.look import Look
from advisor.report.numbers import ranged, share
from advisor.report.page import Page
from advisor.report.words import advice_words, by_stage

__all__ = ["question", "render"]

FLOW = "mm3/s"
_CERTAIN = 0.995
_MOST = 5  # findings of a kind shown in full; lint shows all
RESTART = (
    "Restart the firmware so that it reads the new text. Then feed slowly by hand and watch the "
    "machine before you print. Motor and hotend may be hot."
)


def render(report: MendReport, look: Look | None = None, *, arguments: tuple[str, ...] = ()) -> str:
    """Return the summary as text.

    Parameters
    ----------
    report : MendReport
        What was worked out.
    look : Look, optional
        Width, drawing and colour.
    arguments : tuple of str, optional
        Config and options as they were given, to name the next command.
    """
    page = Page(look or Look(), written=True)
    if report.patch:
        page.row()
    if report.undone:
        _write_undone(page, report)
        return page.render()
    explained: set[str] = set()
    told: set[str] = set()
    for number, edit in enumerate(report.edits, 1):
        page.blank()
        label = f"edit {number}" if len(report.edits) > 1 else "edit"
        _write_edit(page, edit, label, told)
        if edit.basis_fact is not None and edit.basis_fact not in explained:
            explained.add(edit.basis_fact)
            page.entry("  see", f"feedwright explain {edit.basis_fact} {quoted(report.config)}")
    _write_by_hand(page, report.by_hand)
    _write_after(page, report)
    _write_next(page, report, arguments)
    return page.render()


def question(edit: Edit, number: int, count: int, look: Look | None = None) -> str:
    """Return the question for one edit."""
    page = Page(look or Look(), written=True)
    _write_edit(page, edit, f"edit {number}/{count}", set())
    page.row(("make it?  y yes   n no   a this and all that follow   q none at all", ""))
    return page.render()


def _write_edit(page: Page, edit: Edit, label: str, told: set[str]) -> None:
    """Write one edit; a caution that is among those `told` is not said again."""
    page.entry(label, _change(edit), label_style="strong", style="strong")
    page.entry("  where", "; ".join((_where(edit), *edit.words)))
    for finding in edit.findings:
        sure = ""
        if finding.sure < _CERTAIN:
            sure = f" ({share(finding.sure)} sure)"
        page.entry("  because", f"{finding.message}{sure}")
    if edit.basis:
        page.entry("  to", edit.basis)
    if edit.cured:
        page.entry("  fixes", ", ".join(edit.cured))
    if edit.eased:
        words = f"{', '.join(edit.eased)}: right for the typical machine now, not for every one"
        page.entry("  helps", words)
    cautions = [one.caution for one in edit.findings if one.caution]
    sentences = [x for x in sentences_of(cautions) if x not in told]
    told.update(sentences)
    if sentences:
        page.entry("  caution", " ".join(sentences))


def _change(edit: Edit) -> str:
    if edit.old is None:
        return f"{edit.setting}: {edit.new} (new)"
    return f"{edit.setting}: {edit.old} -> {edit.new}"


def _where(edit: Edit) -> str:
    section = f" in [{edit.section}]" if edit.section and edit.old is not None else ""
    return f"{place(edit.at)}{section}"


def _write_by_hand(page: Page, changes: Iterable[ByHand]) -> None:
    for number, one in enumerate(changes):
        if not number:
            page.heading("For you to change by hand")
        finding = one.finding
        fix = finding.fix
        if fix is not None:
            page.entry("set", f"{fix.setting}: {fix.new}", label_style="strong")
        if finding.at is not None:
            page.entry("  where", place(finding.at))
        page.entry("  because", finding.message)
        page.entry("  no edit", one.reason)
        if finding.caution:
            page.entry("  caution", finding.caution)


def _write_after(page: Page, report: MendReport) -> None:
    if report.edits:
        page.heading("With these edits")
        for change in report.capacity:
            whose = f"{change.extruder}: " if len(report.capacity) > 1 else ""
            page.entry("capacity", f"{whose}{_flows(change.before, change.after)}")
    else:
        page.heading("Nothing to edit")
    for note in report.notes:
        page.entry("file", note)
    brought = [one for one in by_stage(report.left) if one in report.brought]
    others = [one for one in by_stage(report.left) if one not in report.brought]
    see = f"feedwright lint {quoted(report.config)}"
    _write_findings(page, "New with these edits", brought, see)
    _write_findings(page, "Left to you", others, see)
    if report.allowed:
        page.blank()
        page.entry("allowed", f"{report.allowed} by the owner (--no-allow shows them)")
    if not report.left and not report.by_hand:
        page.blank()
        page.entry("left", "nothing to report")


def _write_findings(page: Page, heading: str, findings: list[Finding], see: str) -> None:
    """Write the gravest findings in full, and count the rest."""
    if not findings:
        return
    page.heading(heading)
    loud = [one for one in findings if one.level is not Level.NOTE]
    loud.sort(key=lambda one: -one.level.rank)
    for finding in loud[:_MOST]:
        _write_left(page, finding)
    quiet = [one.rule for one in findings if one.level is Level.NOTE]
    if quiet:
        page.entry("note", ", ".join(dict.fromkeys(quiet)))
    if len(loud) > _MOST:
        more = len(loud) - _MOST
        page.entry(
            "more",
            f"{more} error{'s' if more > 1 else ''} or warning{'s' if more > 1 else ''}: {see}",
        )


def _flows(before: Band | None, after: Band | None) -> str:
    if before is None or after is None:
        return "not known"
    if before == after:
        return f"{ranged(after, FLOW)}, as before"
    return f"{ranged(before, FLOW)} before, {ranged(after, FLOW)} with the edits"


def _write_left(page: Page, finding: Finding) -> None:
    level = finding.level.value
    page.entry(level, finding.message, label_style=level)
    if finding.at is not None:
        page.entry("  where", place(finding.at))
    if finding.advice:
        page.entry("  fix", advice_words(finding.advice))


def _write_next(page: Page, report: MendReport, arguments: tuple[str, ...]) -> None:
    if not report.edits:
        return
    page.blank()
    command = " ".join(("feedwright mend", *map(quoted, arguments)))
    if report.written:
        _write_written(page, report, command)
        return
    roles = dict.fromkeys(edit.role for edit in report.edits)
    options = " ".join({"config": "--write", "profile": "--write-profile"}[role] for role in roles)
    page.entry("written", "nothing yet", label_style="strong")
    page.entry("to write", f"{command} {options}")
    folder = "" if report.patch_folder == "." else f" -d {quoted(report.patch_folder)}"
    page.entry("or", f"put the diff in a file and run patch{folder} -p1 < FILE")


def _write_written(page: Page, report: MendReport, command: str) -> None:
    page.entry("written", ", ".join(report.written), label_style="strong", style="strong")
    for backup in report.backups:
        page.entry("old text", backup)
    page.entry("undo", f"{command} --undo")
    for edit in report.edits:
        if not edit.written:
            where = "in the slicer, or add --write-profile"
            where = where if edit.role == "profile" else "or add --write"
            page.entry("not yet", f"{_change(edit)} ({_where(edit)}): set it {where}")
    page.entry("now", RESTART, label_style="strong")


def _write_undone(page: Page, report: MendReport) -> None:
    page.entry("put back", plain(", ".join(report.written)), label_style="strong")
    page.entry("now", RESTART, label_style="strong")
