"""The voltage at the pin over a period, and by harmonics."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from geometries.section.victims import Drive
from solver.pickup.results import PinSignal, PinSpectrum, Signal
from solver.pickup.ringing_drive import PinSource, RingingWave, Transient, pin_parts, pin_times, wave_harmonics
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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rings:
    """What the ring of an edge adds to the trapezoids: at the rise as it is, at the fall with the other sign.

    Parameters
    ----------
    current : Transient
        Of the loop [A].
    voltage : Transient
        Of the switch node [V].
    """

    current: Transient
    voltage: Transient


def sources(drive: Drive, transfers: PinTransfers, rings: Rings) -> tuple[PinSource, PinSource]:
    """Loop and switch node with their rings."""
    current = RingingWave(shape=loop_current(drive), rise=rings.current, fall=-rings.current)
    voltage = RingingWave(shape=node_voltage(drive), rise=rings.voltage, fall=-rings.voltage)
    return (
        PinSource(name="loop", transfer=transfers.magnetic, wave=current),
        PinSource(name="switch node", transfer=transfers.electric, wave=voltage),
    )


def ringing_signal(drive: Drive, transfers: PinTransfers, rings: Rings) -> PinSignal:
    """Voltage at the pin over one period in the periodic state, of trapezoids with their rings."""
    both = sources(drive, transfers, rings)
    times, parts = pin_parts(both)
    mean = float(np.sum(parts.sum(axis=0) * np.diff(pin_times(both))) * drive.frequency)
    return PinSignal(times=times, magnetic=parts[0], electric=parts[1], mean=mean)


def ringing_spectrum(drive: Drive, transfers: PinTransfers, rings: Rings, highest: float) -> PinSpectrum:
    """Likewise, harmonics up to a frequency [Hz], at most four thousand of them."""
    both = sources(drive, transfers, rings)
    count = max(1, min(_MOST_HARMONICS, int(highest / drive.frequency)))
    frequencies: Signal = drive.frequency * np.arange(1.0, count + 1)
    s = np.asarray(2j * math.pi * frequencies, dtype=np.complex128)
    times = pin_times(both)
    magnetic, electric = (
        np.abs(each.transfer.at(s) * wave_harmonics(times, each.wave.values(times), count)) for each in both
    )
    return PinSpectrum(frequencies=frequencies, magnetic=magnetic, electric=electric)


def ringing_open_peak(drive: Drive, magnetic: Transfer, rings: Rings) -> float:
    """Largest emf [V] for the transfer from the loop's current to the emf of the open run."""
    wave = RingingWave(shape=loop_current(drive), rise=rings.current, fall=-rings.current)
    _, parts = pin_parts((PinSource(name="loop", transfer=magnetic, wave=wave),))
    return float(np.abs(parts).max())


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
