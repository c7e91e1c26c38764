"""A command that was run in this process, and what it said."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from jsonschema import Draft202012Validator

from advisor.report.json import json_schema

VALIDATOR = Draft202012Validator(json_schema())


@dataclass(frozen=True)
class Ran:
    code: int
    out: str
    err: str

    @property
    def json(self) -> dict[str, Any]:
        """Its answer, which keeps to the schema."""
        made: dict[str, Any] = json.loads(self.out)
        VALIDATOR.validate(made)
        return made


Run = Callable[..., Ran]
