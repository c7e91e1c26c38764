"""Hands out the JSON Schema that all JSON output of this version keeps to."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

__all__ = ["json_schema"]


def json_schema() -> dict[str, Any]:
    """Return the schema (JSON Schema 2020-12) as JSON types."""
    text = Path(__file__).with_name("schema.json").read_text(encoding="utf-8")
    loaded: dict[str, Any] = json.loads(text)
    return loaded
