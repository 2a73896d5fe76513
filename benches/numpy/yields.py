"""10 000 units of one side of the reading bench's network at 200 frequencies, vectorised in numpy:
the drivers in a lumped load, the fourth-order network by elimination, the level at a seat, the
window, and percentiles. The values are those of the example; only the shape of the work matters."""

import sys
import time

import numpy as np

UNITS, POINTS, CHUNK = 10_000, 200, 1_000


def driver(rng, n, w, re, le, bl, mms, cms, rms, sd, load):
    def draw(nominal, sigma):
        return nominal * np.exp(sigma * rng.standard_normal((n, 1)))

    bl, mms, cms, rms = draw(bl, 0.025), draw(mms, 0.03), draw(cms, 0.11), draw(rms, 0.15)
    ze = draw(re, 0.025) + 1j * w * draw(le, 0.05)
    zm = rms + 1j * (w * mms - 1 / (w * cms)) + sd**2 * load
    z = ze + bl**2 / zm
    return 1 / z, sd * bl / (zm * z)


def part(rng, n, nominal):
    return nominal * (1 + 0.05 * rng.uniform(-1, 1, (n, 1)))


def coil(rng, n, w, henry, ohm):
    return 1 / (ohm + 1j * w * part(rng, n, henry))


def capacitor(rng, n, w, farad, ohm):
    return 1 / (ohm + 1 / (1j * w * part(rng, n, farad)))


def branch(series, shunt, load):
    """Voltage at the end of a ladder and its input admittance, from the end to the source."""
    y, ratio = load, 1
    for s, p in zip(reversed(series), reversed(shunt)):
        y = y + p
        total = s + y
        ratio = ratio * s / total
        y = s * y / total
    return ratio, y


def chunk(rng, n, w):
    load = 1 / (1j * w * 2.1e-8 + 1 / 3e6) + 1j * w * 30
    low_y, low_u = driver(rng, n, w, 5.6, 3.4e-4, 4.15, 3.9e-3, 1.07e-3, 0.47, 38e-4, load)
    high_y, high_u = driver(rng, n, w, 5.2, 4e-5, 2.1, 3e-4, 9e-5, 0.35, 6.5e-4, 1j * w * 2)
    zobel = 1 / (part(rng, n, 5.6) + 1 / (1j * w * part(rng, n, 1.1e-5)))
    low, y_low = branch(
        [coil(rng, n, w, 8e-4, 0.27), coil(rng, n, w, 4e-4, 0.19)],
        [capacitor(rng, n, w, 1.2e-5, 0.05), capacitor(rng, n, w, 3.3e-6, 0.05)],
        low_y + zobel,
    )
    pad_y = 1 / part(rng, n, 10.0) + high_y
    pad = 1 / part(rng, n, 1.8)
    high, y_high = branch(
        [capacitor(rng, n, w, 4.7e-6, 0.05), capacitor(rng, n, w, 8.2e-6, 0.05)],
        [coil(rng, n, w, 2.2e-4, 0.14), coil(rng, n, w, 1e-3, 0.3)],
        pad * pad_y / (pad + pad_y),
    )
    y = y_low + y_high
    p = 1j * w * (low * low_u - high * high_u * pad / (pad + pad_y)) / (1 + 0.08 * y)
    return 20 * np.log10(np.abs(p)), 1 / np.abs(y).max(axis=1)


def main():
    began = time.perf_counter()
    hz = np.geomspace(20, 20_000, POINTS)
    inside = (hz >= 150) & (hz <= 12_000)
    rng = np.random.default_rng(1)
    levels, lowest = np.empty((UNITS, POINTS)), np.empty(UNITS)
    for first in range(0, UNITS, CHUNK):
        rows = slice(first, first + CHUNK)
        levels[rows], lowest[rows] = chunk(rng, CHUNK, 2 * np.pi * hz)
    levels -= levels[:, inside].mean(axis=1, keepdims=True)
    good = (np.abs(levels[:, inside]) <= 3).all(axis=1) & (lowest >= 3.2)
    np.percentile(levels, [5, 50, 95], axis=0)
    took = time.perf_counter() - began
    print(f"numpy {np.__version__}: {1e3 * took:.0f} ms in the loop, {good.mean():.3f}", file=sys.stderr)


main()
