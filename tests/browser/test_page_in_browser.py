"""The page in a real browser: it fits, loads nothing, says nothing, can be heard and printed."""

from __future__ import annotations

import functools
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from browsing import (
    PAPER,
    ROOT,
    axe_faults,
    contrast,
    faint_words,
    left_folded,
    opened,
    overflow,
    picture_faults,
    unfold,
)

if TYPE_CHECKING:
    from playwright.sync_api import Browser

PAGES = {  # name: arguments of the command, beside the samples
    "print": ["asks-too-much/printer.cfg", "--profile", "asks-too-much/profile.ini",
              "--print", "asks-too-much/box.gcode"],
    "weighed": ["healthy/printer.cfg", "--weighed", "healthy/flow-test.csv"],
    "two extruders": ["include-tree/sorghum/printer.cfg"],
    "two configs": ["no-sheet/printer.cfg", "mixed-up/printer.cfg"],
    "without pictures": ["over-driven/printer.cfg", "--asked", "9mm3/s"],
}  # fmt: skip
WIDTHS, SCHEMES = (1280, 390, 320), ("light", "dark")
VIEWS = [(width, scheme) for width in WIDTHS for scheme in SCHEMES]
SOME = [(1280, "light"), (390, "dark"), (320, "light")]  # each width and each scheme
Made = Callable[[str], Path]


@pytest.fixture(scope="module")
def page_file(tmp_path_factory: pytest.TempPathFactory) -> Made:
    """Write a page with the command, once each."""
    folder = tmp_path_factory.mktemp("pages")

    @functools.cache
    def made(name: str) -> Path:
        path = folder / f"{name}.html"
        asked = ["-c", _BARE if name == "without pictures" else _START, "report", *PAGES[name]]
        done = subprocess.run(
            [sys.executable, *asked, "--html", str(path)],
            cwd=ROOT / "samples", capture_output=True, text=True, check=False,
        )  # fmt: skip
        assert done.returncode == 0, done.stderr
        return path

    return made


_START = f"import sys; sys.path.insert(0, {str(ROOT)!r}); from advisor.cli import run; run()"
_BARE = f"import sys; sys.modules['matplotlib'] = None; {_START}"


def planted(folder: Path, body: str, head: str = "") -> Path:
    """Write a small page that is sound but for what is put into it."""
    path = folder / "planted.html"
    path.write_text(
        '<!DOCTYPE html><html lang="en"><head><meta charset="utf-8"><title>Planted</title>'
        '<meta name="viewport" content="width=device-width, initial-scale=1">'
        f"{head}</head><body style='background: #fff; color: #000'><header>Head</header><main>"
        f"<h1>Planted</h1><h2>Second</h2><p>Words to read.</p>{body}</main></body></html>",
        encoding="utf-8",
    )
    return path


@pytest.mark.parametrize("name", PAGES)
def test_it_fits_and_keeps_to_itself(browser: Browser, page_file: Made, name: str) -> None:
    """No width makes it scroll sideways, folded or not; it asks for nothing; no error is told."""
    with opened(browser, page_file(name)) as shown:
        for folded in (True, False):
            if not folded:
                unfold(shown.page)
            for width, scheme in VIEWS:
                shown.page.set_viewport_size({"width": width, "height": 900})
                shown.page.emulate_media(color_scheme=scheme)

                assert overflow(shown.page) == [], (width, scheme, folded)
        assert shown.requests == []
        assert shown.messages == []


@pytest.mark.parametrize("name", PAGES)
def test_it_breaks_no_accessibility_rule(
    browser: Browser, axe: Path, page_file: Made, name: str
) -> None:
    """Every default rule, with everything unfolded; words in pictures have their contrast too.

    The colours hang on the scheme alone: the rules' own look at them is taken once in each, that
    of `faint_words` at every width.
    """
    seen = set()
    with opened(browser, page_file(name)) as shown:
        unfold(shown.page)
        for width, scheme in VIEWS if name in ("print", "weighed") else SOME:
            shown.page.set_viewport_size({"width": width, "height": 900})
            shown.page.emulate_media(color_scheme=scheme)

            assert axe_faults(shown.page, axe, colours=scheme not in seen) == [], (width, scheme)
            assert faint_words(shown.page) == [], (width, scheme)
            seen.add(scheme)
    assert seen == set(SCHEMES)


@pytest.mark.parametrize("name", PAGES)
def test_words_in_pictures_can_be_read(browser: Browser, page_file: Made, name: str) -> None:
    """None is cut off or on top of another; 9 px or more on a phone.

    At 320, which is a window zoomed to 400 % (WCAG 2.2, success criterion 1.4.10), a picture
    scrolls within its own region. The same figures stand in a table.
    """
    with opened(browser, page_file(name)) as shown:
        unfold(shown.page)
        for width, least in ((1280, 12.0), (390, 9.0), (360, 9.0), (320, 9.0)):
            shown.page.set_viewport_size({"width": width, "height": 900})

            assert picture_faults(shown.page, least=least) == [], width
        drawn = shown.page.locator("figure svg").count()
        assert (drawn == 0) == (name == "without pictures")


@pytest.mark.parametrize("name", PAGES)
def test_it_prints(browser: Browser, page_file: Made, name: str) -> None:
    """On paper it fits the sheet, is unfolded, has dark words on white, and a PDF is made of it."""
    with opened(browser, page_file(name), width=PAPER, scheme="dark") as shown:
        shown.page.emulate_media(media="print")

        assert overflow(shown.page) == []
        assert left_folded(shown.page) == []
        assert faint_words(shown.page, paper="rgb(255, 255, 255)") == []
        pdf = shown.page.pdf(format="A4")
        assert pdf.startswith(b"%PDF-")
        assert pdf.count(b"/Type /Page\n") >= 2
        assert shown.requests == []


@pytest.mark.parametrize("name", PAGES)
def test_it_needs_no_scripts(browser: Browser, page_file: Made, name: str) -> None:
    """With scripts switched off the same words stand there."""
    told = []
    for scripts in (True, False):
        with opened(browser, page_file(name), scripts=scripts) as shown:
            told.append(shown.page.inner_text("body"))
            assert shown.messages == []

    assert told[0] == told[1]
    assert "mm\u00b3/s" in told[0]


def test_a_sound_page_has_no_faults(browser: Browser, axe: Path, tmp_path: Path) -> None:
    """What is planted below is all that is wrong there."""
    with opened(browser, planted(tmp_path, "")) as shown:
        assert axe_faults(shown.page, axe) == []
        assert overflow(shown.page) == []
        assert faint_words(shown.page) == []
        assert (shown.requests, shown.messages) == ([], [])


@pytest.mark.parametrize(
    ("body", "rule"),
    [
        ('<img src="data:image/gif;base64,R0lGODlhAQABAAAAACw=">', "image-alt"),
        ('<p style="color: #bbb">Hardly there</p>', "color-contrast"),
        ("<h5>Too deep</h5>", "heading-order"),
        ('<svg role="img"></svg>', "svg-img-alt"),
        ('<pre style="overflow: auto; width: 90px">Wide, and no key scrolls it</pre>',
         "scrollable-region-focusable"),
    ],
)  # fmt: skip
def test_a_planted_fault_is_heard(
    browser: Browser, axe: Path, tmp_path: Path, body: str, rule: str
) -> None:
    """The check on accessibility can fail."""
    with opened(browser, planted(tmp_path, body)) as shown:
        found = axe_faults(shown.page, axe)

    assert [fault.split(":")[0] for fault in found] == [rule]


def test_what_is_too_wide_is_seen(browser: Browser, tmp_path: Path) -> None:
    """At the width where it is, and named."""
    path = planted(tmp_path, '<div class="broad" style="width: 600px">wide</div>')
    with opened(browser, path) as shown:
        assert overflow(shown.page) == []
        shown.page.set_viewport_size({"width": 390, "height": 900})

        assert ["broad" in fault for fault in overflow(shown.page)] == [True]


@pytest.mark.parametrize(
    "body",
    [
        '<img alt="a" src="http://planted.invalid/a.png">',
        '<link rel="stylesheet" href="http://planted.invalid/a.css">',
        "<style>main { background: url(http://planted.invalid/a.png) }</style>",
        "<script>fetch('http://planted.invalid/a')</script>",
        '<iframe title="a" src="http://planted.invalid/a"></iframe>',
    ],
)
def test_a_request_is_seen(browser: Browser, tmp_path: Path, body: str) -> None:
    """Whatever makes it."""
    with opened(browser, planted(tmp_path, body)) as shown:
        shown.page.wait_for_timeout(50)

        assert ["planted.invalid" in address for address in shown.requests] == [True]


def test_a_message_is_seen(browser: Browser, tmp_path: Path) -> None:
    """Of a script, of its failure, and of the browser where a policy holds something back."""
    policy = '<meta http-equiv="Content-Security-Policy" content="img-src \'none\'">'
    body = "<script>console.log('said'); throw Error('failed')</script><img alt='a' src='a.png'>"
    with opened(browser, planted(tmp_path, body, policy)) as shown:
        told = " ".join(shown.messages)

    assert all(words in told for words in ("said", "failed", "Content Security Policy"))


@pytest.mark.parametrize(
    ("body", "fault"),
    [
        ('<text x="5" y="50" font-size="8">tiny</text>', "'tiny' has 8.0 px"),
        ('<text x="90" y="50">beyond the edge</text>', "'beyond the edge' is cut off"),
        ('<text x="5" y="50">one</text><text x="8" y="53">two</text>', "'one' and 'two' overlap"),
    ],
)
def test_unreadable_words_are_seen(browser: Browser, tmp_path: Path, body: str, fault: str) -> None:
    """The check on pictures can fail."""
    svg = f'<svg width="100" height="100" viewBox="0 0 100 100"><title>A</title>{body}</svg>'
    with opened(browser, planted(tmp_path, svg)) as shown:
        assert picture_faults(shown.page, least=9.0) == [f"A: {fault}"]


def test_faint_words_are_seen(browser: Browser, tmp_path: Path) -> None:
    """In text and in pictures; and what is light on paper that stays white."""
    body = (
        '<p style="color: #999">faint</p><svg><text y="9" fill="#aaa">pale</text></svg>'
        '<p style="color: #eee; background: #111">reversed</p>'
    )
    with opened(browser, planted(tmp_path, body)) as shown:
        first = [fault.split(":")[0] for fault in faint_words(shown.page)]
        printed = [
            fault.split(":")[0] for fault in faint_words(shown.page, paper="rgb(255,255,255)")
        ]

    assert first == ["'faint'", "'pale'"]
    assert printed == ["'faint'", "'pale'", "'reversed'"]


def test_what_stays_folded_is_seen(browser: Browser, tmp_path: Path) -> None:
    """On the screen it may; the check tells which."""
    body = "<details><summary>More</summary><p>Hidden</p></details>"
    with opened(browser, planted(tmp_path, body)) as shown:
        assert left_folded(shown.page) == ["More"]
        unfold(shown.page)
        assert left_folded(shown.page) == []


def test_contrast_is_the_published_one() -> None:
    """Black on white 21 : 1; #767676 on white 4.54 : 1 (WCAG 2.2, "contrast ratio")."""
    assert contrast("rgb(0, 0, 0)", "rgb(255, 255, 255)") == pytest.approx(21.0)
    assert contrast("rgb(118, 118, 118)", "color(srgb 1 1 1)") == pytest.approx(4.54, abs=0.01)
