"""The job of the command: plan the edits, ask for them, write them, or take them back."""

from __future__ import annotations

import dataclasses
import os
from collections.abc import Callable, Iterable, Sequence

from advisor.answers.asks import Asks
from advisor.answers.mend_answer import answer, edit_of, jobs_of, order
from advisor.answers.mend_records import Edit, MendReport
from advisor.answers.mend_rounds import EditChoice, EditPlan, Start, make_plan
from advisor.answers.session import read_config_tree
from advisor.answers.which_configs import expand
from advisor.base import MendError, UsageError, near_miss
from advisor.files import remove
from advisor.judge import load_rulebook
from advisor.mend import (
    FileChange,
    Target,
    Written,
    backups_of,
    make_patch,
    real_path,
    undo_jobs,
    write_all,
)

__all__ = ["Ask", "choice_of", "mend", "undo"]

Ask = Callable[[Edit, int, int], str]
"""Asks for one edit, the n-th of so many: ``yes``, ``no``, ``all`` or ``quit``."""


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
