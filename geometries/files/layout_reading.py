"""From a file with a user-defined copper outline to a :class:`~geometries.layout.layout.PlanLayout`."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path

from pydantic import ValidationError

from geometries.board.materials import COPPER
from geometries.errors import ScenarioError
from geometries.files.messages import explained
from geometries.files.reading import located, parse_document, read_text
from geometries.layout.laid_out import require_closed_ports
from geometries.layout.plan_task import PlanTask
from geometries.study.described_outline import OutlineTable, outline_layout
from geometries.tables import Frequency, read_table


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanTable(OutlineTable):
    """A whole file: an outline with its title, and the frequency at which it is wanted."""

    title: str
    frequency: Frequency = 100e6

    def __post_init__(self) -> None:
        if not (self.frequency > 0 and math.isfinite(self.frequency)):
            raise ScenarioError(f"frequency is {self.frequency:g} Hz; it must be above zero")

    def built(self) -> PlanTask:
        """The layout, and the frequency."""
        layout = outline_layout(self.title, self, None, COPPER)
        require_closed_ports(layout)
        return PlanTask(layout=layout, frequency=self.frequency)


def read_plan(path: Path) -> PlanTask:
    """Read a user-defined layout.

    Parameters
    ----------
    path : Path
        A TOML file.

    Returns
    -------
    PlanTask

    Raises
    ------
    ScenarioError
        If the file cannot be read or does not describe a layout; the message says what, where and how to fix it.

    Examples
    --------
    >>> from pathlib import Path
    >>> from geometries import ScenarioError, read_plan
    >>> try:
    ...     read_plan(Path("nowhere.toml"))
    ... except ScenarioError as error:
    ...     print(error)
    nowhere.toml: there is no such file; check the path
    """
    return parse_plan(read_text(path), where=str(path))


def parse_plan(text: str, *, where: str = "plan") -> PlanTask:
    """Read a layout from the text of a TOML file; `where` names it in messages.

    Raises
    ------
    ScenarioError
        As for :func:`read_plan`.
    """
    document = parse_document(text, where=where)
    try:
        table = read_table(PlanTable, document)
    except ValidationError as error:
        raise explained(error, document, document, text, where) from error
    with located(where):
        return table.built()
