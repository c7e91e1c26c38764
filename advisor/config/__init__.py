"""Reads ini-style firmware configs without loss, follows includes, and edits single values.

It knows the dialect's lines, not its keys: what a value means is decided by the intake.
"""

from advisor.config.document import Document, Include, Section, Setting
from advisor.config.edit import insert_setting, replace_value
from advisor.config.include import read_tree, read_tree_from_bytes
from advisor.config.read import read_document
from advisor.config.tree import MissingInclude, Tree

__all__ = [
    "Document",
    "Include",
    "MissingInclude",
    "Section",
    "Setting",
    "Tree",
    "insert_setting",
    "read_document",
    "read_tree",
    "read_tree_from_bytes",
    "replace_value",
]
