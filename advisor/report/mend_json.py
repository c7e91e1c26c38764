"""The answer of `mend` as JSON."""

from __future__ import annotations

from advisor.edit_records import ByHand, Edit, MendReport
from advisor.report import json
from advisor.report.clean import unicode_text

__all__ = ["render"]


def render(report: MendReport) -> str:
    """Return the answer as one JSON object; the diff is null where it is no UTF-8 text."""
    return json.dump({
        "config": unicode_text(report.config),
        "edits": [_edit(edit) for edit in report.edits],
        "by_hand": [_by_hand(one) for one in report.by_hand],
        "left": [json.finding_tree(finding) for finding in report.left],
        "brought": [json.finding_tree(finding) for finding in report.brought],
        "allowed": report.allowed,
        "capacity": [
            {
                "extruder": unicode_text(change.extruder),
                "before": json.estimate(change.before, "mm3/s"),
                "after": json.estimate(change.after, "mm3/s"),
                "bottleneck": change.bottleneck,
            }
            for change in report.capacity
        ],
        "diff": _text(report.patch),
        "diff_folder": unicode_text(report.patch_folder),
        "notes": [unicode_text(note) for note in report.notes],
        "written": [unicode_text(path) for path in report.written],
        "backups": [unicode_text(path) for path in report.backups],
        "undone": report.undone,
        "files": json.files(report.files),
        "errors": [unicode_text(error) for error in report.errors],
    })  # fmt: skip


def _edit(edit: Edit) -> json.Tree:
    return {
        "file": unicode_text(edit.at.file),
        "line": edit.at.line,
        "section": edit.section and unicode_text(edit.section),
        "setting": unicode_text(edit.setting),
        "from": edit.old and unicode_text(edit.old),
        "to": edit.new,
        "basis": edit.basis,
        "basis_fact": edit.basis_fact,
        "role": edit.role,
        "extruder": edit.extruder and unicode_text(edit.extruder),
        "rules": [finding.rule for finding in edit.findings],
        "cured": list(edit.cured),
        "eased": list(edit.eased),
        "sure": json.number(max(finding.sure for finding in edit.findings)),
        "cautions": list(dict.fromkeys(x.caution for x in edit.findings if x.caution)),
        "place": [unicode_text(words) for words in edit.words],
        "written": edit.written,
    }


def _by_hand(one: ByHand) -> json.Tree:
    return {"finding": json.finding_tree(one.finding), "reason": unicode_text(one.reason)}


def _text(data: bytes) -> str | None:
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError:
        return None
