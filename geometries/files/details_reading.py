"""What a board's fabrication files cannot say, from a file of the user's: its parts, and what drives the pick-up."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from pydantic import ValidationError

from geometries.files.messages import explained
from geometries.files.reading import located, parse_document, read_text
from geometries.section.victims import Drive
from geometries.study.described_outline import BridgeTable
from geometries.tables import Table, read_table


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardDetails(Table):
    """The file: `[parts.REFERENCE]` as in a scenario's `[board]`, and a scenario's table `[pickup]`."""

    parts: Mapping[str, BridgeTable] = field(default_factory=dict)
    pickup: Drive | None = None


NO_DETAILS = BoardDetails()


def read_details(path: Path) -> BoardDetails:
    """Read a file of details.

    Raises
    ------
    ScenarioError
        If it cannot be read as meant; the message says what, where and how to fix it.
    """
    text, where = read_text(path), str(path)
    document = parse_document(text, where=where)
    with located(where):
        try:
            return read_table(BoardDetails, document)
        except ValidationError as error:
            raise explained(error, document, document, text, where) from error
