"""From a scenario file to a what-if study, with or without an `[explore]` table."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from geometries.errors import ScenarioError
from geometries.files.explored_text import WrittenFile
from geometries.files.reading import build, describe, describe_document, located, read_text
from geometries.study.description import Description
from geometries.study.explore import Exploration, build_exploration


def read_exploration(path: Path, *, allow_outside: bool = False) -> Exploration:
    """Read a scenario file for a what-if page.

    Parameters
    ----------
    path : Path
        A TOML file; without an `[explore]` table the usual keys are moved by half of their value.
    allow_outside : bool
        Whether files that it names may lie outside its folder.

    Returns
    -------
    Exploration

    Raises
    ------
    ScenarioError
        If the file cannot be read, a key does not exist or has no effect, or an end makes an impossible geometry.

    Examples
    --------
    >>> from importlib import resources
    >>> from geometries import read_exploration
    >>> with resources.as_file(resources.files("geometries") / "scenarios" / "weather-station.toml") as path:
    ...     asked = read_exploration(path)
    >>> asked.axes[0].key
    'loop.width'
    """
    return parse_exploration(read_text(path), where=str(path), allow_outside=allow_outside)


def parse_exploration(text: str, *, where: str = "scenario", allow_outside: bool = False) -> Exploration:
    """Read a what-if study from the text of a scenario file; `where` names it in messages.

    Raises
    ------
    ScenarioError
        As for :func:`read_exploration`.
    """
    description = describe(text, where=where, allow_outside=allow_outside)
    scenario = build(description, where=where)

    def read(changed: dict[str, Any]) -> Description:
        try:
            return describe_document(changed, text="", where=where, allow_outside=allow_outside)
        except ScenarioError as error:
            raise ScenarioError(str(error).removeprefix(f"{where}: ")) from error

    with located(where):
        return build_exploration(scenario, description, WrittenFile(text=text, read=read))
