"""No value of the user's is ever markup: paths, values, names and remarks are shown as text."""

from __future__ import annotations

import dataclasses
import shutil
from pathlib import Path
from typing import Any

import pytest
from html_pages import SAMPLES, parts, rendered
from html_reading import Node, read
from html_rules import faults
from hypothesis import given, settings, strategies as st
from tiers import examples, only_wide, spread, wide

from advisor.answers.asks import Asks
from advisor.cli.report_parts import gathered
from advisor.report import pictures
from advisor.report.html import PageParts, render
from advisor.report.html.layout import Markup, element

SCRIPT = "<script>alert(1)</script>"
QUOTES = "\"' onload=x '\">&amp;&#60;<!--"
CONTROL = "a\x00b\x1b[31mc\u202ed\u200be\x85f"
NO_TEXT = "roll-\udce9\udcff"
DRAWN = (QUOTES, CONTROL, NO_TEXT)
ASKED = (("asks-too-much/printer.cfg",), (("profiles", ("asks-too-much/profile.ini",)),))
HOSTILE = (SCRIPT, QUOTES, CONTROL, NO_TEXT, "]]></style></title><svg onload=x>", "\u2028\u2029")


@pytest.fixture
def clean() -> PageParts:
    """All that a page shows of a machine with findings, edits and what its slicer asks."""
    return parts(*ASKED)


def _as_it_was(drawn: bool) -> Node:
    return rendered(*ASKED, drawn)[1]


def planted(value: Any, text: str) -> Any:
    """The same records with `text` behind every text in them."""
    if isinstance(value, str) and type(value) is str:
        return value + text
    if isinstance(value, bytes):
        return value.replace(b"\n", text.encode("utf-8", "surrogateescape") + b"\n")
    if isinstance(value, tuple):
        return tuple(planted(x, text) for x in value)
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        fields = {f.name: getattr(value, f.name) for f in dataclasses.fields(value) if f.init}
        kept = ("unit", "role", "status", "limit", "bottleneck", "stage", "kind")
        changed = {k: v if k in kept else planted(v, text) for k, v in fields.items()}
        return dataclasses.replace(value, **changed)
    return value


def elements(html: Node) -> list[str]:
    """The elements in their order, but for places to break and what is in drawings."""
    drawn = {id(x) for svg in html.all("svg") for x in svg.walk() if x is not svg}
    return [x.name for x in html.walk() if x.name != "wbr" and id(x) not in drawn]


@wide
@pytest.mark.parametrize("text", spread(list(HOSTILE), 1))
def test_whatever_stands_in_the_records_is_text(
    clean: PageParts, monkeypatch: pytest.MonkeyPatch, text: str
) -> None:
    """With it behind every path, message, title, remark and source, the page is as it was."""
    if text not in DRAWN:  # what is text in one picture is text in all
        monkeypatch.setattr(pictures, "available", lambda: False)
    as_it_was, page = _as_it_was(text in DRAWN), render(planted(clean, text))
    html = read(page)

    assert faults(html) == []
    assert elements(html) == elements(as_it_was)
    assert page.isprintable() or {c for c in page if not c.isprintable()} <= {"\n", "\xa0"}
    page.encode("utf-8")  # no lone surrogate is left
    assert "<script" not in page
    assert html.one("h1").words != as_it_was.one("h1").words


@wide
@pytest.mark.parametrize(
    "name", spread([SCRIPT.replace("/", ""), "a & b 'c' \"d\".cfg", NO_TEXT, CONTROL[3:]], 1)
)
def test_a_path_that_is_hostile(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    """It stands on the page as text, in the header, the findings, the diff and the command."""
    if name not in DRAWN:
        monkeypatch.setattr(pictures, "available", lambda: False)
    folder = tmp_path / "machine"
    shutil.copytree(SAMPLES / "over-driven", folder)
    (folder / "printer.cfg").rename(folder / name)
    monkeypatch.chdir(folder)
    page = render(gathered([name], Asks()))
    html = read(page)

    assert faults(html) == []
    page.encode("utf-8")
    if name.isprintable():
        assert name in html.one("h1").words
        assert any(name in dd.text for dd in html.one(id="findings").all("dd"))
        if '"' not in name:  # a diff writes a name with quotes in its own way
            assert f"--- a/{name}" in html.one("pre").text


@wide
@only_wide
def test_values_and_sections_that_are_hostile(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """An extruder whose name is markup, a comment that would close the diff."""
    shutil.copytree(SAMPLES / "over-driven", tmp_path / "m")
    monkeypatch.chdir(tmp_path / "m")
    config = Path("printer.cfg")
    text = config.read_text(encoding="utf-8").replace(
        "run_current: 1.0", "run_current: 1.0 # </pre>"
    )
    added = f"\n[extruder_stepper {SCRIPT}]\nextruder: {QUOTES}\n"
    config.write_text(f"{text}{added}", encoding="utf-8")
    page = render(gathered(["printer.cfg"], Asks()))

    assert faults(read(page)) == []
    assert "<script" not in page
    assert "</pre>" in read(page).one("pre").text


@settings(max_examples=examples(10, 60, 60), deadline=None)
@given(st.text(st.characters(codec=None), max_size=40))
def test_any_text_is_text(text: str) -> None:
    """As content and as attribute, whatever characters it is made of."""
    made = element("p", text, title=text, class_=text)
    page = f"<!DOCTYPE html>\n{element('html', made)}"
    (paragraph,) = read(page).children

    assert paragraph.children == []
    assert set(paragraph.attributes) == {"title", "class"}
    page.encode("utf-8")
    if text.isprintable():
        assert paragraph.text == text == paragraph.get("title")


@pytest.mark.parametrize("name", ["src", "srcset", "action", "poster", "background"])
def test_no_element_can_load_anything(name: str) -> None:
    """The builder itself refuses, wherever the value comes from."""
    with pytest.raises(ValueError, match="would leave the page"):
        element("p", **{name: "#a"})


@pytest.mark.parametrize("address", ["https://example.org", "javascript:x", "//a", "a.html", ""])
def test_an_address_leads_into_the_page_only(address: str) -> None:
    """Anything but a place of the page is refused."""
    with pytest.raises(ValueError, match="would leave the page"):
        element("a", "there", href=address)
    assert element("a", "there", href="#x") == '<a href="#x">there</a>'


def test_only_what_the_builder_made_is_markup() -> None:
    """Markup joined with text is text again: it cannot be forged by adding strings."""
    made = element("b", "x")
    assert type(made) is Markup
    assert element("p", made + "<i>") == "<p>&lt;b&gt;x&lt;/b&gt;&lt;i&gt;</p>"
