"""Turns the fixes of findings into one set of edits that is consistent together.

A lower current lowers the torque, which lowers what the slicer may ask: so the machine is worked
out again with the edits made in memory, until no fix is left that could be made.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from advisor.answers.asks import Asks
from advisor.answers.checked import CheckedConfig, Family
from advisor.answers.lint import check_config
from advisor.answers.session import need_sheet
from advisor.base import Finding, Fix, InputError, MendError
from advisor.catalog import load_catalog
from advisor.judge import load_rulebook
from advisor.mend import (
    FileChange,
    Located,
    NoPlaceError,
    Snapshot,
    Target,
    edited_bytes,
    locate,
    refusal,
    verify_files,
    violations,
)

__all__ = ["EditChoice", "EditPlan", "EditStep", "Start", "make_plan", "start_of"]

MAX_ROUNDS = 12
_Proposal = tuple[Finding, Fix, Located]
_STUCK = "the edit would change nothing: another value counts"
_DECLINED = "you declined it"


@dataclass(frozen=True, slots=True)
class EditChoice:
    """Which rules may edit, and which settings the user does not want to be edited."""

    only: frozenset[str] = frozenset()  # empty: all
    skip: frozenset[str] = frozenset()
    declined: frozenset[Target] = frozenset()

    def takes(self, rule: str) -> bool:
        """Whether a rule may edit."""
        return rule not in self.skip and (not self.only or rule in self.only)


@dataclass(frozen=True, slots=True)
class EditStep:
    """What one rule did to a setting in one round."""

    finding: Finding
    old: str | None
    new: str

    @property
    def way(self) -> int:
        """1 for up, -1 for down, 0 for a new line."""
        return 0 if self.old is None else _sign(float(self.new) - float(self.old))


@dataclass(frozen=True, slots=True)
class Start:
    """A config worked out as it is, the files it was read from, and what edits leave as it is."""

    before: CheckedConfig
    files: Snapshot
    family: Family


def start_of(config: str, asks: Asks, family: Family | None = None) -> Start:
    """Return a config as it is on the disk.

    Parameters
    ----------
    config : str
        A config file.
    asks : Asks
        Sheet, profiles and what else the command line states.
    family : Family, optional
        What was worked out of this config before.
    """
    files, family = Snapshot(), family or Family()
    return Start(check_config(config, asks, files=files, family=family), files, family)


@dataclass(frozen=True, slots=True)
class _Worked:
    """The config worked out with some changes made, and the texts with them."""

    changes: tuple[FileChange, ...]
    checked: CheckedConfig
    edited: dict[str, bytes]


@dataclass(slots=True)
class EditPlan:
    """A consistent set of edits, and the config worked out without and with them."""

    config: str
    asks: Asks
    before: CheckedConfig
    after: CheckedConfig
    files: Snapshot
    changes: dict[Target, FileChange] = field(default_factory=dict)
    steps: dict[Target, list[EditStep]] = field(default_factory=dict)
    kept: dict[Target, str] = field(default_factory=dict)  # not to be edited, and why
    edited: dict[str, bytes] = field(default_factory=dict)
    family: Family = field(default_factory=Family)  # what the rounds' machines have in common
    worked: list[_Worked] = field(default_factory=list)  # the last two

    def work_out(self) -> None:
        """Work the machine out again, with all changes made."""
        self.after, self.edited = self.with_only(self.changes.values())

    def with_only(self, changes: Iterable[FileChange]) -> tuple[CheckedConfig, dict[str, bytes]]:
        """Return the machine with some changes made to the files as they were, and the texts.

        What was worked out with the same changes before, or with none, is so no second time.
        """
        wanted = tuple(changes)
        if not wanted:
            return self.before, {}
        found = next((one for one in self.worked if one.changes == wanted), None)
        if found is None:
            edited = edited_bytes(self.files.first, wanted)
            laid = Snapshot(self.files.first, edited)
            checked = check_config(self.config, self.asks, files=laid, family=self.family)
            found = _Worked(wanted, checked, edited)
            self.worked = [*self.worked[-1:], found]
        return found.checked, found.edited

    def by_hand(self, choice: EditChoice) -> Iterator[tuple[Finding, str]]:
        """Yield the findings whose fix is left to a person, and why."""
        for finding in self.after.report.findings:
            if finding.fix is not None and choice.takes(finding.rule):
                try:
                    _editable(self, self.after, finding, finding.fix)
                except NoPlaceError as err:
                    yield finding, str(err)


def make_plan(
    config: str, asks: Asks, choice: EditChoice | None = None, start: Start | None = None
) -> EditPlan:
    """Return the edits that cure what fixes can cure.

    Parameters
    ----------
    config : str
        A config file.
    asks : Asks
        Sheet, profiles and what else the command line states.
    choice : EditChoice, optional
        Which rules may edit.
    start : Start, optional
        The config as it is, worked out with the same asks; from the disk where not given.

    Raises
    ------
    MendError
        If rules pull against each other, or the edits find no end.
    SheetError
        If the sheet cannot be used.
    """
    choice, start = choice or EditChoice(), start or start_of(config, asks)
    before = start.before
    need_sheet(before.report.files)
    plan = EditPlan(config, asks, before, before, start.files, family=start.family)
    plan.kept = dict.fromkeys(choice.declined, _DECLINED)
    for _ in range(MAX_ROUNDS):
        if plan.before.report.errors or not _round(plan, choice):
            _settle(plan, choice)
            _check_self(plan, choice)
            return plan
        plan.work_out()
    raise MendError(_no_end(plan), "mend with --only one of them, or set the value by hand")


def _round(plan: EditPlan, choice: EditChoice) -> bool:
    """Take up the fixes of the present findings; return whether anything changed."""
    changed = False
    for target, group in _fixes(plan, choice).items():
        changed |= _take(plan, target, group)
    return changed


def _fixes(plan: EditPlan, choice: EditChoice) -> dict[Target, list[_Proposal]]:
    """Return the fixes of the present findings that can be made, by the setting they are about."""
    fixes: dict[Target, list[_Proposal]] = {}
    for finding in plan.after.report.findings:
        if finding.fix is None or not choice.takes(finding.rule):
            continue
        try:
            located = _editable(plan, plan.after, finding, finding.fix)
        except NoPlaceError:
            continue
        fixes.setdefault(located.target, []).append((finding, finding.fix, located))
    return fixes


def _editable(plan: EditPlan, checked: CheckedConfig, finding: Finding, fix: Fix) -> Located:
    """Return where a fix would be made, or raise NoPlaceError with the reason why it is not."""
    if checked.tree is None:
        raise NoPlaceError("the config could not be read")
    files = Snapshot(plan.files.first, plan.edited)
    located = locate(fix, checked.tree, plan.asks.profiles, files)
    if located.target in plan.kept:
        raise NoPlaceError(plan.kept[located.target])
    rule = load_rulebook().find(finding.rule)
    fact = rule.fix.fact if rule is not None and rule.fix is not None else None
    info = load_catalog().facts.get(fact) if fact is not None else None
    book = checked.books.get(finding.extruder or "")
    reason = refusal(fix, located, info.unit if info is not None else None, book)
    if reason is not None:
        raise NoPlaceError(reason)
    return located


def _take(plan: EditPlan, target: Target, group: list[_Proposal]) -> bool:
    """Take one value for a setting that one or more fixes are about."""
    steps = _steps(group)
    _check_pull(target, [*plan.steps.get(target, ()), *steps])
    best, (_, fix, located) = _best(steps, group)
    present = plan.changes.get(target)
    if present is not None and float(present.new) == float(best.new):
        del plan.changes[target]
        plan.kept[target] = _STUCK
        return True
    plan.steps.setdefault(target, []).extend(steps)
    if present is None:
        present = FileChange(located, fix.setting, located.old, best.new)
    plan.changes[target] = FileChange(present.located, present.setting, present.old, best.new)
    return True


def _steps(group: Iterable[_Proposal]) -> list[EditStep]:
    return [EditStep(finding, located.old, fix.new) for finding, fix, located in group]


def _best(steps: list[EditStep], group: list[_Proposal]) -> tuple[EditStep, _Proposal]:
    """Return the step that serves all rules of a group: the lowest value, where one lowers it."""
    pick = min if any(step.way < 0 for step in steps) else max
    best = pick(steps, key=lambda step: float(step.new))
    return best, group[steps.index(best)]


def _check_pull(target: Target, steps: list[EditStep]) -> None:
    """Refuse to go on where one rule lowers what another one raises."""
    up = next((step for step in steps if step.way > 0), None)
    down = next((step for step in steps if step.way < 0), None)
    if up is None or down is None:
        return
    section = f" in [{target.section}]" if target.section else ""
    raise MendError(
        f"two rules pull against each other on {target.key}{section}: '{up.finding.rule}' raises "
        f"it from {up.old} to {up.new}, '{down.finding.rule}' lowers it from {down.old} to "
        f"{down.new}",
        "decide which of them is right here, and mend with --skip the other",
        up.finding.at,
    )


def _sign(value: float) -> int:
    return (value > 0) - (value < 0)


def _no_end(plan: EditPlan) -> str:
    rules = sorted({steps[-1].finding.rule for steps in plan.steps.values()})
    return f"the edits find no end after {MAX_ROUNDS} rounds ({', '.join(rules)})"


def _settle(plan: EditPlan, choice: EditChoice) -> None:
    """Work each value out once more, from the text as it was, with all other edits made.

    While the rounds go on a value may be taken from a machine that a later round changes, and the
    reason told for it is that machine's. What is left here is the same whatever the order: each
    value is the fix of the finished machine. Values of profiles do not move each other, nor do
    those that one extruder alone reads another's: they are worked out together. Where it finds no
    end the values of the rounds stay.
    """
    if len(plan.changes) < 2:
        return
    rounds = dict(plan.changes), {target: list(steps) for target, steps in plan.steps.items()}
    for _ in range(MAX_ROUNDS):
        moved = [_again(plan, choice, group) for group in _groups(plan)]
        if not any(moved):
            break
    else:
        plan.changes, plan.steps = rounds
    plan.work_out()


def _groups(plan: EditPlan) -> list[set[Target]]:
    """Return the targets that are worked out at a time: at most one of each extruder's own."""
    readers = _readers(plan.before)
    groups: list[set[Target]] = []
    of_each: dict[str, int] = {}  # how many of this extruder's own are in a group already
    own: list[set[Target]] = []
    for target, change in plan.changes.items():
        at = change.located.at
        read_by = readers.get((at.file, at.line), frozenset())
        if target.role == "profile":
            continue
        if change.old is None or len(read_by) != 1:
            groups.append({target})
            continue
        (name,) = read_by
        turn = of_each[name] = of_each.get(name, -1) + 1
        if turn == len(own):
            own.append(set())
        own[turn].add(target)
    together = {target for target in plan.changes if target.role == "profile"}
    return [*own, *groups, *([together] if together else [])]


def _readers(checked: CheckedConfig) -> dict[tuple[str, int], frozenset[str]]:
    """Return the extruders that a line states a fact of."""
    found: dict[tuple[str, int], frozenset[str]] = {}
    for name, book in checked.books.items():
        for fact in book.facts.values():
            if (at := fact.origin.at) is not None:
                place = at.file, at.line
                found[place] = found.get(place, frozenset()) | {name}
    return found


def _again(plan: EditPlan, choice: EditChoice, group: set[Target]) -> bool:
    """Take the values of a group anew; return whether any is another one now."""
    others = [change for target, change in plan.changes.items() if target not in group]
    plan.after, plan.edited = plan.with_only(others)
    fixes, moved = _fixes(plan, choice), False
    for target in [one for one in plan.changes if one in group]:
        proposals = fixes.get(target)
        old = plan.changes.pop(target)
        if proposals is None:
            moved = True
            continue
        steps = _steps(proposals)
        best, _ = _best(steps, proposals)
        plan.steps[target] = steps
        plan.changes[target] = FileChange(old.located, old.setting, old.old, best.new)
        moved |= float(best.new) != float(old.new)
    return moved


def _raisers(plan: EditPlan) -> str:
    """Return in words the edits that alone raise what may not rise; all where none does alone."""
    found = []
    for change in plan.changes.values():
        checked, _ = plan.with_only([change])
        if any(violations(plan.before.books, checked.books)):
            at = change.located.at
            found.append(f"'{change.setting}: {change.new}' ({at.file} line {at.line})")
    return f"the edit {' and '.join(found)}" if found else "the edits together"


def _check_self(plan: EditPlan, choice: EditChoice) -> None:
    """Make sure, on texts read anew, that the edits are those intended and that none is left.

    Raises
    ------
    MendError
        If a value rose that may not.
    RuntimeError
        For a fault of ours.
    """
    if not plan.changes:
        return
    raised = list(violations(plan.before.books, plan.after.books))
    if raised:
        problem = f"{_raisers(plan)} would raise {', '.join(raised)} above what it may be"
        raise MendError(problem, "set the values by hand; see 'feedwright lint'")
    verify_files(plan.files.first, plan.edited, tuple(plan.changes.values()))
    again = EditPlan(plan.config, plan.asks, plan.before, plan.after, Snapshot(dict(plan.edited)))
    again.kept = dict(plan.kept)
    again.after = check_config(plan.config, plan.asks, files=again.files, family=plan.family)
    try:
        left = _round(again, choice)
    except InputError as err:
        raise RuntimeError(f"a second run would fail: {err}") from None
    if left:
        raise RuntimeError("a second run would make edits again")
