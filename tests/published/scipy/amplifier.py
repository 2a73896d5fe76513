"""Reference values for the amplifier's output filter and for heat in a closed slab.

Written from the equations alone, in another way than the library: the filter as the half circuit of a
symmetric bridge in closed form, the slab as six heat balances that scipy's root finder solves at once.
Prints the rows of ../data/amplifier_scipy.toml.
"""

import numpy as np
import scipy
from scipy.optimize import fsolve, minimize_scalar

SOURCE = f"half circuit in closed form, numpy; maximum by scipy {scipy.__version__}"


def filter_level_db(f, l, dcr, c, esr, damp_c, damp_r, load, bridged):
    w = 2j * np.pi * f
    y = 1 / (esr + 1 / (w * c))
    if damp_c:
        y = y + 1 / (damp_r + 1 / (w * damp_c))
    if load:
        # Half of a bridge sees half of the load against the middle.
        y = y + (2 if bridged else 1) / load
    return 20 * np.log10(abs(1 / (1 + (dcr + w * l) * y)))


def filter_row(name, l, dcr, c, esr, damp_c, damp_r, load, bridged):
    args = (l, dcr, c, esr, damp_c, damp_r, load, bridged)
    f = np.geomspace(2e4, 1e6, 200001)
    k = int(np.argmax(filter_level_db(f, *args)))
    low, high = f[max(k - 1, 0)], f[min(k + 1, len(f) - 1)]
    best = minimize_scalar(lambda x: -filter_level_db(x, *args), bounds=(low, high), method="bounded",
                           options={"xatol": 1e-6})
    print(f'''[[output_filter]]
id = "{name}"
inductance_h = {l!r}
dcr_ohm = {dcr!r}
capacitance_f = {c!r}
esr_ohm = {esr!r}
damping_f = {damp_c!r}
damping_ohm = {damp_r!r}
load_ohm = {load!r}
bridged = {str(bridged).lower()}
expect_peak_db = {-best.fun:.10g}
expect_at_20khz_db = {filter_level_db(2e4, *args):.10g}
expect_at_1mhz_db = {filter_level_db(1e6, *args):.10g}
tolerance_abs_db = 1e-5
source = "{SOURCE}"
provenance = "computed"
''')


SIGMA, ZERO = 5.670374e-8, 273.15


def film(length, surface, air, emissivity, walls=None):
    """Churchill and Chu 1975 for an upright plate, and radiation."""
    t = ((surface + air) / 2 + ZERO) / 293.15
    k, nu, pr = 0.0257 * t**0.84, 15.1e-6 * t**1.75, 0.71
    ra = 9.80665 * abs(surface - air) * length**3 * pr / (nu**2 * (293.15 * t))
    nusselt = (0.825 + 0.387 * ra ** (1 / 6) / (1 + (0.492 / pr) ** (9 / 16)) ** (8 / 27)) ** 2
    a, b = surface + ZERO, air + ZERO
    return nusselt * k / length, emissivity * SIGMA * (a**4 - b**4) / (a - b) if emissivity else 0.0


def slab_row(name, width, height, depth, face_m, face_k, face_e, back_m, back_k, back_e, foam, gap, watts,
             room, materials):
    area = width * height
    still = 0.0264

    def flows(x):
        air, face_in, face_out, back_in, sheet, back_out = x
        inner = lambda s: max(film(height, air, s, 0)[0], 2 * still / depth) * area * (air - s)
        a, b = inner(face_in), inner(back_in)
        c = area * face_k / face_m * (face_in - face_out)
        d = sum(film(height, face_out, room, face_e)) * area * (face_out - room)
        e = area * 0.04 / max(foam, 1e-6) * (back_in - sheet)
        g = area * back_k / back_m * (sheet - back_out)
        if gap:
            p, q = back_out + ZERO, room + ZERO
            h = area * (still / gap * (back_out - room) + back_e * SIGMA * (p**4 - q**4))
        else:
            h = sum(film(height, back_out, room, back_e)) * area * (back_out - room)
        return a, b, c, d, e, g, h

    def balance(x):
        a, b, c, d, e, g, h = flows(x)
        return [a + b - watts, a - c, c - d, b - e, e - g, g - h]

    x, _, ok, text = fsolve(balance, room + np.array([30, 20, 12, 20, 15, 14.0]), full_output=True, xtol=1e-13)
    assert max(abs(v) for v in balance(x)) < 1e-7, text
    keys = ["air", "face_inside", "face_outside", "back_inside", "back_sheet", "back_outside"]
    expected = "\n".join(f"expect_{k}_c = {v:.10g}" for k, v in zip(keys, x))
    print(f'''[[slab_heat]]
id = "{name}"
width_m = {width}
height_m = {height}
depth_m = {depth}
face = "{materials[0]}"
face_m = {face_m}
back = "{materials[1]}"
back_m = {back_m}
foam_m = {foam}
gap_m = {gap}
watts = {watts}
room_c = {room}
{expected}
expect_through_face_w = {flows(x)[3]:.10g}
tolerance_rel = 1e-6
source = "six heat balances (films of Churchill and Chu 1975, radiation, conduction), scipy {scipy.__version__} fsolve"
provenance = "computed"
''')


print("# Made by scipy/amplifier.py beside this folder; see there for the equations.\n")
filter_row("undamped-open", 10e-6, 0.02, 1e-6, 0.01, 0.0, 0.0, 0.0, True)
filter_row("undamped-8R", 10e-6, 0.02, 1e-6, 0.01, 0.0, 0.0, 8.0, True)
filter_row("damped-open", 10e-6, 0.03, 0.68e-6, 0.02, 2.2e-6, 2.7, 0.0, True)
filter_row("single-4R", 22e-6, 0.05, 1e-6, 0.02, 0.0, 0.0, 4.0, False)
slab_row("free-foam", 0.36, 0.24, 0.034, 0.009, 0.13, 0.9, 0.003, 160.0, 0.1, 0.01, 0.0, 6.0, 25.0,
         ["plywood", "aluminium"])
slab_row("free-bare", 0.30, 0.22, 0.030, 0.012, 0.13, 0.9, 0.0015, 160.0, 0.1, 0.0, 0.0, 12.0, 20.0,
         ["plywood", "aluminium"])
slab_row("wall", 0.36, 0.24, 0.034, 0.009, 0.14, 0.9, 0.006, 0.19, 0.9, 0.0, 0.02, 4.0, 25.0,
         ["mdf", "acrylic"])
