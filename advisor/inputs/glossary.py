"""What is said of settings, limits and words of the trade, read from rules/dialects/glossary.yaml.

It knows the syntax of the file, explained there; what the settings state is the dialect's to say.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from advisor.base import frozen
from advisor.data import Row, artifact

if TYPE_CHECKING:
    from advisor.data import Node

__all__ = ["ARTIFACTS", "Glossary", "SettingWords", "Word", "build_glossary", "load_glossary"]

_FILE = "dialects/glossary.yaml"


@frozen
class SettingWords:
    """A key of the config: what it governs, and what it is often taken for and is not."""

    governs: str
    not_this: str


@frozen
class Word:
    """A word of the trade, other words for it, what it is, and names to go on with."""

    name: str
    also: tuple[str, ...]
    text: str
    see: tuple[str, ...]


@frozen
class Glossary:
    """All of it, by name."""

    limits: Mapping[str, str]
    settings: Mapping[str, SettingWords]
    words: Mapping[str, Word]

    def word(self, name: str) -> Word | None:
        """Return the word of the trade that is called `name`, or one for which it is another."""
        if name in self.words:
            return self.words[name]
        return next((word for word in self.words.values() if name in word.also), None)


@functools.cache
def load_glossary() -> Glossary:
    """Return the glossary; it is read once."""
    data = artifact("glossary", build_glossary)
    return Glossary(
        limits=data["limits"],
        settings={
            name: SettingWords(row["governs"], row["not"]) for name, row in data["settings"].items()
        },
        words={
            name: Word(name, tuple(row["also"]), row["text"], tuple(row["see"]))
            for name, row in data["words"].items()
        },
    )


def build_glossary() -> Row:
    """Return the file as JSON types: the artifact ``glossary``.

    Raises
    ------
    DataError
        At the first mistake, with its place.
    """
    from advisor.data import schema as s

    sentence = s.checked(s.text, _sentence)
    names = s.listed(s.text)
    data: Row = s.read_data(
        _FILE,
        s.row(
            {
                "limits": s.names(sentence),
                "settings": s.names(s.row({"governs": sentence, "not": sentence})),
                "words": s.names(s.row({"also": names, "text": sentence, "see": names})),
            }
        ),
    )
    return data


ARTIFACTS: Mapping[str, Callable[[], object]] = {"glossary": build_glossary}


def _sentence(node: Node, text: str) -> str:
    if not text.strip().endswith("."):
        raise node.wrong("is no sentence", "end it with a full stop")
    return text
