"""A JSON Schema of the documents that the commands print and write."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from solver.report.documents import SCHEMA
from solver.study.figures_of_merit import AnyFigure, every_figure

Schema = dict[str, Any]

_NUMBER: Schema = {"type": ["number", "null"]}
_NUMBERS: Schema = {"type": "array", "items": {"type": "number"}}
_TEXT: Schema = {"type": "string"}
_TEXTS: Schema = {"type": "array", "items": _TEXT}
_FLAG: Schema = {"type": "boolean"}


def _object(required: Schema, optional: Schema | None = None) -> Schema:
    return {"type": "object", "required": list(required), "properties": {**required, **(optional or {})}}


def _list(items: Schema) -> Schema:
    return {"type": "array", "items": items}


def _reference(name: str) -> Schema:
    return {"$ref": f"#/$defs/{name}"}


def document_schema() -> Schema:
    """The schema (draft 2020-12) of every document; the command that printed it says which one it is.

    Returns
    -------
    dict
        Ready for :func:`json.dumps`.
    """
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"urn:{SCHEMA.replace('/', ':')}",
        "title": "Documents of copperfield",
        "description": "SI units; a number that does not exist is null. Figures have the same keys in every document.",
        **_object({"schema": {"const": SCHEMA}, "command": {"enum": sorted(_COMMANDS)}}),
        "allOf": list(_by_command()),
        "$defs": {"figures": _figures(), "warnings": _list(_object({"code": _TEXT, "text": _TEXT}))},
    }


def _figures() -> Schema:
    return {
        "type": "object",
        "properties": {figure.key: _figure(figure) for figure in every_figure()},
        "additionalProperties": False,
    }


def _figure(figure: AnyFigure) -> Schema:
    fields = {"value": _NUMBER, "uncertainty": _NUMBER, "unit": {"const": figure.quantity.unit}}
    return {"title": figure.title, **_object(fields), "additionalProperties": False}


def _by_command() -> Iterator[Schema]:
    for command, schema in _COMMANDS.items():
        yield {"if": {"properties": {"command": {"const": command}}}, "then": schema}


_FIGURES = {"figures": _reference("figures")}
_ENDING = {"warnings": _reference("warnings"), "versions": {"type": "object", "additionalProperties": _TEXT}}
_HEAD = {"title": _TEXT, "setting": _TEXT, "conventions": _TEXT, "report_frequency": {"type": "number"}}
_VARIANT = _object({"name": _TEXT, "basis": _TEXT, **_FIGURES, "changes": {"type": "object"}})
_STUDY = _object(
    {
        **_HEAD,
        "complete": _FLAG,
        "decision": _TEXT,
        "reference": _TEXT,
        "variants": _list(_VARIANT),
        "not_solved": _list(_object({"name": _TEXT, "reason": _TEXT})),
        "details": {"type": "object"},
        **_ENDING,
    },
    {"files": _TEXTS},
)
_POINT = _object({"point": {"type": "integer"}, "values": _NUMBERS, **_FIGURES, "warnings": _TEXTS, "seconds": _NUMBER})
_SWEEP = _object(
    {
        **_HEAD,
        "complete": _FLAG,
        "finding": _TEXT,
        "variant": _TEXT,
        "basis": _TEXT,
        "vary": _list(_object({"key": _TEXT, "unit": _TEXT, "values": _NUMBERS})),
        "points": _list(_POINT),
        "not_solved": _list(_object({"point": {"type": "integer"}, "values": _NUMBERS, "reason": _TEXT})),
        **_ENDING,
    }
)
_SPREAD = _object({"lowest": _NUMBER, "highest": _NUMBER, "quantiles": {"type": "object"}})
_CENTRE = _object(
    {"name": _TEXT, **_FIGURES, "spreads": {"type": "object", "additionalProperties": _SPREAD}, "budgets": _list({})}
)
_TOLERANCE = _object({**_HEAD, "finding": _TEXT, "basis": _TEXT, "variants": _list(_CENTRE), **_ENDING})
_CHECKED = _object({"name": _TEXT, "kept": _FLAG, **_FIGURES, "budgets": {"type": "array"}})
_CHECK = _object({**_HEAD, "kept": _FLAG, "sentence": _TEXT, "variants": _list(_CHECKED), **_ENDING})
_PLAN = _object({"title": _TEXT, "finding": _TEXT, "variants": _list(_object({"name": _TEXT, **_FIGURES}))})
_READING = _object({"value": _NUMBER, "uncertainty": _NUMBER, "unit": _TEXT})
_DRAWN = _object(
    {"name": _TEXT, "finding": _TEXT, **_FIGURES, "split": _object({"copper": _READING, "parts": _READING})}
)
_BOARD = _object(
    {
        "title": _TEXT,
        "conventions": _TEXT,
        "finding": _TEXT,
        "remarks": _TEXTS,
        "report_frequency": _NUMBER,
        "converters": _list(_object({"name": _TEXT, "kind": _TEXT})),
        "variants": _list(_DRAWN),
        "not_solved": _TEXTS,
        "other_revision": _list(_DRAWN),
    }
)
_READ_KEY = _object({"table": _TEXT, "key": _TEXT, "value": _TEXT, "default": _FLAG})
_INSPECT = _object(
    {
        **_HEAD,
        "reference": _TEXT,
        "known_figures": _TEXTS,
        "inputs": _list(_READ_KEY),
        "variants": _list(_object({"name": _TEXT})),
        "warnings": _reference("warnings"),
    }
)
_COMMANDS = {
    "solve": _STUDY,
    "compare": _STUDY,
    "measurement": _STUDY,
    "sweep": _SWEEP,
    "tolerance": _TOLERANCE,
    "check": _CHECK,
    "plan": _PLAN,
    "board": _BOARD,
    "inspect": _INSPECT,
}
