"""Everything that a choice between variants rests on, in one table; frozen values."""

from __future__ import annotations

from dataclasses import dataclass

from geometries.operation.price import Price


@dataclass(frozen=True, slots=True, kw_only=True)
class SummaryRow:
    """One variant; what was not computed or stated is None.

    Parameters
    ----------
    name : str
        The variant.
    inductance, inductance_change : float
        Of its loop, and against the reference [H].
    ring_frequency : float, optional
        [Hz]; None too if nothing rings.
    peak_voltage, peak_error, overshoot : float, optional
        At the switch [V], [V], [1].
    voltage_margin : float, optional
        Limit less peak [V].
    pickup : float, optional
        Largest peak at the pin of any victim [V].
    emission_change, emission_change_error : float, optional
        Of the loop alone against the reference, and its uncertainty [dB].
    emission_margin, emission_band : float, optional
        Smallest margin of the loop alone to a limit, and its uncertainty [dB].
    price : Price, optional
        Per board.
    price_change : float, optional
        Against the reference, in the same currency.
    keeps : bool
        Whether it keeps the voltage limit and every budget, as far as there are any.
    doubtful : bool
        Whether one of these is within its uncertainty of the limit.
    """

    name: str
    inductance: float
    inductance_change: float
    ring_frequency: float | None
    peak_voltage: float | None
    peak_error: float | None
    overshoot: float | None
    voltage_margin: float | None
    pickup: float | None
    emission_change: float | None
    emission_change_error: float | None
    emission_margin: float | None
    emission_band: float | None
    price: Price | None
    price_change: float | None
    keeps: bool
    doubtful: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Summary:
    """The table, and what it says.

    Parameters
    ----------
    reference : str
        Variant that changes are against.
    rows : tuple of DecidingRow
        In the scenario's order.
    choice : str
        The variant that the sentence is about.
    sentence : str
        What it gains and costs.
    """

    reference: str
    rows: tuple[SummaryRow, ...]
    choice: str
    sentence: str

    @property
    def priced(self) -> tuple[SummaryRow, ...]:
        """Rows with a price."""
        return tuple(row for row in self.rows if row.price is not None)
