"""Answers `mend`: plan the edits, ask for them, write them, or take them back.

The answer is made of a plan: edits with their reasons, what is left, the diff.
"""

from __future__ import annotations

import dataclasses
import os
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence

from advisor.answers.asks import Asks
from advisor.answers.build_records import ByHand, CapacityChange, Edit, MendReport
from advisor.answers.checked import CheckedConfig
from advisor.answers.condition_words import in_numbers
from advisor.answers.mend_rounds import EditChoice, EditPlan, EditStep, Start, make_plan
from advisor.answers.session import read_config_tree
from advisor.answers.which_configs import expand
from advisor.base import Finding, MendError, Report, UsageError, near_miss
from advisor.catalog import load_catalog
from advisor.files import remove
from advisor.judge import load_rulebook
from advisor.machine import band_of
from advisor.mend import (
    FileChange,
    Job,
    Target,
    Written,
    backups_of,
    check_place,
    make_patch,
    place_notes,
    real_path,
    undo_jobs,
    write_all,
)

__all__ = ["Ask", "answer", "choice_of", "edit_of", "jobs_of", "mend", "order", "undo"]

Ask = Callable[[Edit, int, int], str]
"""Asks for one edit, the n-th of so many: ``yes``, ``no``, ``all`` or ``quit``."""


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


def choice_of(only: Iterable[str], skip: Iterable[str]) -> EditChoice:
    """Return the choice of rules.

    Raises
    ------
    UsageError
        For a rule that does not exist, or that has no fix.
    """
    only, skip = frozenset(only), frozenset(skip)
    rules = load_rulebook().by_name
    fixing = [name for name, rule in rules.items() if rule.fix is not None]
    for name in sorted(only | skip):
        if name not in rules:
            hint = near_miss(name, rules) or "'feedwright lint' names the rule of each finding"
            raise UsageError(f"there is no rule '{name}'", hint)
    for name in sorted(only):
        if name not in fixing:
            raise UsageError(
                f"the rule '{name}' has no fix that could be an edit", "see its advice"
            )
    return EditChoice(only, skip)


def mend(
    config: str,
    asks: Asks,
    *,
    choice: EditChoice | None = None,
    write: bool = False,
    write_profile: bool = False,
    ask: Ask | None = None,
    start: Start | None = None,
) -> MendReport:
    """Return the edits that cure what fixes can cure, and write them where asked to.

    Parameters
    ----------
    config : str
        A config, or a folder with one.
    asks : Asks
        Sheet, profiles and what else the command line states.
    choice : EditChoice, optional
        Which rules may edit.
    write, write_profile : bool
        Whether to write the edits of the config and its includes, and those of the profiles.
    ask : callable, optional
        Asks for each edit.
    start : Start, optional
        The config as it is, worked out with the same asks; from the disk where not given.

    Raises
    ------
    UsageError
        For a command line that cannot be.
    MendError
        If the edits cannot be made together, or a file cannot be written.
    """
    config, choice = _one_config(config), choice or EditChoice()
    plan = make_plan(config, asks, choice, start)
    if ask is not None:
        plan, choice = _asked(plan, choice, ask)
    roles = _roles(write=write, write_profile=write_profile)

    def shown(change: FileChange) -> bool:
        return not roles or change.target.role in roles

    report = answer(plan, choice, shown=shown)
    chosen = [change for change in order(plan) if shown(change)]
    if not roles or not chosen or report.errors:
        return report
    edits = (dataclasses.replace(edit_of(plan, one), written=shown(one)) for one in order(plan))
    report = dataclasses.replace(report, edits=tuple(edits))
    return _with_written(report, write_all(jobs_of(plan, chosen)))


def _with_written(report: MendReport, written: Sequence[Written]) -> MendReport:
    """Return a report that names the files written, their backups, and who owns them now."""
    owners = [
        f"'{one.shown}' belongs to you now; its owner could not be kept."
        for one in written
        if not one.owner_kept
    ]
    return dataclasses.replace(
        report,
        written=tuple(one.shown for one in written),
        backups=tuple(_near(one.shown, one.backup) for one in written if one.backup is not None),
        notes=(*report.notes, *owners),
    )


def _near(shown: str, path: str) -> str:
    """Return the path of a file beside another as the user would write it."""
    near = os.path.join(os.path.dirname(shown), os.path.basename(path))
    return near if real_path(near) == path else path


def _roles(*, write: bool, write_profile: bool) -> set[str]:
    return {role for role, wanted in (("config", write), ("profile", write_profile)) if wanted}


def _one_config(config: str) -> str:
    if config == "-":
        raise UsageError("standard input cannot be mended", "name the file")
    roots = expand([config])
    if len(roots) > 1:
        raise UsageError(f"'{config}' holds {len(roots)} configs", f"name one: {', '.join(roots)}")
    return roots[0]


def _asked(plan: EditPlan, choice: EditChoice, ask: Ask) -> tuple[EditPlan, EditChoice]:
    """Ask for each edit; where one is declined, plan anew without it and ask for what changed."""
    accepted: dict[Target, str] = {}
    while True:
        changes = order(plan)
        waiting = [one for one in changes if accepted.get(one.target) != one.new]
        if not waiting:
            return plan, choice
        change = waiting[0]
        reply = ask(edit_of(plan, change), changes.index(change) + 1, len(changes))
        if reply == "all":
            return plan, choice
        declined = {one.target for one in changes} if reply == "quit" else {change.target}
        if reply == "yes":
            accepted[change.target] = change.new
            continue
        choice = dataclasses.replace(choice, declined=choice.declined | declined)
        plan = make_plan(
            plan.config, plan.asks, choice, Start(plan.before, plan.files, plan.family)
        )


def undo(config: str, asks: Asks) -> MendReport:
    """Take back the newest mend of a config, its includes and the profiles given.

    Raises
    ------
    MendError
        If there is none, or a file was changed since.
    """
    config = _one_config(config)
    files: dict[str, tuple[str, str]] = {}
    for document in read_config_tree(config, asks).documents:
        if document.outside:
            continue
        place = document.path, os.path.dirname(config) or "."
        files.setdefault(real_path(document.path), place)
    for path in asks.profiles:
        files.setdefault(real_path(path), (path, os.path.dirname(path) or "."))
    while backups := backups_of(files):
        jobs, idle = undo_jobs(backups)
        if jobs:
            patch = make_patch({job.real: job.before for job in jobs},
                               {job.real: job.after for job in jobs})  # fmt: skip
            written = write_all(jobs)
            _remove_all(idle)
            names = tuple(one.shown for one in written)
            return MendReport(config, patch=patch.data, patch_folder=patch.folder,
                              written=names, undone=True)  # fmt: skip
        _remove_all(idle)
    raise MendError(f"there is no backup of '{config}' to take back", "nothing was changed")


def _remove_all(paths: Iterable[str]) -> None:
    for path in paths:
        remove(path)
