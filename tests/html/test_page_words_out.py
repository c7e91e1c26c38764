"""None of the words that stay out of what a user reads stands on a page of a sample."""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from every import every
from html_pages import SAMPLES, Made
from html_reading import Node
from tiers import only_wide, spread, wide

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "report"))
from words_out import WORDS_OUT

MACHINES = {
    "print": (("asks-too-much/printer.cfg",), {
        "profiles": ("asks-too-much/profile.ini",), "sliced": "asks-too-much/box.gcode"}),
    "weighed": (("healthy/printer.cfg",), {"weighed": ("healthy/flow-test.csv",)}),
    "hot": (("over-driven/printer.cfg",), {"asked": "9mm3/s", "material": "tpu-95a"}),
    "two configs": (("no-sheet/printer.cfg", "mixed-up/printer.cfg"), {}),
}  # fmt: skip
CONFIGS = sorted(path.relative_to(SAMPLES).as_posix() for path in SAMPLES.rglob("*.cfg"))
BLOCKS = {"p", "dt", "dd", "li", "th", "td", "h1", "h2", "h3", "h4", "h5", "caption", "summary",
          "figcaption", "title", "desc", "text"}  # fmt: skip
AS_IT_IS = {"code", "pre", "style"}
QUOTED = {"cited", "sources", "path"}  # classes; a source says it in its own words


def said(node: Node) -> Iterator[str]:
    """Yield what each smallest block says, and what is only heard; not code, files and sources."""
    if quoted(node):
        return
    if node.get("aria-label"):
        yield node.get("aria-label")
    if node.name in BLOCKS and not any(x.name in BLOCKS for x in node.walk() if x is not node):
        yield words(node)
    elif node.name in BLOCKS:
        yield " ".join("".join(x for x in node.content if isinstance(x, str)).split())
    for child in node.children:
        yield from said(child)


def quoted(node: Node) -> bool:
    """Whether an element holds code, a file's name or the words of a source."""
    return node.name in AS_IT_IS or bool(QUOTED & set(node.get("class").split()))


def words(node: Node) -> str:
    """The words of a block without what is quoted in it."""
    parts = (x if isinstance(x, str) else "" if quoted(x) else words(x) for x in node.content)
    return " ".join("".join(parts).split())


def found(html: Node) -> list[str]:
    """Each word that stays out, where it stands, and what is said instead."""
    rules = {one.get("data-rule") for one in html.all("li", class_="finding")}
    texts = [re.sub("|".join(map(re.escape, rules)) or "$^", "", text) for text in said(html)]
    return [
        f"'{hit[0]}' in '{text}': say {but}"
        for pattern, but in WORDS_OUT.items()
        for text in dict.fromkeys(texts)
        if (hit := pattern.search(text))
    ]


@wide
@every("config", spread(CONFIGS, 2))
def test_no_word_that_stays_out_is_on_a_page(page: Made, config: str) -> None:
    """Of every sample, sound or not."""
    assert found(page(config)[1]) == []


@only_wide
@wide
@pytest.mark.parametrize("machine", MACHINES)
def test_nor_on_one_with_pictures(page: Made, machine: str) -> None:
    """With a print, a weighed test, several machines; what the pictures say too."""
    pytest.importorskip("matplotlib")
    configs, asked = MACHINES[machine]
    assert found(page(*configs, drawn=True, **asked)[1]) == []


@wide
@only_wide
def test_no_unit_is_written_as_in_code(page: Made) -> None:
    """mm\u00b3/s and \u00b0C wherever they are not to be typed."""
    html = page("over-driven/printer.cfg", asked="9mm3/s")[1]
    bare = re.compile(r"(?<![\d\w])(?:mm3/s|degC|mN m|mm/s2)(?!\w)")
    assert [text for text in said(html) if bare.search(text)] == []
    assert any("mm\u00b3/s" in text for text in said(html))


def test_what_is_planted_is_found(page: Made) -> None:
    """The test can fail: in a paragraph, a label and a picture, but not in code."""
    from html_reading import read

    text, _ = page("healthy/printer.cfg")
    for one in (
        "<p>in 68 % of likely machines</p>",
        '<div role="region" aria-label="the way of the filament">a</div>',
        "<p>so <b>far</b> beyond that</p>",
    ):
        assert len(found(read(text.replace("</footer>", f"{one}</footer>", 1)))) >= 1
    clean = found(read(text))
    planted = text.replace("</footer>", "<p><code>of likely machines</code></p></footer>", 1)
    assert found(read(planted)) == clean
