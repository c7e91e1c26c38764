"""Reads ini-style firmware configs without loss, follows includes, and edits single values.

It knows the dialect's lines, not its keys: what a value means is decided by `advisor.inputs`.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from advisor.base.face import face

if TYPE_CHECKING:
    from advisor.config.document import (
        Document as Document,
        Include as Include,
        Section as Section,
        Setting as Setting,
        printable as printable,
    )
    from advisor.config.edit import (
        insert_setting as insert_setting,
        replace_value as replace_value,
    )
    from advisor.config.include import (
        read_tree as read_tree,
        read_tree_from_bytes as read_tree_from_bytes,
    )
    from advisor.config.reader import (
        read_document as read_document,
    )
    from advisor.config.tree import (
        Tree as Tree,
    )
else:
    __getattr__, __dir__, __all__ = face(
        __name__,
        {
            "document": "Document Include Section Setting printable",
            "edit": "insert_setting replace_value",
            "include": "read_tree read_tree_from_bytes",
            "reader": "read_document",
            "tree": "Tree",
        },
    )
