"""Solves lone rod magnets on their demagnetisation curves with scikit-fem and prints the field above them.

Usage: pip install scikit-fem; python rods.py
Nothing is shared with Lodestring but the data of the grades: a graded tensor grid cut into triangles,
second-order elements, Newton's method with halved steps. Units are SI; lengths in mm only where the name
says so.

v = A_phi/r, B = (-r dv/dz, 2 v + r dv/dr). Find v so that the integral of H(B).B(w) r vanishes for all w.
In the rod H_r = B_r / (mu_0 mu_rec), and H_z follows from B_z:
  four data: B = mu_0 m H + B_r (r H_c + H)/(r H_c + a H), with m, r, a found from the coercivity, the
             greatest energy product and the slope at the remanence by Newton's method in three unknowns;
  straight:  B = B_r + mu_0 mu_rec H (ferrite and rare earth far from their knee).
"""
import json

import numpy as np
from scipy.optimize import fsolve, minimize_scalar
from skfem import Basis, BilinearForm, ElementTriP2, LinearForm, MeshTri, condense, solve

from crosscheck import FAR, MM, MU_0, graded, inside

RADIUS_MM, LENGTH_MM = 2.4, 17.0
HEIGHTS_MM = (0.5, 1, 2, 3, 5, 8)

# Remanence T, coercivity A/m, greatest energy product J/m3, recoil permeability.
FOUR_DATA = {
    "alnico 2": (0.75, 45e3, 13.5e3, 6.4),
    "alnico 3": (0.70, 38e3, 10.7e3, 6.5),
    "alnico 5": (1.28, 51e3, 43.8e3, 3.6),
    "alnico 6": (1.05, 62e3, 31.0e3, 5.3),
    "alnico 8": (0.82, 131e3, 42.2e3, 2.0),
}
# Remanence T, recoil permeability.
STRAIGHT = {"ferrite 8": (0.385, 1.05), "SmCo5 18": (0.87, 1.05), "N42": (1.3, 1.05)}


def constants(br, hc, product, recoil):
    """m, r, a of the four-data curve."""
    def curve(h, m, r, a):
        return MU_0 * m * h + br * (r * hc + h) / (r * hc + a * h)

    def off(x):
        m, r, a = x
        best = minimize_scalar(lambda h: h * curve(h, m, r, a), bounds=(-hc, 0), method="bounded",
                               options={"xatol": 1e-9 * hc})
        return (curve(-hc, m, r, a) / br, -best.fun / product - 1,
                (m + br * (1 - a) / (MU_0 * r * hc)) / recoil - 1)

    gamma = product / (br * hc)
    a = (2 * gamma**0.5 - 1) / gamma
    # The plain hyperbola is a way in; what slope it lacks or has too much is laid on the line.
    best = None
    for start_a in (a, 0.5 * (1 + a), 1 - 0.2 * (1 - a), 0.99, 0.995):
        start = (max(0.5, recoil - br * (1 - start_a) / (MU_0 * hc)), 1.02, start_a)
        x, _, status, _ = fsolve(off, start, full_output=True, xtol=1e-12)
        if status == 1 and max(map(abs, off(x))) < 1e-7 and 0 < x[2] < 1:
            best = x
    if best is None:
        raise SystemExit(f"no curve for {br, hc, product, recoil}")
    return best


def four_data(name):
    """H and dH/dB as functions of B along the charge."""
    br, hc, product, recoil = FOUR_DATA[name]
    m, r, a = constants(br, hc, product, recoil)

    def h_of_b(b):
        # (B - mu0 m H)(r Hc + a H) = Br (r Hc + H): the root on the branch through the remanence.
        q2, q1 = -MU_0 * m * a, a * b - MU_0 * m * r * hc - br
        q0 = (b - br) * r * hc
        h = (-q1 - np.sqrt(q1 * q1 - 4 * q2 * q0)) / (2 * q2)
        slope = MU_0 * m + br * r * hc * (1 - a) / (r * hc + a * h) ** 2
        above = b > br
        return (np.where(above, (b - br) / (MU_0 * recoil), h),
                np.where(above, 1 / (MU_0 * recoil), 1 / slope))

    return h_of_b, recoil


def straight(name):
    """H and dH/dB as functions of B along the charge."""
    br, recoil = STRAIGHT[name]
    return (lambda b: ((b - br) / (MU_0 * recoil), np.full_like(b, 1 / (MU_0 * recoil)))), recoil


def flux(u, r):
    return -r * u.grad[1], 2 * u + r * u.grad[0]


@BilinearForm
def tangent(u, w, p):
    (ur, uz), (wr, wz) = flux(u, p.x[0]), flux(w, p.x[0])
    return (p.across * ur * wr + p.along * uz * wz) * p.x[0]


@LinearForm
def residual(w, p):
    wr, wz = flux(w, p.x[0])
    return (p.hr * wr + p.hz * wz) * p.x[0]


def run(law, finest_mm):
    """Flux density on the axis at the heights, T."""
    h_of_b, recoil = law
    far = FAR / MM
    grid = (graded([RADIUS_MM], finest_mm, 0, far), graded([-LENGTH_MM, 0], finest_mm, -far, far))
    mesh = MeshTri.init_tensor(*grid)
    basis = Basis(mesh, ElementTriP2(), intorder=6)
    x = basis.global_coordinates().value
    rod = inside(x, (-1, RADIUS_MM, -LENGTH_MM, 0))
    across = np.where(rod, 1 / (MU_0 * recoil), 1 / MU_0)
    fixed = basis.get_dofs(lambda p: (np.abs(np.abs(p[1]) - FAR) < 1e-12) | (np.abs(p[0] - FAR) < 1e-12))
    v = np.zeros(basis.N)

    def state(v):
        br, bz = flux(basis.interpolate(v), x[0])
        h, slope = h_of_b(np.asarray(bz))
        hz = np.where(rod, h, np.asarray(bz) / MU_0)
        along = np.where(rod, slope, 1 / MU_0)
        load = residual.assemble(basis, hr=across * np.asarray(br), hz=hz)
        load[fixed] = 0
        return load, along

    load, along = state(v)
    first = np.linalg.norm(load)
    for _ in range(60):
        step = solve(*condense(tangent.assemble(basis, across=across, along=along), -load, D=fixed))
        length, slope = 1.0, load @ step
        while length > 1e-4:
            new, along = state(v + length * step)
            if abs(new @ step) <= 0.9 * abs(slope):
                break
            length /= 2
        v, load = v + length * step, new
        if np.linalg.norm(load) < 1e-10 * first:
            break
    else:
        raise SystemExit("Newton's method did not converge")
    values = []
    for height in HEIGHTS_MM:
        point = np.array([[1e-9], [height * MM + 1e-9]])
        cell = mesh.element_finder()(*point)
        local = mesh.mapping().invF(point[:, :, None], tind=cell)
        bz = 0.0
        for i in range(basis.Nbfun):
            one = basis.elem.gbasis(basis.mapping, local, i, tind=cell)[0]
            bz += v[basis.element_dofs[i, cell[0]]] * flux(one, point[0][:, None])[1].item()
        values.append(round(bz, 7))
    return values


def main():
    for name in FOUR_DATA:
        law = four_data(name)
        print(json.dumps({name: run(law, 0.05), "coarser": run(law, 0.1)}))
    for name in STRAIGHT:
        law = straight(name)
        print(json.dumps({name: run(law, 0.05), "coarser": run(law, 0.1)}))


if __name__ == "__main__":
    main()
