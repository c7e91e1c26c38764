"""What every page must keep to: rules of the HTML standard and of readers that hear a page.

Each returns what breaks it, in words, so that a test can show all at once.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator

from html_reading import Node

# HTML Living Standard, 3.2.5.2.5 "Phrasing content": what may stand in a <p>, <summary> aside.
PHRASING = {"a", "b", "br", "code", "data", "del", "em", "i", "ins", "span", "strong", "svg", "wbr"}
ONLY_PHRASING = {"p", "caption", "h1", "h2", "h3", "h4", "h5", "summary", "pre", "dt", "span"}
# The same standard, the content models of lists, terms and tables (4.4.5 to 4.4.9 and 4.9).
CHILDREN = {
    "ul": {"li"}, "ol": {"li"}, "dl": {"div"}, "table": {"caption", "thead", "tbody"},
    "thead": {"tr"}, "tbody": {"tr"}, "tr": {"th", "td"}, "html": {"head", "body"},
}  # fmt: skip
# Attributes whose value a browser fetches or runs (the same standard, list of attributes).
LOADS = {"src", "srcset", "poster", "action", "formaction", "background", "data", "manifest",
         "ping", "cite", "archive", "codebase", "longdesc", "usemap"}  # fmt: skip
FORBIDDEN = {"script", "link", "base", "iframe", "object", "embed", "img", "image", "form", "input",
             "button", "audio", "video", "foreignobject", "animate", "set", "template"}  # fmt: skip


def faults(html: Node) -> list[str]:
    """Return all that is wrong with a page."""
    rules = (loads_something, ids, headings, landmarks, nesting, drawings, tables, names)
    return [f"{rule.__name__}: {fault}" for rule in rules for fault in rule(html)]


def loads_something(html: Node) -> Iterator[str]:
    """Yield what would leave the page, or run."""
    for node in html.walk():
        if node.name in FORBIDDEN:
            yield f"<{node.name}>"
        for name, value in node.attributes.items():
            if name in LOADS or name.startswith("on"):
                yield f"<{node.name} {name}={value!r}>"
            if name.endswith("href") and not (value or "").startswith("#"):
                yield f"<{node.name} {name}={value!r}>"
            if re.search(r"url\((?!#)", value or ""):
                yield f"<{node.name} {name}={value!r}>"
        if node.name == "style" and re.search(r"@import|url\(|expression\(", node.text):
            yield "a style sheet that loads something"
        if node.name == "meta" and node.get("http-equiv").lower() == "refresh":
            yield "a refresh"


def ids(html: Node) -> Iterator[str]:
    """Yield ids that stand twice, and what points at an id that is not there."""
    count = Counter(node.get("id") for node in html.walk() if "id" in node.attributes)
    yield from (f"id {name!r} stands {n} times" for name, n in count.items() if n > 1)
    yield from (f"id {name!r} is none" for name in count if not name or re.search(r"\s", name))
    for node in html.walk():
        for name in ("aria-labelledby", "aria-describedby"):
            yield from (f"{name}={x!r}" for x in node.get(name).split() if x not in count)
        pointed = [v or "" for n, v in node.attributes.items() if n.endswith("href")]
        pointed += [f"#{x}" for v in node.attributes.values()
                    for x in re.findall(r"url\(#([^)]+)\)", v or "")]  # fmt: skip
        yield from (f"{x!r} leads nowhere" for x in pointed if x[1:] not in count)


def headings(html: Node) -> Iterator[str]:
    """Yield headings that are empty or skip a level (WCAG 2.2, technique G141)."""
    level = 0
    if len(html.all("h1")) != 1:
        yield f"{len(html.all('h1'))} h1"
    for node in html.all("h1", "h2", "h3", "h4", "h5", "h6"):
        own = int(node.name[1])
        if own > level + 1:
            yield f"h{own} {node.words!r} follows h{level}"
        if not node.words:
            yield f"an empty h{own}"
        level = own


def landmarks(html: Node) -> Iterator[str]:
    """Yield landmarks that are missing, doubled or unnamed (WCAG 2.2, technique ARIA11, G1)."""
    body = html.one("body")
    for name in ("header", "main", "footer", "nav"):
        if len(html.all(name)) != 1:
            yield f"{len(html.all(name))} <{name}>"
    if not html.one("nav").get("aria-label"):
        yield "<nav> has no name"
    first = body.children[0]
    if first.name != "a" or not first.get("href").startswith("#"):
        yield "the page does not begin with a skip link"
    if html.get("lang") != "en" or not html.one("head").one("title").words:
        yield "no language or no title"
    regions = [node.get("aria-label") for node in html.all(role="region")]
    yield from (f"region {x!r} {n} times" for x, n in Counter(regions).items() if n > 1 or not x)


def nesting(html: Node) -> Iterator[str]:
    """Yield elements that stand where the standard does not let them."""
    for node in html.walk():
        if node.name == "svg" or any(x.name == "svg" for x in node.above()):
            continue
        inside = {child.name for child in node.children}
        if node.name in CHILDREN and not inside <= CHILDREN[node.name]:
            yield f"{sorted(inside - CHILDREN[node.name])} in <{node.name}>"
        if node.name in CHILDREN and any(x.strip() for x in node.content if isinstance(x, str)):
            yield f"text in <{node.name}>"
        if node.name in ONLY_PHRASING and not inside <= PHRASING:
            yield f"{sorted(inside - PHRASING)} in <{node.name}>"
        if node.name == "details" and (not node.children or node.children[0].name != "summary"):
            yield "<details> without <summary> at its head"
        if node.name in ("ul", "ol", "dl") and not node.children:
            yield f"an empty <{node.name}>"


def drawings(html: Node) -> Iterator[str]:
    """Yield drawings nobody hears of: no title, or neither an image nor hidden."""
    for node in html.all("svg"):
        titles = [child for child in node.children if child.name == "title"]
        if len(titles) != 1 or not titles[0].words:
            yield f"<svg class={node.get('class')!r}> has no title"
        if node.get("role") != "img" and node.get("aria-hidden") != "true":
            yield f"<svg class={node.get('class')!r}> is neither an image nor hidden"


def tables(html: Node) -> Iterator[str]:
    """Yield tables without caption, heads or a region to scroll in; rows of another length."""
    for node in html.all("table"):
        captions = node.all("caption")
        if len(captions) != 1 or not captions[0].words:
            yield "a table without a caption"
            continue
        said = captions[0].words
        heads = node.one("thead").all("th")
        if any(head.get("scope") != "col" or not head.words for head in heads):
            yield f"{said!r}: a head without words or scope"
        for row in node.one("tbody").all("tr"):
            cells = row.children
            if len(cells) != len(heads):
                yield f"{said!r}: {len(cells)} cells under {len(heads)} heads"
            if cells[0].get("scope") != "row" or not cells[0].words:
                yield f"{said!r}: a row without its head"
        around = node.parent
        if around is None or around.get("role") != "region" or around.get("tabindex") != "0":
            yield f"{said!r}: no region to scroll in"


def names(html: Node) -> Iterator[str]:
    """Yield text that only a program would say."""
    spoken = re.compile(r"(?<![\w.-])(?:None|nan|inf|NaN|Infinity|\{\}|\[\]|\(\))(?!\w)")
    for node in html.one("body").walk():
        for part in node.content:
            if isinstance(part, str) and (found := spoken.search(part)):
                yield f"{found[0]} in {part[:80]!r}"
