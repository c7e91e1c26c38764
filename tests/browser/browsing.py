"""Opens pages in a real browser and tells what is wrong with how they show; it makes no page.

Each check returns faults in words, so that a test shows all of them at once, and so that a planted
one can be seen to be found. Contrast: Web Content Accessibility Guidelines 2.2, "contrast ratio".
"""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

ROOT = Path(__file__).resolve().parents[2]
NAMES = ("chromium", "chromium-browser", "google-chrome")
QUIET = ("--no-sandbox", "--disable-background-networking", "--disable-component-update",
         "--disable-sync", "--no-first-run", "--disable-dev-shm-usage")  # fmt: skip
PAPER = 687  # px: A4 less the page's margins of 14 mm, at 96 px per inch


@dataclass
class Opened:
    """A page on the screen, what it asked for beyond itself, and what the browser said of it."""

    page: Page
    address: str
    requests: list[str] = field(default_factory=list)
    messages: list[str] = field(default_factory=list)


def find_browser() -> str | None:
    """Return the browser's program: the one that is named, else the one that is installed."""
    named = os.environ.get("FEEDWRIGHT_CHROMIUM")
    return named or next(filter(None, map(shutil.which, NAMES)), None)


def find_axe() -> Path | None:
    """Return the file of the accessibility rules: the one that is named, else the one in .tools."""
    named = os.environ.get("FEEDWRIGHT_AXE")
    path = Path(named) if named else ROOT / ".tools/node_modules/axe-core/axe.min.js"
    return path if path.is_file() else None


@contextmanager
def opened(
    browser: Browser, path: Path, *, width: int = 1280, scheme: Any = "light", scripts: bool = True
) -> Iterator[Opened]:
    """Open a file; nothing but the file itself is let through."""
    context = browser.new_context(
        viewport={"width": width, "height": 900}, color_scheme=scheme, java_script_enabled=scripts
    )
    page = context.new_page()
    shown = Opened(page, path.as_uri())

    def ask(route: Any) -> None:
        if route.request.url == shown.address and route.request.is_navigation_request():
            route.continue_()
        else:
            shown.requests.append(route.request.url)
            route.abort()

    context.route("**/*", ask)
    page.on("console", lambda message: shown.messages.append(message.text))
    page.on("pageerror", lambda error: shown.messages.append(str(error)))
    page.on("websocket", lambda socket: shown.requests.append(socket.url))
    try:
        page.goto(shown.address, wait_until="load")
        yield shown
    finally:
        context.close()


def unfold(page: Page) -> None:
    """Open everything that is folded."""
    page.evaluate("for (const one of document.querySelectorAll('details')) one.open = true")


def left_folded(page: Page) -> list[str]:
    """Tell what is folded and does not show."""
    return page.evaluate(
        """() => [...document.querySelectorAll('details')].filter(one =>
            [...one.children].some(e => e.tagName !== 'SUMMARY' && !e.checkVisibility()))
            .map(one => one.querySelector('summary').textContent)"""
    )


def overflow(page: Page) -> list[str]:
    """Tell what makes the page wider than the window."""
    return page.evaluate(
        """() => {
            const room = window.innerWidth, root = document.documentElement
            if (root.scrollWidth <= room) return []
            const wide = [...document.querySelectorAll('body *')]
                .filter(e => e.getBoundingClientRect().right > room + 0.5)
                .map(e => `<${e.tagName.toLowerCase()} class="${e.getAttribute('class') ?? ''}">`)
            return [`${root.scrollWidth} px in a window of ${room} px: ${wide.slice(0, 8)}`]
        }"""
    )


def axe_faults(page: Page, axe: Path, *, colours: bool = True) -> list[str]:
    """Tell what breaks the accessibility rules, best practices included; all default rules.

    Parameters
    ----------
    page : Page
        Which one; the rules are put into it once.
    axe : Path
        The file of the rules.
    colours : bool
        Whether their own rule of contrast is asked too: it takes three quarters of the time.
    """
    if not page.evaluate("'axe' in window"):
        page.evaluate(axe.read_text(encoding="utf-8") + "\n;undefined")
    options = {
        "resultTypes": ["violations"],
        "selectors": False,  # the element itself is told
        "rules": {"color-contrast": {"enabled": colours}},
    }
    found = page.evaluate("options => axe.run(document, options)", options)
    assert len(found["passes"]) > 5, "the rules looked at nothing"
    return [
        f"{rule['id']}: {node['html'][:160]} ({' '.join(node['failureSummary'].split())[:300]})"
        for rule in found["violations"]
        for node in rule["nodes"]
    ]


def picture_faults(page: Page, *, least: float) -> list[str]:
    """Tell of letters in pictures that are cut off, on top of each other or below a size in px."""
    return page.evaluate(
        """least => [...document.querySelectorAll('svg')].flatMap(svg => {
            const faults = [], frame = svg.getBoundingClientRect()
            if (!frame.width) return []
            const texts = [...svg.querySelectorAll('text')].map(e => ({
                words: e.textContent.trim(), box: e.getBoundingClientRect(),
                size: parseFloat(getComputedStyle(e).fontSize) * Math.abs(e.getScreenCTM().d),
            })).filter(text => text.words)
            const title = svg.querySelector('title')?.textContent ?? ''
            const say = words => faults.push(`${title}: ${words}`)
            texts.forEach((one, i) => {
                if (one.size < least) say(`'${one.words}' has ${one.size.toFixed(1)} px`)
                const cut = one.box.left < frame.left - 1 || one.box.right > frame.right + 1
                    || one.box.top < frame.top - 1 || one.box.bottom > frame.bottom + 1
                if (cut && getComputedStyle(svg).overflow !== 'visible')
                    say(`'${one.words}' is cut off`)
                for (const other of texts.slice(i + 1)) {
                    const across = Math.min(one.box.right, other.box.right)
                        - Math.max(one.box.left, other.box.left)
                    const down = Math.min(one.box.bottom, other.box.bottom)
                        - Math.max(one.box.top, other.box.top)
                    // a line box is higher than its letters: a quarter of it may be shared
                    if (across > 1 && down > 0.25 * Math.min(one.box.height, other.box.height))
                        say(`'${one.words}' and '${other.words}' overlap`)
                }
            })
            return faults
        })""",
        least,
    )


def faint_words(page: Page, *, paper: str | None = None) -> list[str]:
    """Tell of words with less than 4.5 : 1 against what is behind them, in pictures too.

    Parameters
    ----------
    page : Page
        Which one.
    paper : str, optional
        What stands for all backgrounds: a printer may leave them out.
    """
    pairs = page.evaluate(
        """() => [...document.querySelectorAll('body *')].filter(e => [...e.childNodes]
            .some(n => n.nodeType === 3 && n.data.trim()) && e.checkVisibility()
            && !e.closest('title, desc')).map(e => {
            let at = e
            const bare = c => c === 'rgba(0, 0, 0, 0)' || c === 'transparent'
            while (at.parentElement && bare(getComputedStyle(at).backgroundColor))
                at = at.parentElement
            const own = getComputedStyle(e)
            return [e.textContent.trim().slice(0, 40),
                    e.ownerSVGElement ? own.fill : own.color,
                    getComputedStyle(at).backgroundColor]
        })"""
    )
    assert pairs, "the page has no words"
    return sorted(
        {
            f"{words!r}: {ink} on {paper or behind}"
            for words, ink, behind in pairs
            if contrast(ink, paper or behind) < 4.5
        }
    )


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two colours as a browser writes them."""
    dark, bright = sorted((_luminance(one), _luminance(other)))
    return (bright + 0.05) / (dark + 0.05)


def _luminance(colour: str) -> float:
    """Return the relative luminance of rgb(r, g, b) or color(srgb r g b), none see-through."""
    numbers = [float(part) for part in re.findall(r"[\d.]+(?:e-?\d+)?", colour)]
    if len(numbers) == 4 and numbers[3] == 0.0:
        numbers = [255.0] * 3  # nothing is behind: the window is white
    assert colour.startswith(("rgb", "color(srgb ")), colour
    assert len(numbers) == 3 or numbers[3] in (0.0, 1.0), colour
    scale = 1.0 if colour.startswith("color") else 255.0
    parts = [part / scale for part in numbers[:3]]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return sum(w * p for w, p in zip((0.2126, 0.7152, 0.0722), linear, strict=True))
