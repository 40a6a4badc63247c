"""The voltage at the pin over a period, and by harmonics."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from geometries.section.victims import Drive
from solver.pickup.results import PinSignal, PinSpectrum, Signal
from solver.pickup.waveform import Transfer, Trapezoid, periodic_response

_MOST_HARMONICS = 4000


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PinTransfers:
    """From the causes to the pin.

    Parameters
    ----------
    magnetic : Transfer
        Pin voltage per ampere in the loop [ohm].
    electric : Transfer
        Pin voltage per volt at the switch node [1].
    """

    magnetic: Transfer
    electric: Transfer


def loop_current(drive: Drive) -> Trapezoid:
    """The loop's current [A]."""
    return Trapezoid(
        height=drive.current,
        period=1 / drive.frequency,
        duty=drive.duty,
        rise_time=drive.rise_time,
        fall_time=drive.fall_time,
    )


def node_voltage(drive: Drive) -> Trapezoid:
    """The switch node's voltage [V]."""
    return Trapezoid(
        height=drive.voltage,
        period=1 / drive.frequency,
        duty=drive.duty,
        rise_time=drive.voltage_rise_time,
        fall_time=drive.voltage_fall_time,
    )


def pin_signal(drive: Drive, transfers: PinTransfers) -> PinSignal:
    """Voltage at the pin over one period in the periodic state."""
    current, voltage = loop_current(drive), node_voltage(drive)
    times = np.unique(np.concatenate([current.times(), voltage.times()]))
    return PinSignal(
        times=times,
        magnetic=periodic_response(transfers.magnetic, current, times),
        electric=periodic_response(transfers.electric, voltage, times),
        mean=transfers.magnetic.level * current.mean + transfers.electric.level * voltage.mean,
    )


def open_peak(drive: Drive, magnetic: Transfer) -> float:
    """Largest emf [V] for the transfer from the loop's current to the emf of the open run."""
    current = loop_current(drive)
    return float(np.abs(periodic_response(magnetic, current, current.times())).max())


def pin_spectrum(drive: Drive, transfers: PinTransfers, highest: float) -> PinSpectrum:
    """Harmonics at the pin up to a frequency [Hz], at most four thousand of them."""
    count = max(1, min(_MOST_HARMONICS, int(highest / drive.frequency)))
    frequencies: Signal = drive.frequency * np.arange(1.0, count + 1)
    s = np.asarray(2j * math.pi * frequencies, dtype=np.complex128)

    def amplitude(transfer: Transfer, wave: Trapezoid) -> Signal:
        return np.asarray(np.abs(transfer.at(s) * wave.harmonics(count)))

    return PinSpectrum(
        frequencies=frequencies,
        magnetic=amplitude(transfers.magnetic, loop_current(drive)),
        electric=amplitude(transfers.electric, node_voltage(drive)),
    )
