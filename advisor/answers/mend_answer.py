"""Makes the answer of `mend` from a plan: edits with their reasons, what is left, the diff."""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence

from advisor.answers.formula_words import in_numbers
from advisor.answers.lint import CheckedConfig
from advisor.answers.mend_records import ByHand, CapacityChange, Edit, MendReport
from advisor.answers.mend_rounds import EditChoice, EditPlan, EditStep
from advisor.base import Finding, MendError, Report
from advisor.catalog import load_catalog
from advisor.judge import load_rulebook
from advisor.machine import band_of
from advisor.mend import FileChange, Job, check_place, make_patch, place_notes

__all__ = ["answer", "edit_of", "jobs_of", "order"]


def answer(
    plan: EditPlan, choice: EditChoice, *, shown: Callable[[FileChange], bool]
) -> MendReport:
    """Return the answer of a plan of which nothing is written.

    Parameters
    ----------
    plan : EditPlan
        The edits.
    choice : EditChoice
        Which rules may edit.
    shown : callable
        Whether a change is part of the diff.
    """
    report = plan.after.report
    by_hand = [ByHand(finding, reason) for finding, reason in plan.by_hand(choice)]
    own = {id(one.finding) for one in by_hand}
    changes = [change for change in order(plan) if shown(change)]
    edited = {change.target.real: plan.edited[change.target.real] for change in changes}
    patch = make_patch(plan.files.first, edited)
    return MendReport(
        config=plan.config,
        edits=tuple(edit_of(plan, change) for change in order(plan)),
        by_hand=tuple(by_hand),
        left=tuple(one for one in report.findings if id(one) not in own),
        brought=tuple(_brought(plan.before.report, report)),
        capacity=tuple(_capacities(plan)),
        patch=patch.data,
        patch_folder=patch.folder,
        notes=tuple(_notes(plan, changes)),
        allowed=len(report.allowed),
        files=report.files,
        errors=plan.before.report.errors,
    )


def order(plan: EditPlan) -> list[FileChange]:
    """Return the changes by file, the root first, then by line."""
    names = [status.path for status in plan.before.report.files]
    rank = {name: index for index, name in enumerate(names)}

    def place(change: FileChange) -> tuple[int, str, int, int, str]:
        at = change.located.at
        return rank.get(at.file, len(rank)), at.file, at.line, at.column, change.setting

    return sorted(plan.changes.values(), key=place)


def edit_of(plan: EditPlan, change: FileChange) -> Edit:
    """Return a change with its reasons, and what becomes of the rules that asked for it."""
    steps = plan.steps[change.target]
    first = {step.finding.rule: step.finding for step in reversed(steps)}
    rules = list(dict.fromkeys(step.finding.rule for step in steps))
    left = _still_told(plan.after, steps)
    basis = _basis(plan.after, steps[-1].finding)
    return Edit(
        at=change.located.at,
        role=change.target.role,
        section=change.target.section or None,
        setting=change.setting,
        old=change.old,
        new=change.new,
        extruder=steps[0].finding.extruder,
        findings=tuple(first[rule] for rule in rules),
        cured=tuple(rule for rule in rules if rule not in left),
        eased=tuple(rule for rule in rules if rule in left),
        basis=basis[0],
        basis_fact=basis[1],
        words=change.located.words,
    )


def _basis(after: CheckedConfig, finding: Finding) -> tuple[str | None, str | None]:
    """Return what a new value is in words, and the fact it is where it is one."""
    rule = load_rulebook().find(finding.rule)
    if rule is None or rule.fix is None or not rule.fix.to.facts:
        return None, None
    name = rule.fix.to.text.strip()
    info = load_catalog().facts.get(name)
    if info is None:
        return rule.fix_text, None
    book = after.books.get(finding.extruder or "")
    fact = book.facts.get(name) if book is not None else None
    if book is None or fact is None or fact.trace.formula is None:
        return info.title, name
    formula = in_numbers(fact.trace.formula, book.facts) or fact.trace.formula
    return f"{info.title} ({formula})", name


def _still_told(after: CheckedConfig, steps: Sequence[EditStep]) -> set[str]:
    asked = {(step.finding.rule, step.finding.extruder) for step in steps}
    return {
        finding.rule
        for finding in after.report.findings
        if (finding.rule, finding.extruder) in asked
    }


def _brought(before: Report, after: Report) -> Iterator[Finding]:
    """Yield findings that are new, or graver than before, by rule and extruder."""
    known = Counter(_kinds(before.findings))
    for finding in after.findings:
        for level in range(finding.level.rank, 4):
            kind = (finding.rule, finding.extruder, level)
            if known[kind]:
                known[kind] -= 1
                break
        else:
            yield finding


def _kinds(findings: Iterable[Finding]) -> Iterator[tuple[str, str | None, int]]:
    return ((one.rule, one.extruder, one.level.rank) for one in findings)


def _capacities(plan: EditPlan) -> Iterator[CapacityChange]:
    for name in plan.after.machines:
        books = [checked.books.get(name) for checked in (plan.before, plan.after)]
        bands = [band_of(book.facts.get("flow.capacity")) if book else None for book in books]
        yield CapacityChange(name, bands[0], bands[1], plan.after.taken[name].bottleneck[0])


def _notes(plan: EditPlan, changes: Iterable[FileChange]) -> Iterator[str]:
    for job in jobs_of(plan, changes):
        yield from place_notes(job.shown, job.real, job.folder)
        try:
            check_place(job.shown, job.real, job.folder)
        except MendError as err:
            yield f"{err.problem[:1].upper()}{err.problem[1:]}; it will not be written."


def jobs_of(plan: EditPlan, changes: Iterable[FileChange]) -> list[Job]:
    """Return what is to be written for a set of changes, one job a file, in their order.

    The changes are all those of their files: the bytes are the ones the plan has checked.
    """
    jobs: dict[str, Job] = {}
    for change in changes:
        real, file = change.target.real, change.located.file
        home = plan.config if change.target.role == "config" else file
        before, after = plan.files.first[real], plan.edited[real]
        jobs.setdefault(real, Job(file, real, os.path.dirname(home) or ".", before, after))
    return list(jobs.values())
