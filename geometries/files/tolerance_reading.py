"""From a scenario file with a `[tolerance]` table to what is to be solved for it."""

from __future__ import annotations

from pathlib import Path

from geometries.files.reading import build, describe, located, read_text
from geometries.study.tolerance import Tolerance, build_tolerance


def read_tolerance(path: Path, variant: str = "", *, allow_outside: bool = False) -> Tolerance:
    """Read a scenario file that has a `[tolerance]` table.

    Parameters
    ----------
    path : Path
        A TOML file.
    variant : str
        Look at this one alone; at those that the table names, or at all, if not given.
    allow_outside : bool
        Whether files that it names may lie outside its folder.

    Returns
    -------
    Tolerance
        Every corner of it has been built once, so that none is refused later.

    Raises
    ------
    ScenarioError
        If the file cannot be read, has no such table, or a corner is an impossible geometry.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> from geometries import read_tolerance
    >>> text = '''
    ... title = "two layers"
    ... stackup = "2L-1.6"
    ... loop = { kind = "same-layer", width = "3 mm", gap = "1 mm", length = "8 mm" }
    ... tolerance = { etch = "20 um" }
    ... '''
    >>> with TemporaryDirectory() as folder:
    ...     file = Path(folder) / "loop.toml"
    ...     _ = file.write_text(text)
    ...     tolerance = read_tolerance(file)
    >>> tolerance.variants
    ('two layers',)
    """
    return parse_tolerance(read_text(path), where=str(path), variant=variant, allow_outside=allow_outside)


def parse_tolerance(text: str, *, where: str = "scenario", variant: str = "", allow_outside: bool = False) -> Tolerance:
    """Read tolerances from the text of a scenario file; `where` names it in messages.

    Raises
    ------
    ScenarioError
        As for :func:`read_tolerance`.
    """
    description = describe(text, where=where, allow_outside=allow_outside)
    scenario = build(description, where=where)
    with located(where):
        return build_tolerance(scenario, description, variant)
