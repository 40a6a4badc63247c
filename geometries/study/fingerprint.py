"""What the numbers of a scenario depend on: two scenarios of which it is the same have the same numbers."""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from typing import Any

from geometries.board.materials import Conductor
from geometries.board.stackup import DielectricLayer, Stackup
from geometries.layout.layout import PlanLayout
from geometries.operation.price import Price
from geometries.section.section import CrossSection, DielectricBand
from geometries.study.scenario import Scenario, Segment, Variant

_WITHOUT: dict[type, tuple[str, ...]] = {
    Scenario: ("title", "setting", "revision", "text", "reference", "budgets", "objectives", "unusual"),
    Variant: ("name", "note", "price", "steps", "no_axisymmetric_view", "stackups"),
    Segment: ("start",),
    CrossSection: ("name", "bands"),
    Conductor: ("name",),
    PlanLayout: ("name",),
    Stackup: ("name", "note"),
    Price: ("amount", "currency"),
    DielectricBand: ("name",),
}
"""Fields that name or draw something, or hold what the others follow from."""


def computed_from(scenario: Scenario) -> tuple[object, ...]:
    """What the numbers of a scenario depend on, as a value that can be compared and hashed.

    Titles, notes, prices, budgets and the text of the file are left out, and of the boards all but the heights of
    their surfaces and the permittivities that a capacitance is computed from.

    Parameters
    ----------
    scenario : Scenario
        One variant or several.

    Returns
    -------
    tuple
        Equal for two scenarios whose numbers are equal.

    Examples
    --------
    >>> from dataclasses import replace
    >>> from geometries.files.reading import read_builtin_scenario
    >>> scenario = read_builtin_scenario("orchard-pump")
    >>> computed_from(scenario) == computed_from(replace(scenario, title="another"))
    True
    """
    bare = replace(scenario, variants=tuple(map(_without_permittivities, scenario.variants)))
    return (*(variant.surfaces for variant in scenario.variants), _plain(bare))


def _without_permittivities(variant: Variant) -> Variant:
    """Without those of the board under a placement, which no number of it depends on."""
    if variant.placed is None:
        return variant
    stackup = variant.placed.site.stackup
    layers = tuple(
        replace(layer, relative_permittivity=1.0) if isinstance(layer, DielectricLayer) else layer
        for layer in stackup.layers
    )
    site = replace(variant.placed.site, stackup=replace(stackup, layers=layers))
    return replace(variant, placed=replace(variant.placed, site=site))


def _plain(value: Any) -> object:
    if isinstance(value, tuple):
        return tuple(map(_plain, value))
    if not is_dataclass(value):
        return value
    left_out = _WITHOUT.get(type(value), ())
    kept = (each.name for each in fields(value) if each.name not in left_out)
    return (type(value).__name__, *(_plain(getattr(value, name)) for name in kept))
