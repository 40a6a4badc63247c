"""From a scenario file with a `[sweep]` table to a sweep."""

from __future__ import annotations

from pathlib import Path

from geometries.files.reading import build, describe, located, read_text
from geometries.study.sweep import Sweep, build_sweep


def read_sweep(path: Path, *, allow_outside: bool = False) -> Sweep:
    """Read a scenario file that has a `[sweep]` table.

    Parameters
    ----------
    path : Path
        A TOML file.
    allow_outside : bool
        Whether files that it names may lie outside its folder.

    Returns
    -------
    Sweep
        Every point of it has been built once, so that none of them is refused later.

    Raises
    ------
    ScenarioError
        If the file cannot be read, has no sweep, a key does not exist or has no effect, or a value makes an
        impossible geometry; the message names the point.

    Examples
    --------
    >>> from importlib import resources
    >>> from geometries import read_sweep
    >>> with resources.as_file(resources.files("geometries") / "scenarios" / "orchard-pump.toml") as path:
    ...     sweep = read_sweep(path)
    >>> sweep.variant, sweep.size
    ('one end', 45)
    """
    return parse_sweep(read_text(path), where=str(path), allow_outside=allow_outside)


def parse_sweep(text: str, *, where: str = "scenario", allow_outside: bool = False) -> Sweep:
    """Read a sweep from the text of a scenario file; `where` names it in messages.

    Raises
    ------
    ScenarioError
        As for :func:`read_sweep`.
    """
    description = describe(text, where=where, allow_outside=allow_outside)
    scenario = build(description, where=where)
    with located(where):
        return build_sweep(scenario, description)
