"""A scenario with what was measured on its bench, from the file and from the command line."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from geometries.errors import ScenarioError
from geometries.files.reading import build, describe, read_text
from geometries.study.scenario import Scenario, only_variant


def read_measurement_scenario(path: Path, measured: Mapping[str, str], *, allow_outside: bool = False) -> Scenario:
    """Read a scenario file and reduce it to the variant that was measured.

    Parameters
    ----------
    path : Path
        A TOML file, with a `[measurement]` table or without.
    measured : mapping
        Keys of that table that come from elsewhere; they win over the file's own. Empty texts count as not given.
    allow_outside : bool
        Whether files that it names may lie outside its folder.

    Returns
    -------
    Scenario
        With its bench, and one variant without steps.

    Raises
    ------
    ScenarioError
        If the file does not describe a scenario, or nothing was measured.
    """
    given = {key: value for key, value in measured.items() if value}
    scenario = build(
        describe(read_text(path), where=str(path), measured=given, allow_outside=allow_outside), where=str(path)
    )
    if scenario.measurement is None:
        raise ScenarioError(
            f'{path}: nothing was measured; add a [measurement] table with ring_frequency = "205 MHz", '
            'loaded_ring_frequency = "103 MHz" and added_capacitance = "900 pF", or give them as options'
        )
    alone = only_variant(scenario, scenario.measurement.variant)
    return replace(alone, variants=(replace(alone.variants[0], steps=()),), budgets=())
