"""Machine-readable JSON of every answer, and its schema: one table of fields makes both."""

from __future__ import annotations

import importlib
import json
from collections.abc import Iterable
from typing import TYPE_CHECKING

from advisor.base import __version__
from advisor.report.clean import unicode_text
from advisor.report.json.kinds import Schema, Tree, number, unit_symbol

if TYPE_CHECKING:
    from advisor.report.json.kinds import Record, Schema

__all__ = ["SCHEMA_VERSION", "as_json", "errors_json", "json_schema", "number", "unit_symbol"]

SCHEMA_VERSION = 1
_TABLES = {  # class of the answer: module and table
    "Report": ("machine", "LINT"),
    "DerateReport": ("motor", "DERATE"),
    "tuple": ("motor", "DERATES"),
    "DiagnoseReport": ("diagnose", "DIAGNOSE"),
    "Explanation": ("machine", "EXPLAIN"),
    "FlowReport": ("machine", "FLOW_ANSWER"),
    "DemandReport": ("print_", "DEMAND"),
    "MendReport": ("builds", "MEND"),
    "SessionReport": ("session", "SESSION"),
    "WeighReadAnswer": ("weigh", "READ"),
    "WeighCompareAnswer": ("weigh", "COMPARE"),
    "WeighPlanAnswer": ("weigh", "PLAN"),
    "WeighNextAnswer": ("weigh", "NEXT"),
    "SkipPlanAnswer": ("weigh", "SKIP_PLAN"),
    "SkipReadAnswer": ("weigh", "SKIP_READ"),
    "CompareReport": ("builds", "COMPARE"),
    "TorqueReport": ("motor", "TORQUE"),
    "GripReport": ("motor", "GRIP"),
}


def as_json(answer: object) -> str:
    """Return an answer as one JSON object.

    Parameters
    ----------
    answer : record
        What a question of the library answers; two or more answers of `derate` as a tuple.

    Raises
    ------
    TypeError
        For what is no answer.

    Examples
    --------
    >>> import advisor
    >>> print(advisor.as_json(advisor.derate(1.0))[:23])
    {
      "schema_version": 1
    """
    name = type(answer).__name__
    if name not in _TABLES:
        raise TypeError(f"'{name}' is no answer")
    return _dump(_table(*_TABLES[name]).tree(answer))


def errors_json(errors: Iterable[str]) -> str:
    """Return a valid object that says only what went wrong."""
    return _dump({"errors": [unicode_text(error) for error in errors]})


def json_schema() -> Schema:
    """Return the schema (JSON Schema 2020-12) of every answer, as JSON types.

    Examples
    --------
    >>> import advisor
    >>> advisor.json_schema()["$schema"]
    'https://json-schema.org/draft/2020-12/schema'
    """
    named: dict[str, Schema] = {}
    answers = [_table(*place) for place in _TABLES.values()] + [_failed()]
    for answer in answers:
        answer.schema(named)
        _with_head(named[answer.name])
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": f"Feedwright JSON output, schema_version {SCHEMA_VERSION}",
        "description": "One object per run: the answer of a command, told apart by its keys, or "
        "only errors. Currents are RMS amperes unless the fact says otherwise; a unit of null is a "
        "plain number or text.",
        "oneOf": [{"$ref": f"#/$defs/{answer.name}"} for answer in answers],
        "$defs": {"version": {"const": SCHEMA_VERSION}, "tool": _TOOL, **named},
    }


def _table(module: str, name: str) -> Record:
    table: Record = getattr(importlib.import_module(f"advisor.report.json.{module}"), name)
    return table


def _failed() -> Record:
    from advisor.report.json.kinds import WORDS, Field, Record, Several

    about = "What derate and explain say when there is no answer."
    return Record((Field("errors", Several(WORDS, least=1)),), "failed", about)


_TOOL = {
    "type": "object",
    "additionalProperties": False,
    "required": ["name", "version"],
    "properties": {"name": {"const": "feedwright"}, "version": {"type": "string", "minLength": 1}},
}


def _with_head(schema: Schema) -> None:
    """Put what stands before every answer into its schema."""
    schema["required"] = ["schema_version", "tool", *schema["required"]]
    head = {name: {"$ref": f"#/$defs/{ref}"} for name, ref in _HEAD.items()}
    schema["properties"] = {**head, **schema["properties"]}


_HEAD = {"schema_version": "version", "tool": "tool"}


def _dump(content: Tree) -> str:
    """Return an answer as text, with the version of schema and tool before it."""
    tool = {"name": "feedwright", "version": __version__}
    whole = {"schema_version": SCHEMA_VERSION, "tool": tool, **content}
    return json.dumps(whole, indent=2, allow_nan=False) + "\n"
