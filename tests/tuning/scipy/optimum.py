#!/usr/bin/env python3
"""The cost of `tune`, written anew with numpy, and its optimum by scipy.

Two networks into simple drivers. Everything here follows the description at the head of
src/analysis/tune/problem.rs; no number comes from the crate. Writes optimum.toml beside itself:

    python3 optimum.py

For each case: the problem, the residuals and their derivatives by ln(value) at a fixed point, and
the best of many runs of scipy.optimize.least_squares with how many of them ended there.
"""

import pathlib
import platform

import numpy as np
import scipy
from scipy.optimize import least_squares

TAU = 2 * np.pi
DB = 20 / np.log(10)
C = 343.2
BOUNDS = {"R": (0.2, 100.0), "L": (2e-5, 6e-3), "C": (4.7e-7, 1.5e-4)}


def driver_z(f, d):
    """Coil in series with a resonance: Re + jwLe + Res/(1 + jQ(f/f0 - f0/f))."""
    x = f / d["f0"] - d["f0"] / f
    return d["re"] + 1j * TAU * f * d["le"] + d["res"] / (1 + 1j * d["q"] * x)


def driver_p(f, d, seat):
    """Pressure per volt: second-order high-pass, a peak, second-order low-pass, way to the seat."""
    s = 1j * TAU * f
    w0, w1, w2 = (TAU * d[k] for k in ("f0", "peak_hz", "last_hz"))
    high = s**2 / (s**2 + s * w0 / d["q0"] + w0**2)
    a = 10 ** (d["peak_db"] / 20)
    peak = (s**2 + a * s * w1 / 3 + w1**2) / (s**2 + s * w1 / 3 + w1**2)
    low = w2**2 / (s**2 + s * w2 / 0.8 + w2**2)
    r = seat["m"]
    dull = 1 / (1 + s * seat["dull_s"])
    return d["gain"] * high * peak * low * dull * np.exp(-s * r / C) / r


def admittance(f, kind, value, loss):
    w = TAU * f
    z = {"R": value + 0j * w, "L": loss + 1j * w * value, "C": loss - 1j / (w * value)}[kind]
    return 1 / z


class Case:
    def __init__(self, spec):
        self.s = spec
        low, high = spec["band"][0] / 2, min(spec["band"][1] * 1.5, 20e3)
        n = spec["points"]
        self.f = low * (high / low) ** (np.arange(n) / (n - 1))
        b = (self.f >= spec["band"][0] * (1 - 1e-12)) & (self.f <= spec["band"][1] * (1 + 1e-12))
        self.band = np.flatnonzero(b)
        self.z = [driver_z(self.f, spec[k]) for k in ("woofer", "tweeter")]
        self.paths = [
            [driver_p(self.f, spec[k], {"m": seat[k + "_m"], "dull_s": seat["dull_s"]}) for k in ("woofer", "tweeter")]
            for seat in spec["seats"]
        ]
        total = sum(seat["weight"] for seat in spec["seats"])
        self.shares = [seat["weight"] / total for seat in spec["seats"]]
        names = ["in", "0"]
        for _, _, _, ends in spec["parts"]:
            names += [e for e in ends if e not in names]
        self.nodes = names
        x = self.f / spec["at"]
        s = 1j * x
        root = 1 + np.sqrt(2) * s + s**2 if spec["order"] == 4 else 1 + s
        self.ways = [DB * np.log(abs(1 / root**2)), DB * np.log(abs(s ** spec["order"] / root**2))]

    def loss(self, kind, value, given, start):
        """A coil's resistance goes with the root of its value, from what it has at the start."""
        if kind != "L":
            return given or 0.0
        base = self.s["dcr_1mh"] * np.sqrt(start / 1e-3) if given is None else given
        return base * np.sqrt(value / start)

    def solve(self, values):
        """Voltages at both drivers and input impedance at the amplifier, per volt of the source."""
        n, f = len(self.nodes), self.f
        y = np.zeros((len(f), n, n), complex)

        def put(a, b, g):
            y[:, a, a] += g
            y[:, b, b] += g
            y[:, a, b] -= g
            y[:, b, a] -= g

        at = self.nodes.index
        for (_, kind, loss, ends), v, v0 in zip(self.s["parts"], values, self.s["start"]):
            put(at(ends[0]), at(ends[1]), admittance(f, kind, v, self.loss(kind, v, loss, v0)))
        for name, z in zip(("w", "t"), self.z):
            put(at(name), 1, 1 / z)
        # Node 0 is 1 V for now, node 1 is 0 V; the rest is solved.
        inner = np.arange(2, n)
        v = np.zeros((len(f), n), complex)
        v[:, 0] = 1
        v[:, 2:] = np.linalg.solve(y[:, inner[:, None], inner], -y[:, inner, 0][..., None])[..., 0]
        z = 1 / np.einsum("fn,fn->f", y[:, 0, :], v)
        given = z / (z + self.s["output"])
        return [v[:, at(k)] * given for k in ("w", "t")], z

    def residuals(self, values):
        s = self.s
        (vw, vt), z = self.solve(values)
        rows = []
        for share, (pw, pt) in zip(self.shares, self.paths):
            woofer, tweeter = vw * pw, vt * pt * s["sign"]
            tilt = s["tilt"] * np.log2(self.f / s["at"])
            total = (DB * np.log(abs(woofer + tweeter)) - tilt)[self.band]
            mean = total.mean()
            rows.append((total - mean) * np.sqrt(share / len(total)))
            for way, target in zip((woofer, tweeter), self.ways):
                at = [k for k in self.band if target[k] > -24]
                off = DB * np.log(abs(way[at])) - mean - target[at] - tilt[at]
                fade = 10 ** (target[at] / 40)
                rows.append(off * fade * np.sqrt(s["ways_weight"] * share / (2 * len(at))))
        lack = np.maximum(0, DB * np.log(1.01 * s["lowest"] / abs(z)))
        rows.append(12 * lack / np.sqrt(len(self.f)))
        return np.concatenate(rows)

    def limits(self):
        pairs = [BOUNDS[kind] for _, kind, _, _ in self.s["parts"]]
        return np.log(np.array(pairs)).T


def parts(*rows):
    return [(ref, ref[0], loss, ends.split()) for ref, loss, ends in rows]


FIRST = {
    "name": "lr2_and_pad",
    "parts": parts(
        ("L1", None, "in w"), ("C1", 0.05, "w 0"), ("C2", 0.05, "in a"), ("L2", None, "a 0"),
        ("R1", 0.0, "a t"), ("R2", 0.0, "t 0"),
    ),
    "start": [0.5e-3, 8e-6, 7e-6, 0.4e-3, 1.8, 12.0],
    "at": 2500.0, "band": (625.0, 10000.0), "points": 93, "order": 2, "tilt": 0.0, "sign": -1.0,
    "ways_weight": 0.3, "lowest": 4.4, "output": 0.0, "dcr_1mh": 0.3,
    "woofer": {"re": 5.6, "le": 0.25e-3, "res": 30.0, "q": 3.0, "f0": 110.0, "q0": 0.8,
               "peak_hz": 4200.0, "peak_db": 3.0, "last_hz": 7000.0, "gain": 0.14},
    "tweeter": {"re": 5.2, "le": 0.02e-3, "res": 8.0, "q": 2.0, "f0": 950.0, "q0": 0.9,
                "peak_hz": 12000.0, "peak_db": 1.0, "last_hz": 26000.0, "gain": 0.24},
    "seats": [{"woofer_m": 0.95, "tweeter_m": 0.93, "weight": 1.0, "dull_s": 0.0}],
}

SECOND = {
    "name": "eight_parts",
    "parts": parts(
        ("L1", None, "in w"), ("C1", 0.05, "w 0"), ("R1", 0.0, "w z"), ("C2", 0.05, "z 0"),
        ("C3", 0.05, "in a"), ("L2", 0.2, "a 0"), ("C4", 0.05, "a b"), ("R2", 0.0, "b t"),
    ),
    "start": [0.6e-3, 10e-6, 6.0, 9e-6, 6e-6, 0.3e-3, 15e-6, 2.5],
    "at": 3000.0, "band": (750.0, 12000.0), "points": 97, "order": 4, "tilt": -0.5, "sign": 1.0,
    "ways_weight": 0.2, "lowest": 4.0, "output": 0.08, "dcr_1mh": 0.3,
    "woofer": {"re": 6.1, "le": 0.3e-3, "res": 25.0, "q": 3.5, "f0": 120.0, "q0": 0.9,
               "peak_hz": 5000.0, "peak_db": 4.0, "last_hz": 8000.0, "gain": 0.15},
    "tweeter": {"re": 5.4, "le": 0.03e-3, "res": 9.0, "q": 2.2, "f0": 1000.0, "q0": 1.0,
                "peak_hz": 14000.0, "peak_db": 1.5, "last_hz": 25000.0, "gain": 0.25},
    "seats": [
        {"woofer_m": 0.91, "tweeter_m": 0.90, "weight": 1.0, "dull_s": 4e-6},
        {"woofer_m": 1.30, "tweeter_m": 1.31, "weight": 0.5, "dull_s": 9e-6},
    ],
}

# No bound is reached at its optimum.
THIRD = FIRST | {
    "name": "free_of_bounds",
    "parts": parts(
        ("L1", None, "in w"), ("C1", 0.05, "w z"), ("R1", 0.0, "z 0"),
        ("C2", 0.05, "in a"), ("L2", None, "a 0"), ("R2", 0.0, "a t"),
    ),
    "start": [0.5e-3, 8e-6, 1.0, 7e-6, 0.4e-3, 3.0],
    "lowest": 3.0,
    "woofer": FIRST["woofer"] | {"le": 0.1e-3},
    "tweeter": FIRST["tweeter"] | {"gain": 0.34},
}


def slopes(fun, x):
    h = 1e-5
    return np.array([(fun(x + h * e) - fun(x - h * e)) / (2 * h) for e in np.eye(len(x))]).T


def optimum(case, starts=60):
    low, high = case.limits()
    fun = lambda x: case.residuals(np.exp(x))
    random = np.random.default_rng(11)
    middle = np.log(case.s["start"])
    ends = []
    for k in range(starts):
        x0 = middle if k == 0 else middle + random.uniform(-1, 1, len(middle)) * np.log(2.5)
        x0 = np.clip(x0, low + 1e-3, high - 1e-3)
        r = least_squares(fun, x0, jac=lambda x: slopes(fun, x), bounds=(low, high), xtol=1e-12, ftol=1e-12, gtol=1e-12, max_nfev=400)
        ends.append((r.cost, np.exp(r.x)))
    ends.sort(key=lambda e: e[0])
    same = [e for e in ends if e[0] < ends[0][0] * 1.0001]
    apart = max(np.max(np.abs(np.log(e[1] / ends[0][1]))) for e in same)
    return ends[0], len(same), starts, apart


def numbers(values):
    return "[" + ", ".join(f"{float(v):.12g}" for v in values) + "]"


def record(spec):
    case = Case(spec)
    x = np.log(spec["start"])
    fun = lambda x: case.residuals(np.exp(x))
    r, j = fun(x), slopes(fun, x)
    # Every seventh row keeps the file short; all rows are in the sums.
    rows = list(range(0, len(r), 7))
    (cost, best), same, starts, apart = optimum(case)
    low, high = case.limits()
    held = [bool(min(v - a, b - v) < 1e-3) for v, a, b in zip(np.log(best), low, high)]
    print(spec["name"], cost, best, f"{same}/{starts}", apart, held)
    out = [f'[[case]]\nname = "{spec["name"]}"']
    for key in ("at", "points", "order", "tilt", "sign", "ways_weight", "lowest", "output", "dcr_1mh"):
        out.append(f"{key} = {spec[key]}")
    out.append(f"band = {numbers(spec['band'])}\nstart = {numbers(spec['start'])}")
    for ref, _, loss, ends in spec["parts"]:
        loss = "" if loss is None else f", loss_ohm = {loss}"
        out.append(f'[[case.part]]\nref = "{ref}"\nbetween = ["{ends[0]}", "{ends[1]}"]{loss.replace(", ", chr(10))}')
    for key in ("woofer", "tweeter"):
        out.append(f"[case.{key}]\n" + "\n".join(f"{k} = {v}" for k, v in spec[key].items()))
    for seat in spec["seats"]:
        out.append("[[case.seat]]\n" + "\n".join(f"{k} = {v}" for k, v in seat.items()))
    out.append(f"[case.here]\ncount = {len(r)}\ncost = {0.5 * float(r @ r):.12g}\nrows = {rows}")
    out.append(f"residuals = {numbers(r[rows])}\nslopes = [")
    out += [f"  {numbers(j[k])}," for k in rows]
    out.append("]\n[case.optimum]")
    out.append(f"cost = {cost:.12g}\nvalues = {numbers(best)}\nstarts = {starts}\nended_here = {same}")
    out.append(f"unique = {str(bool(apart < 1e-3)).lower()}\nat_a_bound = {str(held).lower()}\n")
    return "\n".join(out)


if __name__ == "__main__":
    head = (
        f"# Written by optimum.py with Python {platform.python_version()}, numpy {np.__version__}, "
        f"scipy {scipy.__version__}.\n# Do not edit; run the script again.\n"
        f'script = "optimum.py"\nscipy = "{scipy.__version__}"\nnumpy = "{np.__version__}"\n\n'
    )
    path = pathlib.Path(__file__).with_name("optimum.toml")
    path.write_text(head + "\n".join(record(spec) for spec in (FIRST, SECOND, THIRD)))
