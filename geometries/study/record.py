"""A description as plain tables, for a record of what was computed."""

from __future__ import annotations

from functools import cache
from typing import Any

from pydantic import TypeAdapter

from geometries.study.description import Description

_NO_INPUT = {"title", "setting", "reference", "text", "folder", "following", "budgets"}


@cache
def _writer() -> TypeAdapter[Description]:
    return TypeAdapter(Description)


def description_record(description: Description) -> dict[str, Any]:
    """A description as tables that JSON can hold, in SI units, without titles and defaults.

    Examples
    --------
    >>> from geometries.files.reading import builtin_text, describe
    >>> description_record(describe(builtin_text("orchard-pump")))["switching"]["input_voltage"]
    48.0
    """
    record: dict[str, Any] = _writer().dump_python(description, mode="json", exclude=_NO_INPUT, exclude_defaults=True)
    return record
