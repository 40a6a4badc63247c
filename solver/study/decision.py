"""Which variant to build: ordered objectives over figures with bands; figures closer than their bands are equal.

A pure function of named figures. It says what decided and by how many bands, and what stays undecided; a variant whose
ground is tied nowhere is a study and is never recommended.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

_COARSE = 10
"""Gaps of more bands than this are told without a decimal."""


class Sense(Enum):
    """What is wanted of a figure."""

    KEEP_BELOW = "keep below"
    LESS = "less"
    MORE = "more"


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A number with its band.

    Parameters
    ----------
    value : float
        In the objective's unit.
    band : float
        What it is uncertain by, to both sides, in the same unit; for two figures the root of the squares counts.
    """

    value: float
    band: float

    def __post_init__(self) -> None:
        if not math.isfinite(self.value) or not 0 <= self.band < math.inf:
            raise ValueError(f"a figure is {self.value:g} ± {self.band:g}; give finite numbers, the band zero or more")


@dataclass(frozen=True, slots=True, kw_only=True)
class Objective:
    """One aim.

    Parameters
    ----------
    name : str
        Of the figure, for instance "emission".
    unit : str
        For instance "dB".
    sense : Sense
        What is wanted.
    limit : float
        For `KEEP_BELOW`, what must be kept; not looked at otherwise.
    """

    name: str
    unit: str
    sense: Sense
    limit: float = math.inf

    def __post_init__(self) -> None:
        if self.sense is Sense.KEEP_BELOW and not math.isfinite(self.limit):
            raise ValueError(f"{self.name} must be kept below {self.limit:g} {self.unit}; give a finite limit")

    def shortfall(self, figure: Figure) -> float:
        """How far a figure is from what is wanted; less is better. A limit that is kept is as good as any other."""
        if self.sense is Sense.KEEP_BELOW:
            return max(figure.value - self.limit, 0.0)
        return figure.value if self.sense is Sense.LESS else -figure.value

    def band_between(self, best: Figure, other: Figure) -> float:
        """Band of the difference of two figures; of the other alone where the best keeps the limit, which is exact."""
        if self.sense is Sense.KEEP_BELOW and best.value <= self.limit:
            return other.band
        return math.hypot(best.band, other.band)


@dataclass(frozen=True, slots=True, kw_only=True)
class Candidate:
    """A variant that may be recommended.

    Parameters
    ----------
    name : str
        The variant.
    figures : tuple of Figure
        One per objective, in their order.
    tied : bool
        Whether its ground layers are tied to the converter's ground somewhere. If not, nobody can build it.
    """

    name: str
    figures: tuple[Figure, ...]
    tied: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """What one objective did to the candidates that were left.

    Parameters
    ----------
    objective : Objective
        The aim.
    kept, dropped : tuple of str
        Names; kept are the best one and all that equal it within the bands.
    best : str
        The one with the best figure.
    gap : float
        From the best figure to the nearest dropped one, in the objective's unit; zero if none was dropped.
    bands : float
        That gap in bands of the difference; infinite between figures without bands, zero if none was dropped.
    """

    objective: Objective
    kept: tuple[str, ...]
    dropped: tuple[str, ...]
    best: str
    gap: float
    bands: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """What to build, and why.

    Parameters
    ----------
    recommended : tuple of str
        One name, or several that are equal in every objective: the choice between them is undecided. Empty if no
        variant can be built.
    steps : tuple of Step
        In the order of the objectives, until one candidate is left.
    studies : tuple of str
        Variants whose ground is tied nowhere, which were left out.
    """

    recommended: tuple[str, ...]
    steps: tuple[Step, ...]
    studies: tuple[str, ...]

    @property
    def deciding(self) -> Step | None:
        """The step that left the recommended ones alone; None if no objective told any apart."""
        return next((step for step in reversed(self.steps) if step.dropped), None)


def decide(candidates: Sequence[Candidate], objectives: Sequence[Objective]) -> Decision:
    """Choose by the first objective; where figures are equal within their bands, by the next.

    Parameters
    ----------
    candidates : sequence of Candidate
        With one figure per objective.
    objectives : sequence of Objective
        The most important first.

    Returns
    -------
    Decision

    Raises
    ------
    ValueError
        If a candidate has not one figure per objective, or two have the same name.

    Examples
    --------
    >>> aims = [Objective(name=name, unit=unit, sense=Sense.LESS) for name, unit in [("emission", "dB"), ("L", "nH")]]
    >>> boards = [("two layers", 40.0, 1.2, True), ("four layers", 38.0, 0.6, True), ("floating", 30.0, 0.9, False)]
    >>> decision = decide(
    ...     [
    ...         Candidate(name=name, tied=tied, figures=(Figure(value=e, band=3.0), Figure(value=L, band=0.1)))
    ...         for name, e, L, tied in boards
    ...     ],
    ...     aims,
    ... )
    >>> decision.recommended, decision.deciding.objective.name, decision.studies
    (('four layers',), 'L', ('floating',))
    """
    _check(candidates, objectives)
    left = [each for each in candidates if each.tied]
    steps: list[Step] = []
    for index, objective in enumerate(objectives):
        if len(left) < 2:
            break
        step = _step(left, objective, index)
        left = [each for each in left if each.name in step.kept]
        steps.append(step)
    return Decision(
        recommended=tuple(each.name for each in left),
        steps=tuple(steps),
        studies=tuple(each.name for each in candidates if not each.tied),
    )


def decision_sentence(decision: Decision) -> str:
    """Short sentence: what to build, what decided and by how many bands, what stays undecided.

    Examples
    --------
    >>> aim = Objective(name="emission", unit="dB", sense=Sense.LESS)
    >>> made = [("a", 40.0), ("b", 30.0)]
    >>> boards = [Candidate(name=n, tied=True, figures=(Figure(value=v, band=3.0),)) for n, v in made]
    >>> decision_sentence(decide(boards, [aim]))
    '“b”: emission decided, by 2.4 times the error band.'
    """
    if not decision.recommended:
        return "No variant can be built: the ground of every one is tied nowhere."
    names = " or ".join(f"“{name}”" for name in decision.recommended)
    step = decision.deciding
    reason = "" if step is None else f"{step.objective.name} decided{_by(step.bands)}{_before(decision, step)}"
    if len(decision.recommended) == 1:
        return f"{names}: {reason}." if reason else f"{names}: the only one that can be built."
    undecided = "equal within the bands in all that counts"
    return f"{names}: {reason}; between them they are {undecided}." if reason else f"{names}: {undecided}."


def _check(candidates: Sequence[Candidate], objectives: Sequence[Objective]) -> None:
    for each in candidates:
        if len(each.figures) != len(objectives):
            raise ValueError(f"“{each.name}” has {len(each.figures)} figures for {len(objectives)} objectives")
    if len({each.name for each in candidates}) < len(candidates):
        raise ValueError("two candidates have the same name; give each its own")


def _step(left: Sequence[Candidate], objective: Objective, index: int) -> Step:
    """Keep the best by one objective, and all that equal it within the bands."""
    best = min(left, key=lambda each: objective.shortfall(each.figures[index]))
    gaps = {each.name: _gap(best.figures[index], each.figures[index], objective) for each in left}
    dropped = {name: gap for name, gap in gaps.items() if gap[1] > 1}
    nearest = min(dropped.values(), key=lambda gap: gap[1], default=(0.0, 0.0))
    return Step(
        objective=objective,
        kept=tuple(name for name in gaps if name not in dropped),
        dropped=tuple(dropped),
        best=best.name,
        gap=nearest[0],
        bands=nearest[1],
    )


def _gap(best: Figure, other: Figure, objective: Objective) -> tuple[float, float]:
    """How much worse a figure is than the best, in the objective's unit and in bands of the difference."""
    gap = objective.shortfall(other) - objective.shortfall(best)
    if gap <= 0:
        return 0.0, 0.0
    band = objective.band_between(best, other)
    return gap, gap / band if band > 0 else math.inf


def bands_words(bands: float) -> str:
    """A gap counted in bands of the difference.

    Examples
    --------
    >>> bands_words(2.44), bands_words(29.3)
    ('2.4 times the error band', '29 times the error band')
    """
    return f"{bands:.{0 if bands >= _COARSE else 1}f} times the error band"


def _by(bands: float) -> str:
    return f", by {bands_words(bands)}" if math.isfinite(bands) else ""


def _before(decision: Decision, deciding: Step) -> str:
    """Which objective, of more weight than the deciding one, could not tell those apart that it left."""
    before = decision.steps[: decision.steps.index(deciding)]
    return f"; {before[-1].objective.name} could not tell {len(before[-1].kept)} apart" if before else ""
