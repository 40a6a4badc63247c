"""The what-if page: everything that its script computes with, and the page around it."""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from importlib import resources
from typing import Any

from markupsafe import Markup

from geometries.errors import GeometryError
from geometries.files.explored_text import explored_text
from geometries.quantities import Quantity, convenient_unit, read_quantity
from geometries.study.explore import Exploration, ExploredVariant
from geometries.study.keys import key_words
from geometries.study.scenario import Scenario
from solver.emission.product import SUMMED_LINES
from solver.explore.consequences import RATES, driven_by_current, level_grid, level_per_moment, shape_of_levels
from solver.explore.inputs import EDGE_NUMBERS, SHARED_NUMBERS, Inputs
from solver.explore.interpolation import NODES, Interpolation
from solver.explore.points import CHECKS
from solver.explore.surrogate import MARGIN, ExploredFigure, Surrogate
from solver.report.explore_shapes import moving_shapes
from solver.report.first_page import CAUTIONS, operating_words, revision_of, today
from solver.report.html import page_template
from solver.study.basis import described_basis
from solver.study.budgets import limits_of
from solver.study.figures_of_merit import AnyFigure
from solver.variant.figure import NUMBER, Change, Sense

_SIGNIFICANT = 8


def render_exploration(asked: Exploration, known: Sequence[Surrogate]) -> str:
    """The page of a what-if study.

    Parameters
    ----------
    asked : Exploration
        What is moved.
    known : sequence of Surrogate
        Of every variant.

    Returns
    -------
    str
        One HTML page with everything inside it.
    """
    return page_template("explore.html.j2").render(
        scenario=asked.scenario,
        title=f"What if: {asked.scenario.title}",
        issued=today(),
        revision=revision_of(asked.scenario),
        basis=described_basis(
            each for each in asked.scenario.variants if each.name in {v.base for v in asked.variants}
        ),
        assumptions=operating_words(asked.scenario),
        cautions=CAUTIONS,
        checks=CHECKS,
        computes=asked.computes,
        margin=MARGIN,
        data=_json(page_data(asked, known)),
        script=Markup("".join(map(_script, ("consequences.js", "explore.js")))),
    )


def _script(name: str) -> str:
    return resources.files("solver.report").joinpath(name).read_text(encoding="utf-8")


def _json(data: object) -> Markup:
    """Data that can stand inside a page: no sign in it ends an element."""
    text = json.dumps(data, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return Markup(text.replace("&", "\\u0026").replace("<", "\\u003c").replace(">", "\\u003e"))


def page_data(asked: Exploration, known: Sequence[Surrogate]) -> dict[str, Any]:
    """What the page's script computes with, as plain values in the units that are shown."""
    limits = {limit.figure.key: limit.value / limit.figure.scale for limit in limits_of(asked.scenario)}
    return {
        "nodes": list(NODES),
        "reference": asked.scenario.reference,
        "budgets": _budgets(asked.scenario),
        "rates": list(RATES),
        "choices": [{"title": key_words(each.key), "labels": list(each.labels)} for each in asked.choices],
        "axes": [_axis(asked, number) for number in range(len(asked.axes))],
        "variants": [
            _variant(asked, variant, surrogate, limits)
            for variant, surrogate in zip(asked.variants, known, strict=True)
        ],
    }


def _axis(asked: Exploration, number: int) -> dict[str, Any]:
    axis = asked.axes[number]
    bare = axis.quantity in (Quantity.NUMBER, Quantity.COUNT)
    size, unit = (1.0, "") if bare else convenient_unit(axis.high, axis.quantity)
    return {
        "key": axis.key,
        "title": key_words(axis.key),
        "unit": unit,
        "size": size,
        "low": axis.low / size,
        "high": axis.high / size,
        "logarithmic": axis.logarithmic,
        "whole": axis.quantity is Quantity.COUNT,
    }


def _variant(
    asked: Exploration, variant: ExploredVariant, surrogate: Surrogate, limits: dict[str, float]
) -> dict[str, Any]:
    return {
        "name": variant.name,
        "base": variant.base,
        "picked": list(variant.picked),
        "site": site_data(_today(asked, variant)) if asked.computes else None,
        "today": [value / _axis(asked, number)["size"] for number, value in enumerate(variant.today)],
        **_polynomials(surrogate.interpolation),
        "inputs": None if surrogate.inputs is None else inputs_data(surrogate.inputs),
        "figures": [
            _figure(each, sum(not before.computed for before in surrogate.figures[:number]), limits)
            for number, each in enumerate(surrogate.figures)
        ],
        "solved": surrogate.solved,
        **moving_shapes(asked, variant),
        "text": explored_text(asked, variant) if asked.scenario.text else "",
    }


def _short(value: float) -> float:
    return float(f"{value:.{_SIGNIFICANT}g}")


def _budgets(scenario: Scenario) -> dict[str, str]:
    """As they are written, and how they decide."""
    written = {each.key: each.text for each in scenario.budgets}
    return written | ({"decide": scenario.budgets[0].decide.value} if written else {})


def _polynomials(known: Interpolation) -> dict[str, Any]:
    """Points and surpluses of every quantity, zeros at their ends left out."""
    rows = [[_short(value) for value in row] for row in known.surpluses.T]
    return {
        "indices": [list(index) for index in known.indices],
        "surpluses": [row[: max((n + 1 for n, value in enumerate(row) if value), default=1)] for row in rows],
    }


def inputs_data(known: Inputs) -> dict[str, Any]:
    """The polynomials of the numbers that computed figures start from, and how these are laid out."""
    return {
        **_polynomials(known.interpolation),
        "sources": list(known.sources),
        "ends": list(known.ends),
        "holdsPackage": known.holds_package,
        "edgeNames": list(EDGE_NUMBERS),
        "sharedNames": list(SHARED_NUMBERS),
    }


def _today(asked: Exploration, variant: ExploredVariant) -> Scenario:
    return asked.scenario_at(variant, variant.today)


def site_data(scenario: Scenario) -> dict[str, Any] | None:
    """What of the emission is the same in the whole box: limits, and the level of a moment of 1 A m²."""
    emission = scenario.emission
    if emission is None:
        return None
    grid = level_grid(emission)
    ways, _ = shape_of_levels(scenario)
    return {
        "grid": [float(grid[0]), float(grid[-1])],
        "points": len(grid),
        "perMoment": [_short(float(each)) for each in level_per_moment(emission)],
        "bands": [[each.start, each.stop, each.level, each.slope] for line in emission.limits for each in line.bands],
        "steps": [edge for line in emission.limits for edge in line.breakpoints],
        "lines": SUMMED_LINES,
        "band": emission.band,
        "ways": ways,
        "byCurrent": list(driven_by_current(scenario)),
    }


def _figure(each: ExploredFigure, row: int, limits: dict[str, float]) -> dict[str, Any]:
    figure = each.figure
    return {
        "key": figure.key,
        "symbol": figure.symbol,
        "title": figure.title,
        "unit": "" if figure.shown is NUMBER else figure.unit,
        "budgetUnit": _budget_unit(figure),
        "scale": figure.scale,
        "byRatios": each.by_ratios,
        "computed": each.computed,
        "row": row,
        "error": _short(each.error),
        "within": each.within,
        "headline": figure.headline,
        "decibels": figure.change is Change.DECIBELS,
        "more": figure.sense is Sense.MORE,
        "limit": limits.get(figure.key),
    }


def _budget_unit(figure: AnyFigure) -> str | None:
    """Unit of a figure as a budget is written with it; None where its own unit cannot be read."""
    try:
        value = read_quantity(f"1 {figure.unit}", figure.quantity, figure.key)
    except GeometryError:  # such a figure's budget is stated in a file
        return None
    return figure.unit if math.isclose(value, figure.scale) else None
