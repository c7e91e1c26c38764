"""The edits of `mend` on the page: what each changes and why, the diff, and how to apply it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator

from advisor.answers import ByHand, Edit, MendReport
from advisor.report.html.layout import (
    Child,
    Markup,
    Part,
    Place,
    element,
    heading,
    list_of,
    path_of,
    section,
    terms,
    verbatim,
)
from advisor.report.html.parts import MendPart
from advisor.report.mend_text import RESTART
from advisor.report.numbers import ranged

__all__ = ["edits_section"]

FLOW = "mm3/s"
_SENTENCE_END = re.compile(r"(?<=[.!?]) (?=[A-Z])")
_DIFF_KINDS = {"+": "ins", "-": "del"}


def edits_section(place: Place, part: MendPart) -> Part:
    """Return the section of the edits, or the sentence why there are none."""
    report = part.report
    if report is None:
        words = element("p", part.why_not or "Edits were not worked out.")
        return section(place, "edits", "Edits", words)
    if not report.edits:
        shown: list[Child] = [element("p", "No edit is needed.")]
    else:
        shown = [
            element("p", "They fit together: the machine was worked out with all of them made."),
            element("ol", *(_edit(edit) for edit in report.edits), class_="edits"),
            _capacity(report),
            _diff(place, report.patch),
            heading(place, "To apply them", deeper=1),
            element("ol", *_steps(part), class_="steps"),
        ]
    if report.by_hand:
        shown.append(heading(place, "For you to change by hand", deeper=1))
        shown.append(list_of((_by_hand(one) for one in report.by_hand), kind="by-hand"))
    shown += [element("p", note) for note in report.notes]
    return section(place, "edits", "Edits", *shown)


def _edit(edit: Edit) -> Markup:
    new = " (new line)" if edit.old is None else ""
    old = f"{edit.old} \u2192 " if edit.old is not None else ""
    change = element("code", f"{edit.setting}: {old}{edit.new}{new}")
    cautions = " ".join(_once(one.caution for one in edit.findings if one.caution))
    pairs: list[tuple[str, Child]] = [
        ("where", [path_of(str(edit.at)), *(f"; {words}" for words in edit.words)]),
        ("set to", edit.basis),
        ("fixes", ", ".join(edit.cured)),
        ("helps", ", ".join(edit.eased)),
        ("caution", cautions),
    ]
    return element("li", element("p", change), terms(pairs))


def _once(texts: Iterable[str]) -> Iterable[str]:
    """Return the sentences of several texts, each only once."""
    return dict.fromkeys(one for text in texts for one in _SENTENCE_END.split(text))


def _capacity(report: MendReport) -> Markup | None:
    lines = []
    for change in report.capacity:
        whose = f"{change.extruder}: " if len(report.capacity) > 1 else ""
        if change.before is None or change.after is None:
            lines.append(f"{whose}The capacity is not known.")
        elif change.before == change.after:
            lines.append(f"{whose}The capacity stays {ranged(change.after, FLOW)}.")
        else:
            before, after = ranged(change.before, FLOW), ranged(change.after, FLOW)
            lines.append(f"{whose}The capacity is {before} now and {after} with the edits.")
    return element("p", " ".join(lines)) if lines else None


def _diff(place: Place, patch: bytes) -> Markup:
    text = patch.decode("utf-8", "surrogateescape")
    lines = [_line(line.removesuffix("\r")) for line in text.removesuffix("\n").split("\n")]
    label = f"The edits as a diff{place.label}"
    return element(
        "figure",
        element("figcaption", "The edits as a diff: - old, + new"),
        element("div", element("pre", *lines), class_="wide", role="region",
                aria_label=label, tabindex="0"),
        class_="diff",
    )  # fmt: skip


def _line(line: str) -> Markup:
    file = line.startswith(("+++ ", "--- "))
    kind = "span" if file else _DIFF_KINDS.get(line[:1], "span")
    shown = element(kind, verbatim(line), class_="file" if file else None)
    return Markup(f"{shown}\n")


def _steps(part: MendPart) -> Iterator[Markup]:
    yield element("li", "Write them: ", element("code", part.command),
                  ". The old text is kept beside each file.")  # fmt: skip
    yield element("li", RESTART)
    yield element("li", "To take them back: the same command with ", element("code", "--undo"),
                  " instead.")  # fmt: skip


def _by_hand(one: ByHand) -> Child:
    finding = one.finding
    setting = f"{finding.fix.setting}: {finding.fix.new}" if finding.fix is not None else ""
    pairs: list[tuple[str, Child]] = [
        ("set", setting),
        ("where", path_of(str(finding.at)) if finding.at is not None else ""),
        ("why", finding.message),
        ("no edit", one.reason),
        ("caution", finding.caution),
    ]
    return terms(pairs)
