"""A layout to be solved by itself."""

from __future__ import annotations

from dataclasses import dataclass

from geometries.layout.layout import PlanLayout


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanTask:
    """A user-defined layout, and the frequency at which it is wanted beside its limits [Hz].

    Parameters
    ----------
    layout : PlanLayout
        What is solved.
    frequency : float
        [Hz].

    Examples
    --------
    >>> from geometries.files.layout_reading import parse_plan
    >>> task = parse_plan(
    ...     '''
    ... title = "ring"
    ... ring = [{ name = "around the hole", copper = "top", inside = ["3.5 mm", "0.8 mm"] }]
    ... [[copper]]
    ... name = "top"
    ... height = "0.2 mm"
    ... corners = [["0 mm", "0 mm"], ["5 mm", "0 mm"], ["5 mm", "3 mm"]]
    ... holes = [[["2 mm", "0.4 mm"], ["4 mm", "0.4 mm"], ["4 mm", "1.6 mm"]]]
    ... '''
    ... )
    >>> task.frequency, task.layout.name
    (100000000.0, 'ring')
    """

    layout: PlanLayout
    frequency: float
