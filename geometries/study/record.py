"""A description as plain tables, for a record of what was computed."""

from __future__ import annotations

from functools import cache
from typing import Any

from pydantic import TypeAdapter

from geometries.study.description import Description

_NO_INPUT: dict[str, Any] = {
    **dict.fromkeys(("title", "setting", "revision", "reference", "text", "folder", "outside", "following"), True),
    **dict.fromkeys(("budgets", "objectives"), True),
    "variant": {"__all__": {"written": True, "segment": {"__all__": {"written"}}}},
    "emission": {"as_written"},
    "switching": {"assumed"},
}
"""What names something, or tells how the values were come by."""


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
