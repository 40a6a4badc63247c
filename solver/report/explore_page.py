"""The what-if page: everything that its script computes with, and the page around it."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from importlib import resources
from typing import Any

from markupsafe import Markup
from shapely import get_coordinates

from geometries.files.explored_text import explored_text
from geometries.quantities import Quantity, convenient_unit
from geometries.study.explore import Exploration, ExploredVariant, Values
from geometries.study.keys import key_words
from geometries.study.scenario import Scenario, whole_section
from solver.explore.interpolation import NODES
from solver.explore.points import CHECKS
from solver.explore.surrogate import MARGIN, ExploredFigure, Surrogate
from solver.report.first_page import CAUTIONS, operating_words, revision_of, today
from solver.report.html import page_template
from solver.study.basis import described_basis
from solver.study.budgets import limits_of
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
            each for each in asked.scenario.variants if each.name in {v.name for v in asked.variants}
        ),
        assumptions=operating_words(asked.scenario),
        cautions=CAUTIONS,
        checks=CHECKS,
        margin=MARGIN,
        data=_json(page_data(asked, known)),
        script=Markup(resources.files("solver.report").joinpath("explore.js").read_text(encoding="utf-8")),
    )


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
        "today": [value / _axis(asked, number)["size"] for number, value in enumerate(variant.today)],
        "indices": [list(index) for index in surrogate.interpolation.indices],
        "surpluses": [[_short(value) for value in row] for row in surrogate.interpolation.surpluses.T],
        "figures": [_figure(each, limits) for each in surrogate.figures],
        "solved": surrogate.solved,
        "shape": _shape(asked, variant),
        "text": explored_text(asked, variant) if asked.scenario.text else "",
    }


def _short(value: float) -> float:
    return float(f"{value:.{_SIGNIFICANT}g}")


def _figure(each: ExploredFigure, limits: dict[str, float]) -> dict[str, Any]:
    figure = each.figure
    return {
        "key": figure.key,
        "symbol": figure.symbol,
        "title": figure.title,
        "unit": "" if figure.shown is NUMBER else figure.unit,
        "scale": figure.scale,
        "byRatios": each.by_ratios,
        "error": _short(each.error),
        "within": each.within,
        "headline": figure.headline,
        "decibels": figure.change is Change.DECIBELS,
        "more": figure.sense is Sense.MORE,
        "limit": limits.get(figure.key),
    }


def _shape(asked: Exploration, variant: ExploredVariant) -> dict[str, Any]:
    """The section's outlines today, and how every corner moves with every key; corners move in straight lines [mm]."""
    scenario = asked.scenario_at(variant, variant.today)
    moved = [
        [asked.scenario_at(variant, _with(variant.today, number, end)) for end in (axis.low, axis.high)]
        for number, axis in enumerate(asked.axes)
    ]
    spans = [axis.high - axis.low for axis in asked.axes]
    names = [region.name for region in whole_section(scenario.variants[0]).regions]
    return {
        "regions": [
            {
                "name": name,
                "role": whole_section(scenario.variants[0]).regions[number].role.value,
                "corners": [[1e3 * x, 1e3 * y] for x, y in _corners(scenario, number)],
                "moves": [
                    [
                        [(high[0] - low[0]) / span * 1e3, (high[1] - low[1]) / span * 1e3]
                        for low, high in zip(_corners(ends[0], number), _corners(ends[1], number), strict=True)
                    ]
                    for ends, span in zip(moved, spans, strict=True)
                ],
            }
            for number, name in enumerate(names)
        ],
        "length": 1e3 * scenario.variants[0].length,
        "lengthens": [
            1e3 * (ends[1].variants[0].length - ends[0].variants[0].length) / span
            for ends, span in zip(moved, spans, strict=True)
        ],
    }


def _with(values: Values, number: int, value: float) -> Values:
    return (*values[:number], value, *values[number + 1 :])


def _corners(scenario: Scenario, number: int) -> Iterator[tuple[float, float]]:
    outline = whole_section(scenario.variants[0]).regions[number].outline
    yield from get_coordinates(outline.shape)
