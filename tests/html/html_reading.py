"""Reads a page with the standard library's parser into a tree that tests can ask.

It is stricter than a browser: every element but a void one must be closed, in order.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser

# HTML Living Standard, 13.1.2 "Elements": void elements have a start tag only.
VOID = {"area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source",
        "track", "wbr"}  # fmt: skip


@dataclass
class Node:
    """One element, its text pieces and children in order."""

    name: str
    attributes: dict[str, str | None]
    parent: Node | None = None
    content: list[Node | str] = field(default_factory=list)

    @property
    def children(self) -> list[Node]:
        """The elements directly within."""
        return [part for part in self.content if isinstance(part, Node)]

    @property
    def text(self) -> str:
        """All text within, blanks joined."""
        parts = (part if isinstance(part, str) else part.text for part in self.content)
        return "".join(parts)

    @property
    def words(self) -> str:
        """The text on one line."""
        return " ".join(self.text.split())

    def get(self, name: str) -> str:
        """Return an attribute, '' where it is not there."""
        return self.attributes.get(name) or ""

    def walk(self) -> Iterator[Node]:
        """Yield this element and all below it."""
        yield self
        for child in self.children:
            yield from child.walk()

    def all(self, *names: str, **attributes: str) -> list[Node]:
        """Return the elements of these names; ``class_`` asks for one of the classes."""
        found = [node for node in self.walk() if not names or node.name in names]
        for key, value in attributes.items():
            if key == "class_":
                found = [node for node in found if value in node.get("class").split()]
            else:
                found = [x for x in found if x.attributes.get(key.replace("_", "-")) == value]
        return found

    def one(self, *names: str, **attributes: str) -> Node:
        """Return the only element of these names."""
        found = self.all(*names, **attributes)
        assert len(found) == 1, (names, attributes, len(found))
        return found[0]

    def above(self) -> Iterator[Node]:
        """Yield what this element stands in, from within."""
        node = self.parent
        while node is not None:
            yield node
            node = node.parent


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.root = Node("", {})
        self.at = self.root

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = [name for name, _ in attrs]
        assert len(set(names)) == len(names), f"<{tag}> repeats an attribute: {names}"
        node = Node(tag, dict(attrs), self.at)
        self.at.content.append(node)
        if tag not in VOID:
            self.at = node

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.handle_endtag(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.at.name == tag, f"</{tag}> where <{self.at.name}> is open, {self.getpos()}"
        assert self.at.parent is not None
        self.at = self.at.parent

    def handle_data(self, data: str) -> None:
        self.at.content.append(data)

    def handle_comment(self, data: str) -> None:
        raise AssertionError(f"a comment: {data[:60]}")

    def handle_pi(self, data: str) -> None:
        raise AssertionError(f"a processing instruction: {data[:60]}")


def read(page: str) -> Node:
    """Return the <html> element of a page; fails where one is open or closed out of order."""
    assert page.startswith("<!DOCTYPE html>\n")
    reader = _Reader()
    reader.feed(page)
    reader.close()
    assert reader.at is reader.root, f"<{reader.at.name}> is never closed"
    (html,) = reader.root.children
    return html
