"""The contract of every part of a report: how one analysis is shown on page and terminal, in files and documents."""

from __future__ import annotations

import base64
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any, ParamSpec, TypeVar

from solver import figures
from solver.report.tables import Record, Table
from solver.runs.interruption import held_interruptions
from solver.runs.processes import run_in_order
from solver.runs.workforce import Workforce
from solver.study.results import StudyResult
from solver.variant.analysis import Analysis

P = ParamSpec("P")
T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Drawing:
    """A figure as SVG and, if asked for, PNG, the name of its files without suffix, and a sentence on what it shows."""

    name: str
    description: str
    svg: str
    png: bytes | None = None

    @property
    def address(self) -> str:
        """The drawing as an address that a page can hold in place of a file's."""
        return f"data:image/svg+xml;base64,{base64.b64encode(self.svg.encode('utf-8')).decode('ascii')}"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sketch:
    """A drawing that is to be made.

    Parameters
    ----------
    name, description : str
        As of the drawing.
    figure : callable
        Makes the figure.
    apart : bool
        Whether another process may make it: what it is made from can be sent there, as a whole study cannot.
    """

    name: str
    description: str
    figure: Callable[[], figures.Figure]
    apart: bool = False


def sketch(
    name: str, description: str, make: Callable[P, figures.Figure], *data: P.args, **further: P.kwargs
) -> Sketch:
    """A drawing to be made of a figure function and its data."""
    return Sketch(name=name, description=description, figure=partial(make, *data, **further))


def sent_apart(sketch: Sketch) -> Sketch:
    """The same for any process to make."""
    return replace(sketch, apart=True)


def drawn(sketch: Sketch, *, png: bool = False) -> Drawing:
    """A sketch carried out."""
    figure = sketch.figure()
    return Drawing(
        name=sketch.name,
        description=sketch.description,
        svg=figures.figure_svg(figure),
        png=figures.figure_png(figure) if png else None,
    )


def all_drawn(sketches: Sequence[Sketch], *, png: bool, workers: Workforce | int) -> dict[str, Drawing]:
    """Sketches carried out, side by side where they may be, by their names."""
    apart, here = [each for each in sketches if each.apart], [each for each in sketches if not each.apart]
    draw = partial(drawn, png=png)
    return {each.name: each for each in (*run_in_order(draw, apart, workers=workers), *map(draw, here))}


def ready_to_draw(outcomes: Iterable[T]) -> Iterator[T]:
    """Outcomes as they come; what draws is loaded once the first is there, while processes work on the next."""
    for outcome in outcomes:
        yield outcome
        with held_interruptions():  # what is imported by half cannot be imported again
            _ = figures.figure_svg


def outcome_of(study: StudyResult, kind: type[T]) -> T:
    """What an analysis says, where its part is shown.

    Raises
    ------
    ValueError
        If it says nothing.
    """
    found = study.outcome(kind)
    if found is None:
        raise ValueError(f"the study has no {kind.__name__}; show its part only where it has one")
    return found


def _nothing(study: StudyResult) -> tuple[()]:
    return ()


def _no_files(study: StudyResult) -> Mapping[str, Iterable[Record]]:
    return {}


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One part.

    Parameters
    ----------
    key : str
        Its anchor on the page, and its name in documents.
    title : str
        In the page's navigation.
    shown : callable
        What its template shows, as `part`; the part is left out if it is None.
    heading : callable
        Heading on the page.
    sentences : callable
        What it says, on page and terminal.
    analysis : Analysis, optional
        Whose figures of merit it shows in a table.
    template : str
        Of the page, in this package; without one, the drawings stand below the tables.
    tables : callable
        Beside that of the figures, which the terminal shows only where there is no other.
    files : callable
        Lines of tables by the name of their CSV file.
    sketches : callable
        Drawings of the page and the folder.
    details : callable
        What documents hold of it beside the figures; None if nothing.
    """

    key: str
    title: str
    shown: Callable[[StudyResult], Any]
    heading: Callable[[StudyResult], str]
    sentences: Callable[[StudyResult], Sequence[str]] = _nothing
    analysis: Analysis[Any] | None = None
    template: str = ""
    tables: Callable[[StudyResult], Sequence[Table]] = _nothing
    files: Callable[[StudyResult], Mapping[str, Iterable[Record]]] = _no_files
    sketches: Callable[[StudyResult], Sequence[Sketch]] = _nothing
    details: Callable[[StudyResult], object] = lambda study: None
