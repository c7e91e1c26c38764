"""Lets the owner of a machine allow a rule, with a reason, in a comment or in the sheet.

``# feedwright: allow rule-name, reason`` allows a rule on its own line, or on the next line with
something on it where it stands alone; the sheet's ``allow:`` list does so for the whole machine.
What allows nothing, or gives no reason, is told as a note. It judges no rule itself.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from advisor.base import HINTS, Event, Finding, Span, frozen, near_miss
from advisor.config import Document, Tree, printable
from advisor.inputs import Sheet
from advisor.judge import Rulebook, evaluate_rules
from advisor.judge.repeats import within_budget

__all__ = ["Judgement", "sift"]

_Where = tuple[str, tuple[str, int] | None]

MARK = "feedwright:"
_WORD = "allow"
_COMMENT = re.compile(r"#|(?:\A|(?<=\s));")
_OURS = re.compile(rf"[\s#;]{MARK}\s*(?P<words>.*)", re.DOTALL)
_FIRST = re.compile(r"(?P<verb>[^\s,]*)\s*(?P<names>[^,]*)(?:,(?P<reason>.*))?", re.DOTALL)
_NO_HINT = "each finding ends with the name of its rule"


@frozen
class Judgement:
    """Findings to be told, notes on allowances among them, and those the owner allows."""

    told: tuple[Finding, ...]
    allowed: tuple[Finding, ...]


@dataclass(slots=True)
class _Allowance:
    """One rule allowed at one place; ``line`` is None where the whole machine is meant."""

    rule: str
    at: Span
    line: int | None = None
    used: bool = False

    @property
    def where(self) -> _Where:
        """What a finding that it covers is filed under."""
        return self.rule, None if self.line is None else (self.at.file, self.line)


@dataclass(slots=True)
class _AllowanceReader:
    """Gathers allowances and what is amiss with them."""

    rulebook: Rulebook
    allowances: list[_Allowance] = field(default_factory=list)
    events: list[Event] = field(default_factory=list)

    def comment(self, words: str, at: Span, line: int) -> None:
        """Take the words of a comment of ours."""
        found = _FIRST.match(words)
        verb, names = (found["verb"], found["names"].split()) if found else ("", [])
        if verb != _WORD or not names:
            hint = self._hint(verb, [_WORD]) if verb != _WORD else ""
            hint = hint or f"write '{MARK} {_WORD} rule-name, reason'"
            self._event("allowance-not-understood", at, text=words.strip(), hint=hint)
            return
        for name in names:
            self.rule(name, ((found["reason"] if found else "") or "").strip(), at, line)

    def rule(self, name: str, reason: str, at: Span, line: int | None) -> None:
        """Take one rule that is allowed."""
        if name not in self.rulebook.by_name:
            hint = self._hint(name, self.rulebook.by_name) or _NO_HINT
            self._event("allowance-of-unknown-rule", at, name=name, hint=hint)
        elif not reason:
            self._event("allowance-without-reason", at, name=name)
        else:
            self.allowances.append(_Allowance(name, at, line))

    def unused(self) -> None:
        """Note the allowances that no finding met."""
        for one in self.allowances:
            if not one.used:
                self._event("allowance-unused", one.at, name=one.rule)

    def _hint(self, word: str, known: Iterable[str]) -> str:
        return near_miss(word, known) if len(self.events) < HINTS else ""

    def _event(self, kind: str, at: Span, **fields: str) -> None:
        self.events.append(Event(kind, at, {name: printable(t) for name, t in fields.items()}))


def sift(
    findings: Sequence[Finding], tree: Tree, sheet: Sheet | None, rulebook: Rulebook
) -> Judgement:
    """Return the findings without those that the owner allows, and notes on allowances.

    Parameters
    ----------
    findings : sequence of Finding
        All findings on one config.
    tree : Tree
        The config, whose comments are looked at.
    sheet : Sheet or None
        The hardware sheet with its list of allowed rules.
    rulebook : Rulebook
        Which rules there are, and how the notes are worded.
    """
    reader = _AllowanceReader(rulebook)
    for document in tree.documents:
        for words, at, line in _comments(document):
            reader.comment(words, at, line)
    for item in sheet.allow if sheet is not None else ():
        reader.rule(item.rule, item.reason, item.at, None)
    if not reader.allowances and not reader.events:
        return Judgement(tuple(findings), ())
    covered = _covered(findings, reader.allowances)
    told = [finding for finding, allowed in zip(findings, covered, strict=True) if not allowed]
    allowed = [finding for finding, allowed in zip(findings, covered, strict=True) if allowed]
    reader.unused()
    return Judgement((*_notes(reader), *told), tuple(allowed))


def _covered(findings: Sequence[Finding], allowances: Sequence[_Allowance]) -> list[bool]:
    """Return for each finding whether it is allowed, and mark the allowances that are used."""
    met: set[_Where] = set()
    held = {one.where for one in allowances}
    covered = []
    for finding in findings:
        at = finding.at
        covering: set[_Where] = {(finding.rule, None)}
        if at is not None:
            covering.add((finding.rule, (at.file, at.line)))
        covering &= held
        met |= covering
        covered.append(bool(covering))
    for one in allowances:
        one.used = one.where in met
    return covered


def _notes(reader: _AllowanceReader) -> list[Finding]:
    """Return the findings of the events, by the rules that wait for them and no others."""
    rules = replace(reader.rulebook, rules=())
    return evaluate_rules(rules, {}, {}, within_budget(reader.events))


def _comments(document: Document) -> Iterator[tuple[str, Span, int]]:
    """Yield the words of each comment of ours, its place, and the line it is about, from 1."""
    if MARK not in document.text:
        return
    waiting: list[tuple[str, Span]] = []  # comments that stand alone, until a line with something
    for line in range(len(document.kinds)):
        start, stop = document.content(line)
        content = document.text[start:stop]
        comment = _COMMENT.search(content)
        solid = bool(content[: comment.start() if comment else None].strip())
        if solid:
            yield from ((words, place, line + 1) for words, place in waiting)
            waiting.clear()
        found = _OURS.search(content, comment.start()) if comment else None
        if found is None:
            continue
        place = document.span(start + found.start("words"), stop)
        if solid:
            yield found["words"], place, line + 1
        else:
            waiting.append((found["words"], place))
    yield from ((words, place, 0) for words, place in waiting)
