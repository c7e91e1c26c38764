"""Pictures for the page, drawn by matplotlib where it is installed: each is one inline ``<svg>``.

They are an extra (``feedwright[pictures]``): without it `available` is False and the page says so.
"""

from __future__ import annotations

__all__: list[str] = []
