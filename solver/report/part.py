"""The contract of every part of a report: how one analysis is shown on page and terminal, in files and documents."""

from __future__ import annotations

import base64
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar

from solver import figures
from solver.report.tables import Record, Table
from solver.study.results import StudyResult
from solver.variant.analysis import Analysis

T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Drawing:
    """A figure, the name of its files without suffix, and what it shows in one sentence."""

    name: str
    description: str
    figure: figures.Figure
    svg: str

    @property
    def address(self) -> str:
        """The drawing as an address that a page can hold in place of a file's."""
        return f"data:image/svg+xml;base64,{base64.b64encode(self.svg.encode('utf-8')).decode('ascii')}"


def drawing(name: str, description: str, figure: figures.Figure) -> Drawing:
    """A figure with its text as SVG."""
    return Drawing(name=name, description=description, figure=figure, svg=figures.figure_svg(figure))


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
    drawings : callable
        Of the page and the folder.
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
    drawings: Callable[[StudyResult], Sequence[Drawing]] = _nothing
    details: Callable[[StudyResult], object] = lambda study: None
