"""Every page is whole, keeps to the HTML standard, loads nothing and can be heard."""

from __future__ import annotations

from pathlib import Path

import pytest
from every import every
from html_pages import Made
from html_reading import read
from html_rules import faults
from tiers import only_wide, spread, wide

SAMPLES = Path(__file__).resolve().parents[2] / "samples"
CONFIGS = sorted(path.relative_to(SAMPLES).as_posix() for path in SAMPLES.rglob("*.cfg"))
MACHINES = {
    "print": (("asks-too-much/printer.cfg",), {
        "profiles": ("asks-too-much/profile.ini",), "sliced": "asks-too-much/box.gcode"}),
    "weighed": (("healthy/printer.cfg",), {"weighed": ("healthy/flow-test.csv",)}),
    "hot": (("over-driven/printer.cfg",), {"asked": "9mm3/s", "material": "tpu-95a"}),
    "two extruders": (("include-tree/sorghum/printer.cfg",), {}),
    "two configs": (("no-sheet/printer.cfg", "mixed-up/printer.cfg"), {}),
}  # fmt: skip

DRAWN = spread(["print", "hot", "two configs", "two extruders", "weighed"], 1)


def test_there_are_samples() -> None:
    """An empty folder would make the other tests hold by themselves."""
    assert len(CONFIGS) >= 10


@wide
@every("config", spread(CONFIGS, 3, 7))
def test_every_sample_gives_a_page_that_keeps_the_rules(page: Made, config: str) -> None:
    """Without pictures, whatever the config is, an unreadable one too."""
    _, html = page(config)

    assert faults(html) == []


@wide
@pytest.mark.parametrize("machine", DRAWN)
def test_a_page_with_pictures_keeps_the_rules(page: Made, machine: str) -> None:
    """With print, weighed test, two extruders, two configs, and the pictures in the page."""
    pytest.importorskip("matplotlib")
    configs, asked = MACHINES[machine]
    _, html = page(*configs, drawn=True, **asked)

    assert faults(html) == []
    assert html.all("figure", class_="picture")


@wide
@pytest.mark.parametrize("machine", DRAWN)
def test_without_pictures_the_page_is_whole(page: Made, machine: str) -> None:
    """The same sections and tables; the tables stand open; one sentence says what is missing."""
    pytest.importorskip("matplotlib")
    configs, asked = MACHINES[machine]
    (_, with_them), (text, without) = (page(*configs, drawn=x, **asked) for x in (True, False))

    for name in ("h2", "h3", "h4", "caption"):
        assert [x.words for x in without.all(name)] == [x.words for x in with_them.all(name)]
    assert without.all(class_="drawing") == []
    closed = [x for x in without.all("details", class_="figures") if "open" not in x.attributes]
    assert closed == []
    assert text.count("pip install &#x27;feedwright[pictures]&#x27;") >= 1
    assert "feedwright[pictures]" not in page(*configs, drawn=True, **asked)[0]


@wide
@pytest.mark.parametrize("machine", DRAWN)
def test_each_picture_has_its_figures_below_it(page: Made, machine: str) -> None:
    """Nothing is told by a picture alone."""
    pytest.importorskip("matplotlib")
    configs, asked = MACHINES[machine]
    for figure in page(*configs, drawn=True, **asked)[1].all("figure", class_="picture"):
        assert figure.one("svg") is not None
        rows = [row for table in figure.all("table") for row in table.one("tbody").children]
        assert len(rows) >= 2


def test_the_page_states_a_policy_that_lets_nothing_in(page: Made) -> None:
    """Whatever slipped in could load nothing (Content Security Policy Level 3)."""
    _, html = page("healthy/printer.cfg")
    (policy,) = html.all("meta", http_equiv="Content-Security-Policy")

    assert policy.get("content") == "default-src 'none'; style-src 'unsafe-inline'"


def test_contents_lead_to_every_section_in_its_order(page: Made) -> None:
    """The list at the head and the sections say the same."""
    _, html = page("healthy/printer.cfg", weighed=("healthy/flow-test.csv",))
    links = [(a.get("href")[1:], a.words) for a in html.one("nav").all("a")]
    parts = [(x.get("id"), x.one("h2").words) for x in html.one("main").all("section")]

    assert links == parts
    assert [name for name, _ in parts] == [
        "way", "findings", "edits", "force", "torque", "grip", "weighed", "measure",
        "assumptions", "cautions",
    ]  # fmt: skip


@wide
@only_wide
def test_contents_lead_to_the_sections_of_each_extruder(page: Made) -> None:
    """One point for each kind of section, with a link for each extruder that has it."""
    _, html = page("mixed-up/printer.cfg")
    links = [(a.get("href")[1:], a) for a in html.one("nav").all("a")]
    parts = {x.get("id"): x.one("h2").words for x in html.one("main").all("section")}

    assert {name for name, _ in links} == set(parts)
    assert len(links) == len(parts)
    for name, link in links:
        point = link.parent
        assert point is not None
        kind, _, whose = parts[name].partition(", ")
        assert link.words == (whose or kind)
        assert point.words.startswith(kind)


@pytest.mark.parametrize(
    "broken",
    [
        "<html><body><p>never closed</body></html>",
        "<html><body><p>out <b>of</p></b> order</body></html>",
        '<html><body><p id="a" id="b">twice</p></body></html>',
    ],
)
def test_the_reader_of_these_tests_sees_what_is_broken(broken: str) -> None:
    """A check that cannot fail would prove nothing."""
    with pytest.raises(AssertionError):
        read(f"<!DOCTYPE html>\n{broken}")


@wide
@every(
    ("added", "rule"),
    spread([
        ('<img src="https://example.org/a.png">', "loads_something"),
        ('<p onclick="x()">a</p>', "loads_something"),
        ('<p style="background:url(a.png)">a</p>', "loads_something"),
        ('<p id="main">a</p>', "ids"),
        ('<a href="#nowhere">a</a>', "ids"),
        ("<h5>too deep</h5>", "headings"),
        ("<main>a</main>", "landmarks"),
        ("<p><ul><li>a</li></ul></p>", "nesting"),
        ("<ul>a</ul>", "nesting"),
        ('<svg role="img"></svg>', "drawings"),
        ("<table><thead></thead><tbody></tbody></table>", "tables"),
        ("<p>value None</p>", "names"),
    ], 6),
)  # fmt: skip
def test_each_rule_of_these_tests_can_be_broken(page: Made, added: str, rule: str) -> None:
    """What is planted into a good page is found, by the rule it breaks."""
    text, _ = page("healthy/printer.cfg")
    found = faults(read(text.replace("</footer>", f"{added}</footer>", 1)))

    assert any(fault.startswith(f"{rule}: ") for fault in found), found
