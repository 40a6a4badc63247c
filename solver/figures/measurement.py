"""Drawings of the bench: what was measured laid over the prediction."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter
from numpy.typing import NDArray

from geometries.quantities import NANO
from solver.figures.style import SHEET_WIDTH, add_panel, line_look, new_sheet, open_frame, shortened, styled
from solver.measurement.results import ImpedanceReading, SpectrumReading
from solver.notation import numbers

_TOP = 0.75
_HEIGHT = 2.2


@styled
def impedance_figure(impedance: ImpedanceReading, variant: str) -> Figure:
    """Measured inductance and resistance over frequency, over those predicted for the copper.

    Parameters
    ----------
    impedance : ImpedanceReading
        Measured and predicted.
    variant : str
        Name of the variant.
    """
    figure = new_sheet(
        _TOP + 2 * _HEIGHT + 1.2,
        f"Measured impedance over the prediction: {shortened(variant, 40)}",
        f"measured: {impedance.name}; predicted: copper of the loop alone, without package and capacitor",
    )
    upper = add_panel(figure, 0.85, _TOP, SHEET_WIDTH - 1.2, _HEIGHT)
    inductances = impedance.measured_inductances / NANO, impedance.predicted_inductances / NANO
    _draw_pair(upper, impedance.frequencies, *inductances)
    upper.set_ylabel("inductance, nH")
    upper.legend(loc="best", handlelength=4)
    lower = add_panel(figure, 0.85, _TOP + _HEIGHT + 0.5, SHEET_WIDTH - 1.2, _HEIGHT)
    resistances = impedance.measured.real / numbers.MILLI, impedance.predicted.real / numbers.MILLI
    _draw_pair(lower, impedance.frequencies, *resistances)
    lower.set_ylabel("resistance, mΩ")
    lower.set_xlabel("frequency")
    return figure


@styled
def spectrum_figure(spectrum: SpectrumReading, variant: str) -> Figure:
    """Measured levels over frequency, over the predicted bound of the loop alone.

    Parameters
    ----------
    spectrum : SpectrumReading
        Measured and predicted.
    variant : str
        Name of the variant.
    """
    figure = new_sheet(
        _TOP + 3.2 + 0.7,
        f"Measured spectrum over the prediction: {shortened(variant, 40)}",
        f"measured: {spectrum.name}; predicted: bound of the loop alone, for any duty, cables not included",
    )
    axes = add_panel(figure, 0.85, _TOP, SHEET_WIDTH - 1.2, 3.2)
    _draw_pair(axes, spectrum.frequencies, spectrum.measured, spectrum.predicted)
    axes.legend(loc="best", handlelength=4)
    axes.set_ylabel("field strength, dBµV/m")
    axes.set_xlabel("frequency")
    return figure


def _draw_pair(
    axes: Axes, frequencies: NDArray[np.float64], measured: NDArray[np.float64], predicted: NDArray[np.float64]
) -> None:
    for number, (name, values) in enumerate((("measured", measured), ("predicted", predicted))):
        look = line_look(number)
        axes.plot(
            frequencies,
            values,
            color=look.colour,
            linestyle=look.dashes,
            linewidth=1.4,
            marker=look.marker,
            markersize=3.6,
            markevery=max(1, len(frequencies) // 12),
            label=name,
        )
    axes.set_xscale("log")
    axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: numbers.frequency(value)))
    axes.minorticks_off()
    axes.grid(True, which="major", color="#e1e4e8", linewidth=0.6)
    axes.set_axisbelow(True)
    open_frame(axes)
