"""Closed forms that tests hold solutions against: what a trapezoid is made of, and a linear circuit's answer to it.

A ramp of slope k that begins at t_j and goes on for ever is k/s² there, so that every change dk_j of the input's slope
leaves an exponential behind, and in the periodic state

    y(t) = G(0) u(t) + G'(0) u'(t) + sum of dk_j (r_i / p_i²) exp(p_i tau_j) / (1 - exp(p_i T)),

with tau_j = (t - t_j) mod T.
"""

import math

import numpy as np


def harmonics(wave, count):
    """Peak phasors of the first `count` harmonics of a trapezoid."""
    omega = 2 * math.pi / wave.period * np.arange(1, count + 1)
    turned = (np.exp(-1j * np.outer(omega, wave.corners)) * bends(wave)).sum(axis=1)
    return 2 * turned / (wave.period * (1j * omega) ** 2)


def bends(wave):
    """Change of a trapezoid's slope at each corner [1/s], (4,)."""
    up, down = wave.height / wave.rise_time, wave.height / wave.fall_time
    return np.array([up, -up, -down, down])


def periodic_response(transfer, wave, times):
    """Answer of a circuit to a trapezoid that has gone on for ever; at a corner the value right after it."""
    slopes = ((times[:, None] % wave.period >= wave.corners) * bends(wave)).sum(axis=1)
    passed = (times[:, None] - wave.corners) % wave.period
    decays = np.exp(passed[:, :, None] * transfer.poles) / -np.expm1(transfer.poles * wave.period)
    left = np.einsum("tji,j,i->t", decays, bends(wave), transfer.residues / transfer.poles**2)
    return transfer.level * wave.values(times) + transfer.slope * slopes + left
