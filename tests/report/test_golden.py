"""Whole reports for people: texts that were judged by eye, and how each of them wraps."""

from __future__ import annotations

import re
import shutil
import sys
from pathlib import Path

import pytest
from every import every
from tiers import spread, wide

from advisor.report.look import Look

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
import golden

LOOKS = {
    "80": Look(80),
    "120": Look(120),
    "60": Look(60),
    "ascii": Look(80, drawn=False),
    "words": Look(80, bars=False),
}
_DRAWN = "\u2550\u2500\u2502\u2551\u2588"


def test_each_text_is_the_one_that_was_judged_by_eye() -> None:
    """At 80 columns, line by line; none is stored that nothing makes."""
    found = [golden.difference(name) for name in golden.REGISTER]
    assert not any(found), "\n".join(found)
    assert golden.orphans() == []


@wide
@every("name", golden.REGISTER)
def test_any_text_wraps_well_from_40_to_120_columns(name: str) -> None:
    """No line is too wide or ends in blanks; what the narrowest and the widest say, all say."""
    words = _words(golden.REGISTER[name](Look(40))) & _words(golden.REGISTER[name](Look(120)))
    assert len(words) > 10
    for width in spread(range(40, 121), 9):
        for look in (Look(width), Look(width, drawn=False), Look(width, bars=False)):
            shown = golden.REGISTER[name](look)
            wrong = [x for x in shown.splitlines() if len(x) > width or x != x.rstrip()]
            assert wrong == [], (look, wrong)
            assert not look.bars or words - _words(shown) == set(), look
            assert look.drawn or shown.isascii(), look
            assert look.bars or not set(shown) & set(_DRAWN), look


def _words(shown: str) -> set[str]:
    """Return the words of a text, of three letters and more."""
    return set(re.findall(r"[A-Za-z]{3,}", shown))


def test_the_tool_shows_stores_and_names_what_is_lost(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """In a copy: a changed text, one that nothing makes; nothing is written where CI is set."""
    folder = tmp_path / "goldens"
    shutil.copytree(golden.GOLDENS, folder)
    stored = (folder / "derate.txt").read_text("utf-8")
    (folder / "derate.txt").write_text(stored.replace("set ", "put ", 1), "utf-8")
    (folder / "old.txt").write_text("x", "utf-8")
    monkeypatch.delenv("CI", raising=False)
    assert golden.main([], folder) == 1
    told = capsys.readouterr().out
    assert "-put " in told
    assert "+set " in told
    assert "goldens/old.txt: no test reads it" in told
    monkeypatch.setenv("CI", "1")
    with pytest.raises(SystemExit) as refused:
        golden.main(["--write", "derate"], folder)
    assert refused.value.code == 2
    assert (folder / "derate.txt").read_text("utf-8") != stored
    monkeypatch.delenv("CI")
    (folder / "old.txt").unlink()
    assert golden.main(["--write", "derate"], folder) == 0
    assert (folder / "derate.txt").read_text("utf-8") == stored
    assert golden.main([], folder) == 0
