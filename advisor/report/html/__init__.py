"""The page: one self-contained HTML file with all that was worked out, for reading at the bench.

It needs no script and loads nothing. It computes nothing: the command gathers the parts.
"""

from __future__ import annotations

from advisor.report.html.diagnose import render_diagnose
from advisor.report.html.layout import MARK
from advisor.report.html.page import render
from advisor.report.html.parts import ConfigPart, ExtruderPart, MendPart, PageParts
from advisor.report.html.session import render_session
from advisor.report.html.weighed import render_weigh_compare

__all__ = [
    "MARK",
    "ConfigPart",
    "ExtruderPart",
    "MendPart",
    "PageParts",
    "render",
    "render_diagnose",
    "render_session",
    "render_weigh_compare",
]
