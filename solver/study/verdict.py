"""The verdict of a study: which variant to build, by ordered objectives over the figures of its summary."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from solver.study.decision import Candidate, Decision, Figure, Objective, Sense, decide

_SAME_RATIO = 0.01
"""Inductances closer than this part of them are equal: what a mesh and a board house leave open."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """What of one variant is judged; None for what is not known.

    Parameters
    ----------
    name : str
        The variant.
    tied : bool
        Whether its ground layers, if it has any, are tied to the loop somewhere.
    peak_voltage : Figure, optional
        At the switch [V].
    exceeded : int
        Budgets that it exceeds by more than their uncertainty.
    emission : Figure, optional
        Change of the highest line of all sources together, cables included, against the reference [dB].
    inductance : float
        Of the loop of record [H].
    noise : float, optional
        Largest that any victim picks up [V].
    price : float, optional
        Per board.
    """

    name: str
    tied: bool
    peak_voltage: Figure | None
    exceeded: int
    emission: Figure | None
    inductance: float
    noise: float | None
    price: float | None


def judge(variants: Sequence[Judged], voltage_limit: float | None, *, has_budgets: bool) -> Decision:
    """Decide by voltage limit, budgets, emission with cables, inductance, noise and price, as far as all have them.

    Parameters
    ----------
    variants : sequence of Judged
        At least one.
    voltage_limit : float, optional
        That the peak at the switch must keep [V].
    has_budgets : bool
        Whether budgets are stated.

    Returns
    -------
    Decision
        Where no ground of any variant is tied, all are judged as studies: `studies` names them, and they are compared
        all the same.
    """
    columns = [
        *_voltage(variants, voltage_limit),
        *_budgets(variants, has_budgets=has_budgets),
        *_known("emission with cables", "dB", [each.emission for each in variants]),
        *_known("inductance", "H", [_within(each.inductance) for each in variants]),
        *_known("noise at the pin", "V", [_exact(each.noise) for each in variants]),
        *_known("price", "per board", [_exact(each.price) for each in variants]),
    ]
    nothing_tied = not any(each.tied for each in variants)
    candidates = [
        Candidate(
            name=each.name,
            tied=each.tied or nothing_tied,
            figures=tuple(figures[index] for _, figures in columns),
        )
        for index, each in enumerate(variants)
    ]
    return decide(candidates, [objective for objective, _ in columns])


Column = tuple[Objective, list[Figure]]


def _voltage(variants: Sequence[Judged], limit: float | None) -> list[Column]:
    peaks = [each.peak_voltage for each in variants if each.peak_voltage is not None]
    if limit is None or len(peaks) < len(variants):
        return []
    return [(Objective(name="the voltage limit", unit="V", sense=Sense.KEEP_BELOW, limit=limit), peaks)]


def _budgets(variants: Sequence[Judged], *, has_budgets: bool) -> list[Column]:
    if not has_budgets:
        return []
    exceeded = [Figure(value=float(each.exceeded), band=0.0) for each in variants]
    return [(Objective(name="the budgets", unit="exceeded", sense=Sense.LESS), exceeded)]


def _known(name: str, unit: str, figures: Sequence[Figure | None]) -> list[Column]:
    """An objective of less, where every variant has its figure."""
    known = [each for each in figures if each is not None]
    return [(Objective(name=name, unit=unit, sense=Sense.LESS), known)] if len(known) == len(figures) else []


def _within(value: float) -> Figure:
    return Figure(value=value, band=_SAME_RATIO * value)


def _exact(value: float | None) -> Figure | None:
    return None if value is None else Figure(value=value, band=0.0)
