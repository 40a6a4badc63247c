"""The voltage at the pin over a period, and by harmonics, of every loop that is switched and of the switch node."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from geometries.section.coupled_loops import SwitchedLoop
from geometries.section.victims import Drive
from solver.pickup.results import PinSignal, PinSpectrum, Signal
from solver.pickup.ringing_drive import (
    NO_TRANSIENT,
    PinSource,
    RingingWave,
    Transient,
    pin_parts,
    pin_times,
    wave_harmonics,
)
from solver.pickup.waveform import Transfer, Trapezoid

_MOST_HARMONICS = 4000
_ONE = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PinTransfers:
    """From the causes to the pin.

    Parameters
    ----------
    magnetic : Transfer
        Pin voltage per ampere in the loop [ohm].
    electric : Transfer
        Pin voltage per volt at the switch node [1].
    further : tuple of (SwitchedLoop, Transfer)
        Pin voltage per ampere in every further switched loop [ohm].
    """

    magnetic: Transfer
    electric: Transfer
    further: tuple[tuple[SwitchedLoop, Transfer], ...] = ()


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


NO_RINGS = Rings(current=NO_TRANSIENT, voltage=NO_TRANSIENT)
"""Where nothing is known of the switching edge: trapezoids alone."""


def loop_current(drive: Drive, rings: Rings = NO_RINGS) -> RingingWave:
    """The loop's current [A]."""
    shape = Trapezoid(
        height=drive.current,
        period=1 / drive.frequency,
        duty=drive.duty,
        rise_time=drive.rise_time,
        fall_time=drive.fall_time,
    )
    return RingingWave(shape=shape, rise=rings.current, fall=-rings.current)


def node_voltage(drive: Drive, rings: Rings = NO_RINGS) -> RingingWave:
    """The switch node's voltage [V]."""
    shape = Trapezoid(
        height=drive.voltage,
        period=1 / drive.frequency,
        duty=drive.duty,
        rise_time=drive.voltage_rise_time,
        fall_time=drive.voltage_fall_time,
    )
    return RingingWave(shape=shape, rise=rings.voltage, fall=-rings.voltage)


def further_current(drive: Drive, loop: SwitchedLoop) -> RingingWave:
    """The current of a further switched loop [A]: its own height and edges at the same instants, without ring."""
    return RingingWave(
        shape=Trapezoid(
            height=loop.current,
            period=1 / drive.frequency,
            duty=drive.duty,
            rise_time=loop.edge,
            fall_time=loop.edge,
        )
    )


def pin_sources(drive: Drive, transfers: PinTransfers, rings: Rings = NO_RINGS) -> tuple[PinSource, ...]:
    """All that is seen at the pin: the loop first, the further switched loops, the switch node last."""
    others = [
        PinSource(name=loop.name, transfer=transfer, wave=further_current(drive, loop))
        for loop, transfer in transfers.further
    ]
    return (
        PinSource(name="loop", transfer=transfers.magnetic, wave=loop_current(drive, rings)),
        *others,
        PinSource(name="switch node", transfer=transfers.electric, wave=node_voltage(drive, rings)),
    )


def pin_signal(sources: Sequence[PinSource]) -> PinSignal:
    """Voltage at the pin over one period in the periodic state, of sources in the order of :func:`pin_sources`."""
    times, parts = pin_parts(sources)
    return PinSignal(
        times=times,
        magnetic=parts[0],
        electric=parts[-1],
        further=tuple((each.name, part) for each, part in zip(sources[1:-1], parts[1:-1], strict=True)),
        mean=sum(each.transfer.level * each.wave.mean for each in sources),
    )


def pin_spectrum(sources: Sequence[PinSource], highest: float) -> PinSpectrum:
    """Likewise, harmonics up to a frequency [Hz], at most four thousand of them."""
    times = pin_times(sources)
    frequency = 1 / float(times[-1])
    count = max(1, min(_MOST_HARMONICS, int(highest / frequency * (1 + _ONE))))
    frequencies: Signal = frequency * np.arange(1.0, count + 1)
    s = np.asarray(2j * math.pi * frequencies, dtype=np.complex128)
    amplitudes = [
        np.abs(each.transfer.at(s) * wave_harmonics(times, each.wave.values(times), count)) for each in sources
    ]
    return PinSpectrum(
        frequencies=frequencies,
        magnetic=amplitudes[0],
        electric=amplitudes[-1],
        further=tuple((each.name, part) for each, part in zip(sources[1:-1], amplitudes[1:-1], strict=True)),
    )


def open_peak(source: PinSource) -> float:
    """Largest emf [V], for the transfer from a loop's current to the emf of the open run."""
    _, parts = pin_parts((source,))
    return float(np.abs(parts).max())
