"""Sheets on back and face of a shallow cavity by another route, for the rows of data/coupled_sheets.toml.

Sheet: Bogner-Fox-Schmit elements (products of cubic Hermite functions), of which the 400 lowest
eigenvectors of each bay are kept. Air: sums over eigenfunctions in depth (cos(n pi z/L), 4000 terms and
their tail) in the place of cotangents; layers of foam and air by chain matrices. Overlaps by
quadrature; mean over the disc by quadrature. Foam: Miki (1990).

    python3 elements.py > ../data/coupled_sheets.toml
"""
import numpy as np
from scipy.linalg import eigh

T = 20.0
C = 331.3 * np.sqrt(1 + T / 273.15)
RHO = 101325.0 / (287.05 * (T + 273.15))


def hermite(x, h):
    """Values of the four cubics at x in (0, h), and first and second slopes."""
    s = x / h
    one = np.ones_like(s)
    value = [1 - 3 * s**2 + 2 * s**3, h * (s - 2 * s**2 + s**3), 3 * s**2 - 2 * s**3, h * (s**3 - s**2)]
    slope = [(6 * s**2 - 6 * s) / h, 1 - 4 * s + 3 * s**2, (6 * s - 6 * s**2) / h, 3 * s**2 - 2 * s]
    bend = [(12 * s - 6) / h**2, (6 * s - 4) / h, (6 - 12 * s) / h**2, (6 * s - 2) / h]
    return [np.array([q * one for q in v]) for v in (value, slope, bend)]


def span(length, count, ends):
    """Mass, slope and bending matrices of a beam of elements, its quadrature and functions there.
    An end is None (clamped) or a spring over the bending stiffness, 1/m (0: free to turn)."""
    h = length / count
    g, w = np.polynomial.legendre.leggauss(8)
    size = 2 * (count + 1)
    mass, slope, bend = np.zeros((3, size, size))
    x, wx, values = [], [], []
    local, lw = (g + 1) * h / 2, w * h / 2
    v, s, b = hermite(local, h)
    for e in range(count):
        at = slice(2 * e, 2 * e + 4)
        mass[at, at] += (v * lw) @ v.T
        slope[at, at] += (s * lw) @ s.T
        bend[at, at] += (b * lw) @ b.T
        here = np.zeros((size, len(g)))
        here[at] = v
        x.append(e * h + local); wx.append(lw); values.append(here)
    for end, at in zip(ends, (1, size - 1)):
        if end is not None:
            bend[at, at] += end
    keep = [i for i in range(size) if i not in (0, size - 2)
            and not (ends[0] is None and i == 1) and not (ends[1] is None and i == size - 1)]
    cut = np.ix_(keep, keep)
    return mass[cut], slope[cut], bend[cut], np.concatenate(x), np.concatenate(wx), np.hstack(values)[keep]


class Bay:
    def __init__(self, corner, sides, ends, dx, dy, h, mass, waves, outline, counts):
        ex, ey = ends
        mx, sx, bx, x, wx, fx = span(sides[0], counts[0], ex)
        my, sy, by, y, wy, fy = span(sides[1], counts[1], ey)
        l, m = waves
        gx = np.array([(fx * wx) @ np.cos(i * np.pi * (x + corner[0]) / outline[0]) for i in range(l.max() + 1)])
        gy = np.array([(fy * wy) @ np.cos(i * np.pi * (y + corner[1]) / outline[1]) for i in range(m.max() + 1)])
        # All that is left of the elements is their 400 lowest eigenvectors, far above the range.
        stiffness = dx * np.kron(bx, my) + dy * np.kron(mx, by) + 2 * h * np.kron(sx, sy)
        last = min(400, len(stiffness)) - 1
        self.stiffness, shape = eigh(stiffness, mass * np.kron(mx, my), subset_by_index=[0, last])
        self.overlap = shape.T @ np.array([np.kron(gx[i], gy[j]) for i, j in zip(l, m)]).T
        self.volume = shape.T @ np.kron(fx @ wx, fy @ wy)
        at = np.arange(1, 8) / 8
        watch = [np.kron(self.values(sides[0], counts[0], ex, u), self.values(sides[1], counts[1], ey, v))
                 for u in at for v in at]
        self.watch = np.array(watch) @ shape

    @staticmethod
    def values(length, count, ends, share):
        h = length / count
        e = min(int(share * count), count - 1)
        full = np.zeros(2 * (count + 1))
        full[2 * e:2 * e + 4] = hermite(np.array([share * length - e * h]), h)[0][:, 0]
        return full[[i for i in range(len(full)) if i not in (0, len(full) - 2)
                     and not (ends[0] is None and i == 1) and not (ends[1] is None and i == len(full) - 1)]]


def gas(w, eta):
    return (w / C) / np.sqrt(1 + 1j * eta), RHO + 0j


def miki(w, sigma):
    x = 1000 * w / (2 * np.pi * sigma)
    z = RHO * C * (1 + 5.5 * x**-0.632 - 8.43j * x**-0.632)
    k = (w / C) * (1 + 7.81 * x**-0.618 - 11.41j * x**-0.618)
    return k, z * k / w


def by_depth(w, k, rho, depth, kappa2):
    """Own and transfer impedance of a layer by eigenfunctions in depth."""
    be = kappa2 - k * k
    n = np.arange(1, 4001)
    own, over = np.zeros(len(be), complex), np.zeros(len(be), complex)
    for i, b in enumerate(be):
        t = 1 / (b + (n * np.pi / depth) ** 2)
        root = np.sqrt(b + 0j)
        own[i] = 1 / b + 2 * t.sum() + 2 * depth / np.pi / root * np.arctan(root * depth / np.pi / 4000.5)
        over[i] = 1 / b + 2 * (t * (-1.0) ** n).sum()
    f = 1j * w * rho / depth
    return f * own, f * over


def by_chain(w, layers, kappa2):
    """The same of several layers, [face, across, back], by chain matrices."""
    m = np.array([np.eye(2, dtype=complex)] * len(kappa2))
    for k, rho, depth in layers:
        be = np.sqrt(k * k - kappa2 + 0j)
        z = w * rho / be
        step = np.array([[np.cos(be * depth), 1j * z * np.sin(be * depth)],
                         [1j * np.sin(be * depth) / z, np.cos(be * depth)]]).transpose(2, 0, 1)
        m = m @ step
    return m[:, 0, 0] / m[:, 1, 0], 1 / m[:, 1, 0], m[:, 1, 1] / m[:, 1, 0]


def solve(case, cut):
    a, b, depth = case["outline"]
    area = a * b
    l, m = [q.ravel() for q in np.meshgrid(np.arange(int(cut * a / np.pi) + 1), np.arange(int(cut * b / np.pi) + 1), indexing="ij")]
    kappa2 = (l * np.pi / a) ** 2 + (m * np.pi / b) ** 2
    inside = kappa2 <= cut * cut
    l, m, kappa2 = l[inside], m[inside], kappa2[inside]
    eps = np.where(l == 0, 1, 2) * np.where(m == 0, 1, 2)
    x0, y0, r0 = case["disc"]
    g, wg = np.polynomial.legendre.leggauss(24)
    t = np.arange(96) * 2 * np.pi / 96
    q = r0 * (g + 1) / 2
    weight = np.repeat(wg * q, 96); weight /= weight.sum()
    px, py = x0 + np.outer(q, np.cos(t)).ravel(), y0 + np.outer(q, np.sin(t)).ravel()
    mean = np.array([weight @ (np.cos(i * np.pi * px / a) * np.cos(j * np.pi * py / b)) for i, j in zip(l, m)])
    back_bays, back_overlap, back_stiffness, back_volume = wall(case, "plate", "bays", (l, m))
    _, face_overlap, face_stiffness, face_volume = wall(case, "face_plate", "face_bays", (l, m))
    stiffness = np.concatenate([back_stiffness, face_stiffness])
    backs = len(back_volume)
    low = kappa2 <= (0.35 * cut) ** 2
    ratio, face_ratio, impedance, deflection = [], [], [], []
    for f in case["frequency_hz"]:
        w = 2 * np.pi * f
        k, rho = gas(w, case["eta_air"])
        if case.get("foam"):
            d, sigma = case["foam"]
            face, across, back = by_chain(w, [(k, rho, depth - d), (*miki(w, sigma), d)], kappa2[low])
            # Far above every wavenumber the chain loses digits and layers are half spaces to one another.
            kf, rf = miki(w, sigma)
            high = ~low
            gh, gf = np.sqrt(kappa2[high] - k * k), np.sqrt(kappa2[high] - kf * kf)
            def grow(values, rest):
                out = np.zeros(len(kappa2), complex); out[low] = values; out[high] = rest; return out
            face, across = grow(face, 1j * w * rho / gh), grow(across, 0)
            back = grow(back, 1j * w * rf / gf)
        else:
            face, across = by_depth(w, k, rho, depth, kappa2)
            back = face.copy()
        if case.get("leak"):
            leak = case["leak"] * area
            back[0] -= across[0] ** 2 / (leak + face[0])
            across[0] *= leak / (leak + face[0]); face[0] *= leak / (leak + face[0])
        behind = 0
        if case.get("gap"):
            behind = by_depth(w, k, rho, case["gap"], kappa2)[0]
        # Pressure on a wall by its own motion, and by that of the other.
        def meets(one, z, other):
            return 1j * w * (one * (eps / area * z)) @ other.T
        system = np.block([
            [meets(back_overlap, back + behind, back_overlap), meets(back_overlap, across, face_overlap)],
            [meets(face_overlap, across, back_overlap), meets(face_overlap, face, face_overlap)]])
        system += np.diag(stiffness - w * w)
        driven = eps / area * mean
        force = np.concatenate([back_overlap @ (driven * across), face_overlap @ (driven * face)])
        move = np.linalg.solve(system, force)
        ratio.append(1j * w * back_volume @ move[:backs])
        face_ratio.append(1j * w * face_volume @ move[backs:])
        tail = 1j * w * RHO / (np.pi**2 * r0**3 * cut * cut)
        impedance.append(np.sum(eps / area * mean**2 * face) - 1j * w * force @ move + tail)
        parts = np.split(move[:backs], np.cumsum([bay.volume.size for bay in back_bays])[:-1])
        bent = [np.abs(bay.watch @ part).max() for bay, part in zip(back_bays, parts)]
        deflection.append(max(bent, default=0.0))
    return [np.array(q) for q in (ratio, face_ratio, impedance, deflection)]


def wall(case, plate, bays, waves):
    """Bays of a wall, their overlaps, lossy stiffnesses and volumes; none of a rigid wall."""
    if plate not in case:
        return [], np.zeros((0, len(waves[0]))), np.zeros(0, complex), np.zeros(0)
    dx, dy, h, mass, eta = case[plate]
    found = [Bay(*bay, dx, dy, h, mass, waves, case["outline"][:2], case["elements"]) for bay in case[bays]]
    return (found, np.vstack([bay.overlap for bay in found]),
            np.concatenate([bay.stiffness for bay in found]) * (1 + 1j * eta),
            np.concatenate([bay.volume for bay in found]))


def aluminium(thickness, eta):
    d = 70e9 * thickness**3 / 12 / (1 - 0.33**2)
    return d, d, d, 2700.0 * thickness, eta


def plywood(thickness):
    d = 9e9 * thickness**3 / 12 / (1 - 0.2**2 * 5 / 9)
    return d, d * 5 / 9, 0.2 * d * 5 / 9 + 2 * 0.7e9 * thickness**3 / 12, 650 * thickness, 0.03


def cases():
    box = dict(outline=(0.38, 0.24, 0.034), disc=(0.12, 0.11, 0.0407), eta_air=0.02, elements=(36, 26),
               frequency_hz=[60.0, 100.0, 160.0, 180.0, 220.0, 300.0, 450.0, 600.0, 800.0, 1200.0])
    held = ((None, None), (None, None))
    al10, spring = aluminium(1e-3, 0.05), 20.0
    yield "clamped-al10", dict(box, plate=al10, bays=[((0, 0), (0.38, 0.24), held)])
    yield "clamped-al20", dict(box, plate=aluminium(2e-3, 0.05), bays=[((0, 0), (0.38, 0.24), held)])
    # A smaller sheet out of the middle, three edges on springs, a rib that divides it unequally.
    yield "elastic-ribbed-part", dict(box, plate=al10, elements=(22, 22), bays=[
        ((0.02, 0.03), (0.15, 0.17), ((spring, 0.0), (spring, None))),
        ((0.17, 0.03), (0.19, 0.17), ((0.0, spring), (spring, None)))])
    yield "plywood-foam-gap-leak", dict(box, plate=plywood(4e-3), bays=[((0, 0), (0.38, 0.24), held)],
                                        foam=(0.01, 10000.0), gap=0.015, leak=2e5)
    # The face moves too: both thin, so that the air between them couples them; one out of the middle with
    # foam, a gap and a leak; and the face alone.
    whole = [((0, 0), (0.38, 0.24), held)]
    yield "thin-face", dict(box, plate=aluminium(2e-3, 0.05), bays=whole,
                            face_plate=plywood(4e-3), face_bays=whole)
    yield "face-part-foam-gap-leak", dict(box, elements=(22, 22), plate=plywood(4e-3), bays=whole,
        face_plate=plywood(6.5e-3), face_bays=[
            ((0.03, 0.01), (0.14, 0.2), ((spring, 0.0), (0.0, None))),
            ((0.17, 0.01), (0.2, 0.2), ((0.0, spring), (0.0, None)))],
        foam=(0.01, 10000.0), gap=0.015, leak=2e5)
    turns = ((0.0, 0.0), (0.0, 0.0))
    yield "face-alone", dict(box, face_plate=plywood(4e-3), face_bays=[((0, 0), (0.38, 0.24), turns)])


def told(values):
    return "[" + ", ".join("%.7g" % v for v in values) + "]"


def end(value):
    return "inf" if value is None else "%.7g" % value


def told_bays(bays):
    return "[" + ", ".join("[%s]" % ", ".join(end(v) for v in (*c, *s, *e[0], *e[1])) for c, s, e in bays) + "]"


def told_ratio(key, r):
    if not np.any(r):
        return ""
    return f"{key}_db = {told(20 * np.log10(abs(r)))}\n{key}_phase_deg = {told(np.degrees(np.angle(r)))}\n"


def row(name, case):
    r, q, z, w = solve(case, 300.0)
    coarse = dict(case, elements=tuple(int(n * 0.75) for n in case["elements"]))
    r2, q2, z2, w2 = solve(coarse, 240.0)
    both = [(one, other) for one, other in ((r, r2), (q, q2)) if np.any(one)]
    db = max(np.abs(20 * np.log10(np.abs(other / one))).max() for one, other in both)
    off = np.abs(z2 / z - 1).max()
    print(f"""
[[row]]
id = "coupled-{name}"
kind = "{"coupled_face" if "face_plate" in case else "coupled_sheet"}"
note = "a coarser mesh and fewer waves: at worst {db:.2g} dB in the ratio, {off:.2g} in the impedance"
source = "plate elements and sums over eigenfunctions, coupled_sheets/elements.py"
provenance = "computed"
[row.in]
temperature_c = {T}
outline_m = {told(case["outline"])}
disc_m = {told(case["disc"])}
eta_air = {case["eta_air"]}
# Dx, Dy, H (N m), kg/m2, loss factor
plate = {told(case.get("plate", ()))}
face_plate = {told(case.get("face_plate", ()))}
# Corner x and y, sides x and y, m; springs over bending stiffness at low and high x, low and high y, 1/m
bays = {told_bays(case.get("bays", ()))}
face_bays = {told_bays(case.get("face_bays", ()))}
foam_m_and_resistivity = {told(case.get("foam", ()))}
gap_m = {told([case["gap"]] if case.get("gap") else [])}
leak_pa_s_per_m3 = {told([case["leak"]] if case.get("leak") else [])}
frequency_hz = {told(case["frequency_hz"])}
[row.expect]
{told_ratio("ratio", r)}{told_ratio("face_ratio", q)}{f"deflection_m_per_m3_s = {told(w)}" if np.any(w) else ""}
z_re_pa_s_per_m3 = {told(z.real)}
z_im_pa_s_per_m3 = {told(z.imag)}
[row.tol]
db = 0.1
deg = 1.0
rel = 0.012
cplx_rel = 0.01""", flush=True)


if __name__ == "__main__":
    print("# Sheets on a cavity with every standing wave, made by coupled_sheets/elements.py.")
    for name, case in cases():
        row(name, case)
