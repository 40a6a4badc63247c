"""The axisymmetric view of a study as rows of numbers: what discs shield, and both views side by side."""

from __future__ import annotations

from dataclasses import dataclass

from solver.section.axisymmetric_results import Shielding


@dataclass(frozen=True, slots=True, kw_only=True)
class AxisymmetricRow:
    """One variant in the axisymmetric view, at the report frequency.

    Parameters
    ----------
    name : str
        The variant.
    radius : float
        Mean radius of the ring [m].
    mapping : str
        How it was mapped from a rectangular loop; empty if it was described as a ring.
    inductance, inductance_error : float
        Of the whole turn, and its estimated discretisation error [H].
    moment : float
        Along the axis per ampere [m²].
    shielding : Shielding
        Against the ring alone.
    """

    name: str
    radius: float
    mapping: str
    inductance: float
    inductance_error: float
    moment: float
    shielding: Shielding


@dataclass(frozen=True, slots=True, kw_only=True)
class SideBySide:
    """One variant in both views, each against the same reference in the same view.

    Parameters
    ----------
    name : str
        The variant.
    section_inductance, section_error, round_inductance, round_error : float
        Section times length, ends not included, and of the whole turn, with their estimated mesh errors [H].
    section_change, round_change : float
        Change against the reference as a fraction of it [1].
    section_moment_db, round_moment_db : float
        Line moment, and moment along the axis, against the reference [dB].
    tied : bool
        Whether a ground layer carries part of the return in the section, which no disc can.
    left_out : str
        What the mapping leaves out of the axisymmetric view; empty if nothing.
    """

    name: str
    section_inductance: float
    section_error: float
    axisymmetric_inductance: float
    axisymmetric_error: float
    section_change: float
    axisymmetric_change: float
    section_moment_db: float
    axisymmetric_moment_db: float
    tied: bool
    left_out: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ViewComparison:
    """The axisymmetric view of a study.

    Parameters
    ----------
    reference : str
        What changes are against: the study's reference, or the first variant that has both views.
    rows : tuple of RoundRow
        Variants with an axisymmetric view.
    pairs : tuple of SideBySide
        The same variants in both views; none if they are round themselves.
    without : tuple of (str, str)
        Variants without an axisymmetric view, and why they have none.
    sentences : tuple of str
        What the numbers show: where the two views agree and where they cannot, or what the discs shield.
    """

    reference: str
    rows: tuple[AxisymmetricRow, ...]
    pairs: tuple[SideBySide, ...]
    without: tuple[tuple[str, str], ...]
    sentences: tuple[str, ...]
