"""Two discs in the face of a shallow cavity, for the rows of ../data/two_cones.toml.

Rigid walls: cubic Lagrange elements on a brick mesh. The few eigenvectors of the elements in depth
part (K - k^2 M) p = j w rho s into plane problems, each solved directly: the source s is spread over
one disc, p is averaged over the other, by quadrature with the elements' own functions. No modes of the
outline anywhere.

A back that moves: the plate elements and the sums over eigenfunctions in depth of
../coupled_sheets/elements.py, with both discs.

    python3 two_cones.py > ../data/two_cones.toml
"""
import sys
from pathlib import Path

import numpy as np
import scipy
import scipy.sparse as sp
from scipy.linalg import eigh
from scipy.sparse.linalg import splu

sys.path.insert(0, str(Path(__file__).parent.parent / "coupled_sheets"))
from elements import C, RHO, T, Bay, aluminium, by_depth, end, told

NODES = np.array([0, 1, 2, 3]) / 3


def cubic(s):
    """The four cubics through thirds of the unit interval, and their slopes, at s."""
    value, slope = [], []
    for i, a in enumerate(NODES):
        others = np.delete(NODES, i)
        scale = np.prod(a - others)
        value.append(np.prod([s - b for b in others], axis=0) / scale)
        slope.append(sum(np.prod([s - b for b in np.delete(others, j)], axis=0) for j in range(3)) / scale)
    return np.array(value), np.array(slope)


def line(length, count):
    """Mass and stiffness of `count` elements."""
    g, w = np.polynomial.legendre.leggauss(5)
    s, w, h = (g + 1) / 2, w / 2, length / count
    v, d = cubic(s)
    mass, stiff = (v * w * h) @ v.T, (d * w / h) @ d.T
    size = 3 * count + 1
    m, k = sp.lil_matrix((size, size)), sp.lil_matrix((size, size))
    for e in range(count):
        at = slice(3 * e, 3 * e + 4)
        m[at, at] += mass
        k[at, at] += stiff
    return m.tocsr(), k.tocsr()


def at_points(x, length, count):
    """Values of all functions at the points x, one row a point."""
    h = length / count
    e = np.minimum((x / h).astype(int), count - 1)
    v, _ = cubic(x / h - e)
    rows = np.repeat(np.arange(len(x)), 4)
    columns = (3 * e[:, None] + np.arange(4)).ravel()
    return sp.csr_matrix((v.T.ravel(), (rows, columns)), (len(x), 3 * count + 1))


def over_disc(disc, count=(40, 160)):
    """Points and weights of a mean over a disc."""
    x, y, r = disc
    g, w = np.polynomial.legendre.leggauss(count[0])
    q, w = r * (g + 1) / 2, w
    t = (np.arange(count[1]) + 0.5) * 2 * np.pi / count[1]
    weight = np.repeat(w * q, count[1])
    return x + np.outer(q, np.cos(t)).ravel(), y + np.outer(q, np.sin(t)).ravel(), weight / weight.sum()


def rigid(outline, discs, eta, frequency_hz, counts):
    """Transfer impedance between the discs, and that of the first with itself."""
    (mx, kx), (my, ky), (mz, kz) = [line(length, count) for length, count in zip(outline, counts)]
    mass = sp.kron(mx, my).tocsc()
    stiff = (sp.kron(kx, my) + sp.kron(mx, ky)).tocsc()
    depths, shapes = eigh(kz.toarray(), mz.toarray())
    vectors = []
    for disc in discs:
        x, y, weight = over_disc(disc)
        fx, fy = at_points(x, outline[0], counts[0]), at_points(y, outline[1], counts[1])
        vectors.append((fx.T @ sp.diags(weight) @ fy).toarray().ravel())
    found = []
    for f in frequency_hz:
        w = 2 * np.pi * f
        k2 = (w / C) ** 2 / (1 + 1j * eta)
        z = 0
        for depth, shape in zip(depths, shapes.T):
            p = splu((stiff - (k2 - depth) * mass).tocsc()).solve(1j * w * RHO * vectors[0])
            z += shape[0] ** 2 * np.array([vectors[1] @ p, vectors[0] @ p])
        found.append(z)
    return np.array(found).T


def moved(case, cut):
    """Transfer impedance and the second disc's own, with a back that moves, and the flow of the back
    over that of each disc."""
    a, b, depth = case["outline"]
    area = a * b
    l, m = [q.ravel() for q in np.meshgrid(np.arange(int(cut * a / np.pi) + 1),
                                          np.arange(int(cut * b / np.pi) + 1), indexing="ij")]
    kappa2 = (l * np.pi / a) ** 2 + (m * np.pi / b) ** 2
    inside = kappa2 <= cut * cut
    l, m, kappa2 = l[inside], m[inside], kappa2[inside]
    eps = np.where(l == 0, 1, 2) * np.where(m == 0, 1, 2)
    means = []
    for disc in case["discs"]:
        x, y, weight = over_disc(disc, (24, 96))
        cosx = np.array([np.cos(i * np.pi * x / a) for i in range(l.max() + 1)])
        cosy = np.array([np.cos(i * np.pi * y / b) for i in range(m.max() + 1)])
        means.append(((cosx * weight) @ cosy.T)[l, m])
    dx, dy, h, mass, eta = case["plate"]
    held = ((None, None), (None, None))
    bay = Bay((0, 0), (a, b), held, dx, dy, h, mass, (l, m), (a, b), case["elements"])
    transfer, ratios = [], []
    for f in case["frequency_hz"]:
        w = 2 * np.pi * f
        k = (w / C) / np.sqrt(1 + 1j * case["eta_air"])
        face, across = by_depth(w, k, RHO + 0j, depth, kappa2)
        system = 1j * w * (bay.overlap * (eps / area * face)) @ bay.overlap.T
        system += np.diag(bay.stiffness * (1 + 1j * eta) - w * w)
        forces = [bay.overlap @ (eps / area * mean * across) for mean in means]
        moves = [np.linalg.solve(system, force) for force in forces]
        stiff = np.sum(eps / area * means[0] * means[1] * face)
        transfer.append(stiff - 1j * w * forces[1] @ moves[0])
        ratios.append([1j * w * bay.volume @ move for move in moves])
    return np.array(transfer), np.array(ratios).T


def rigid_row(name, outline, discs, eta, frequency_hz, counts, tol):
    finer = tuple(int(np.ceil(1.4 * n)) for n in counts)
    (z, own), (coarse, _) = rigid(outline, discs, eta, frequency_hz, finer), rigid(outline, discs, eta, frequency_hz, counts)
    off = abs(coarse / z - 1).max()
    print(f"""
[[row]]
id = "two-cones-{name}"
kind = "two_cones_rigid"
note = "{counts[0]} x {counts[1]} x {counts[2]} elements against {finer[0]} x {finer[1]} x {finer[2]}: {off:.1g} apart at worst"
source = "cubic brick elements, plane problems solved directly (scipy {scipy.__version__}), scipy/two_cones.py"
provenance = "computed"
[row.in]
temperature_c = {T}
outline_m = {told(outline)}
first_m = {told(discs[0])}
second_m = {told(discs[1])}
eta_air = {eta}
frequency_hz = {told(frequency_hz)}
[row.expect]
re_pa_s_per_m3 = {told(z.real)}
im_pa_s_per_m3 = {told(z.imag)}
[row.tol]
cplx_rel = {tol}""", flush=True)


def moved_row(name, case, tol):
    z, ratio = moved(case, 300.0)
    z2, ratio2 = moved(dict(case, elements=tuple(int(0.75 * q) for q in case["elements"])), 240.0)
    off = abs(z2 / z - 1).max(), abs(ratio2 / ratio - 1).max()
    pairs = "\n".join(f"{key}_re = {told(r.real)}\n{key}_im = {told(r.imag)}" for key, r in zip(("first_ratio", "second_ratio"), ratio))
    print(f"""
[[row]]
id = "two-cones-{name}"
kind = "two_cones_sheet"
note = "clamped all round; a coarser mesh and fewer waves: {off[0]:.1g} in the transfer, {off[1]:.1g} in the ratios at worst"
source = "plate elements and sums over eigenfunctions in depth (scipy {scipy.__version__}), scipy/two_cones.py"
provenance = "computed"
[row.in]
temperature_c = {T}
outline_m = {told(case["outline"])}
first_m = {told(case["discs"][0])}
second_m = {told(case["discs"][1])}
eta_air = {case["eta_air"]}
# Dx, Dy, H (N m), kg/m2, loss factor
plate = {told(case["plate"])}
frequency_hz = {told(case["frequency_hz"])}
[row.expect]
re_pa_s_per_m3 = {told(z.real)}
im_pa_s_per_m3 = {told(z.imag)}
{pairs}
[row.tol]
cplx_rel = {tol}""", flush=True)


if __name__ == "__main__":
    print("# Two discs in the face of a cavity, made by scipy/two_cones.py. Transfer impedance: mean pressure")
    print("# on the second over the flow of the first into the cavity, e^{+jwt}.")
    hz = [50.0, 200.0, 430.0, 476.0, 700.0, 1000.0, 1150.0, 1500.0, 2200.0, 3000.0]
    slab, two = (0.36, 0.24, 0.034), [(0.18, 0.095, 0.0348), (0.18, 0.18, 0.015)]
    rigid_row("slab", slab, two, 0.02, hz, (30, 20, 3), 2e-4)
    rigid_row("corner", (0.30, 0.21, 0.025), [(0.07, 0.08, 0.04), (0.24, 0.15, 0.0125)], 0.02, hz, (30, 20, 3), 2e-4)
    box = dict(outline=slab, discs=two, eta_air=0.02, elements=(32, 24), frequency_hz=hz[:8])
    moved_row("al15-back", dict(box, plate=aluminium(1.5e-3, 0.05)), 0.01)
