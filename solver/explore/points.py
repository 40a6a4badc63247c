"""Solve the points of a what-if study: adaptively, side by side, every finished one on the disk at once."""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from importlib.metadata import version
from typing import Any

from geometries.study.explore import Exploration, ExploredVariant, Values, shape_of
from geometries.study.record import description_record
from geometries.study.scenario import Scenario, scan_span
from solver.errors import SolutionError
from solver.explore.consequences import CONSEQUENCES, handed_on
from solver.explore.interpolation import Index, further_points, interpolate, place, up_to_degree
from solver.runs.checkpoint import Journal, described_points
from solver.runs.processes import run_side_by_side
from solver.runs.workforce import Workforce
from solver.study.figures_of_merit import AnyFigure, known_figures, needs_of, read_figures
from solver.study.points import SolvedPoint, few_frequencies, point_of, point_record
from solver.variant.figure import Reading
from solver.variant.solve import solve_variant

SCHEMA = "copperfield-explored-points/2"

CHECKS = 4
"""Independent places of every variant, at random in the box, at which the interpolation is measured."""

_OPERATING_DEGREE = 2
_STATES_AT_CHECK = 3
_AT_A_TIME = 2
_SEED = 20250101

_LITTLE = 0.25
"""Part of a figure's uncertainty by which a point has to change it for others to follow beside it."""

_RESOLVED = 2e-3
"""Part of a value that counts as its uncertainty where less is estimated, or none."""

Record = dict[str, Any]
Key = tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Places in the box, from -1 to 1 on every axis, that share one shape and are solved together.

    Parameters
    ----------
    variant : str
        Of which variant.
    number : tuple of int, optional
        Of the shaping keys, by their nodes; None for an independent check.
    states : tuple of tuple of float
        All axes of every state.
    """

    variant: str
    number: Index | None
    states: tuple[Key, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class SolvedPlace:
    """A place with the readings of every state, by the figure's key."""

    place: Place
    readings: tuple[Mapping[str, Reading], ...]


def explored_figures(asked: Exploration) -> tuple[AnyFigure, ...]:
    """The figures that a page shows: all that the scenario has."""
    return known_figures(asked.scenario)


def is_computed(asked: Exploration, key: str) -> bool:
    """Whether the page computes a figure, so that it is solved at the independent places alone."""
    return asked.computes and key in CONSEQUENCES


def handed_key(number: int) -> str:
    """Name under which a place keeps a number that a solved variant hands on."""
    return f"handed.{number}"


def journal_header(asked: Exploration) -> Record:
    """All that the points depend on, for :func:`solver.runs.checkpoint.open_journal`."""
    return {
        "schema": SCHEMA,
        "copperfield": version("copperfield"),
        "figures": [figure.key for figure in explored_figures(asked)],
        "computes": asked.computes,
        "vary": {axis.key: [axis.low, axis.high, axis.logarithmic] for axis in asked.axes},
        "variants": {each.name: description_record(each.description) for each in asked.variants},
    }


def solve_places(
    asked: Exploration, journal: Journal, *, workers: Workforce | int | None = None
) -> Iterator[SolvedPlace]:
    """Solve all places that are needed; those in the journal are taken from it.

    Yields
    ------
    SolvedPlace
        As each is finished, already in the journal.

    Raises
    ------
    SolverError
        If a place cannot be solved: nothing is shown of a box with holes.
    ReportError
        If the journal cannot be written.
    """
    found = {each.place: each for each in solved_places(journal)}
    searches = {variant.name: Search(asked=asked, accepted=(), known={}) for variant in asked.variants}
    wanted = [
        place for variant in asked.variants for place in (*_checks(asked, variant), _at(asked, variant, _middle(asked)))
    ]
    while wanted:
        missing = [each for each in wanted if each not in found]
        for record in run_side_by_side(_Task(asked=asked), missing, workers=workers):
            journal.append(place_record(record))
            found[record.place] = record
            yield record
        for each in wanted:
            searches[each.variant] = searches[each.variant].with_place(found[each])
        wanted = []
        for variant in asked.variants:
            searches[variant.name], further = searches[variant.name].next_points()
            wanted += [_at(asked, variant, number) for number in further]


@dataclass(frozen=True, slots=True, kw_only=True)
class Search:
    """Which points of one variant are solved, and which of them have had their followers."""

    asked: Exploration
    accepted: tuple[Index, ...]
    known: Mapping[Index, SolvedPlace]

    def with_place(self, solved: SolvedPlace) -> Search:
        """With one place more; independent checks are no points."""
        number = solved.place.number
        return self if number is None else replace(self, known={**self.known, number: solved})

    def next_points(self) -> tuple[Search, list[Index]]:
        """Accept the solved points that said most, and name what follows them.

        Nothing once enough are solved, and nothing beside points that changed little: the figures are smooth there.
        """
        room = self.asked.points - len(self.known)
        said = {each: self._said(each) for each in self.known if each not in self.accepted}
        waiting = sorted((each for each in said if said[each] > _LITTLE), key=lambda each: said[each], reverse=True)
        accepted, further = list(self.accepted), list[Index]()
        for index in waiting[:_AT_A_TIME]:
            accepted.append(index)
            further += [each for each in further_points(accepted, index) if each not in self.known]
        return replace(self, accepted=tuple(accepted)), list(dict.fromkeys(further))[: max(0, room)]

    def _said(self, index: Index) -> float:
        """How far a point lies from the interpolation without it, in the widths of the uncertainties."""
        if len(self.known) == 1:
            return 1.0
        return max(
            _distance(self.known, index, figure.key)
            for figure in explored_figures(self.asked)
            if figure.key in self.known[index].readings[0]
        )


def _distance(known: Mapping[Index, SolvedPlace], index: Index, key: str) -> float:
    """Surplus of one figure at the middle operating state over its uncertainty, or what counts as it."""
    values = {number: [solved.readings[0][key].value] for number, solved in known.items()}
    below = {
        number: value for number, value in values.items() if all(n <= m for n, m in zip(number, index, strict=True))
    }
    surpluses = interpolate(below)
    reading = known[index].readings[0][key]
    floor = max(reading.uncertainty, _RESOLVED * abs(reading.value))
    return abs(float(surpluses.surpluses[surpluses.indices.index(index), 0])) / floor if floor > 0 else 0.0


def shaping(asked: Exploration) -> tuple[int, ...]:
    """Numbers of the axes that shape something."""
    return tuple(number for number, axis in enumerate(asked.axes) if axis.shapes)


def operating_states(asked: Exploration) -> tuple[Index, ...]:
    """Points of the other axes, which are read off one solution together; none where their work is computed."""
    return up_to_degree(0 if asked.computes else len(asked.axes) - len(shaping(asked)), _OPERATING_DEGREE)


def whole_index(asked: Exploration, shape: Sequence[Any], state: Sequence[Any]) -> tuple[Any, ...]:
    """Numbers, or places, of all axes from those that shape something and those that do not."""
    first, second = iter(shape), iter(state)
    return tuple(next(first) if axis.shapes else next(second, 0) for axis in asked.axes)


def _middle(asked: Exploration) -> Index:
    return (0,) * len(shaping(asked))


def _at(asked: Exploration, variant: ExploredVariant, number: Index) -> Place:
    states = tuple(whole_index(asked, place(number), place(each)) for each in operating_states(asked))
    return Place(variant=variant.name, number=number, states=states)


def _checks(asked: Exploration, variant: ExploredVariant) -> Iterator[Place]:
    """Random places of the shaping keys, each with a few random states of the others; the same in every run."""
    draw = random.Random(f"{_SEED} {variant.name}")
    moved = [axis.shapes for axis in asked.axes]
    for _ in range(CHECKS if any(moved) else 1):
        shape = [round(draw.uniform(-1, 1), 6) for _ in moved]
        others = [[round(draw.uniform(-1, 1), 6) for _ in moved] for _ in range(1 if all(moved) else _STATES_AT_CHECK)]
        states = tuple(
            tuple(own if shapes else other for shapes, own, other in zip(moved, shape, state, strict=True))
            for state in others
        )
        yield Place(variant=variant.name, number=None, states=states)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Task:
    """What a process does with a place."""

    asked: Exploration

    def __call__(self, where: Place) -> SolvedPlace:
        variant = next(each for each in self.asked.variants if each.name == where.variant)
        scenarios = [self.asked.scenario_at(variant, self.asked.values(state)) for state in where.states]
        left_out = [key for key in CONSEQUENCES if where.number is not None and is_computed(self.asked, key)]
        return SolvedPlace(place=where, readings=tuple(_readings(scenarios, left_out)))


def _readings(scenarios: Sequence[Scenario], left_out: Sequence[str] = ()) -> Iterator[Mapping[str, Reading]]:
    """Readings of scenarios that share their fields, which are solved once, and what these hand on."""
    first = scenarios[0]
    if any(shape_of(each) != shape_of(first) for each in scenarios):
        raise SolutionError("states of one place do not share their fields; they cannot be read off one solution")
    figures = known_figures(first)
    analysis = few_frequencies(first.analysis)
    needs = needs_of(figures, first)
    result = solve_variant(first.variants[0], analysis, needs, scan_span(first.variants))
    for scenario in scenarios:
        here = replace(scenario, analysis=analysis)
        handed = handed_on(here, result).numbers()
        kept = [figure for figure in known_figures(here) if figure.key not in left_out]
        yield {
            **read_figures(here, result, kept),
            **{handed_key(number): Reading(value=value) for number, value in enumerate(handed)},
        }


def solve_state(asked: Exploration, name: str, values: Values) -> Mapping[str, Reading]:
    """Readings of one state, solved by itself: what the page is held against."""
    variant = next(each for each in asked.variants if each.name == name)
    return next(_readings([asked.scenario_at(variant, values)]))


def place_record(solved: SolvedPlace) -> Record:
    """A solved place as plain values."""
    return {
        "variant": solved.place.variant,
        "number": None if solved.place.number is None else list(solved.place.number),
        "states": [list(state) for state in solved.place.states],
        "points": [point_record(SolvedPoint(readings=each, warnings=(), seconds=0.0)) for each in solved.readings],
    }


def solved_places(journal: Journal) -> Iterator[SolvedPlace]:
    """The places in a journal.

    Raises
    ------
    ReportError
        If a record does not describe one.
    """
    for record in journal.records():
        with described_points(journal):
            number = record["number"]
            where = Place(
                variant=record["variant"],
                number=None if number is None else tuple(number),
                states=tuple(map(tuple, record["states"])),
            )
            yield SolvedPlace(place=where, readings=tuple(point_of(each).readings for each in record["points"]))
