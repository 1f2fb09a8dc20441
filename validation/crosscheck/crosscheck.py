"""Solves two sections with scikit-fem, a general finite-element library, and prints the numbers.

Usage: pip install scikit-fem; python crosscheck.py
Nothing is shared with Lodestring: graded tensor grids cut into triangles, second-order elements, and
the weak form written out below. Units are SI; lengths in mm only where the name says so.

Planar, A = A_z, B = (dA/dy, -dA/dx):       integral nu B(A).B(w) = integral J w + nu Br.B(w)
Axisymmetric, v = A_phi/r, B = (-r dv/dz, 2 v + r dv/dr): the same with the weight r and J r w.
"""
import json

import numpy as np
from skfem import Basis, BilinearForm, ElementTriP2, LinearForm, MeshTri, condense, solve

MU_0 = 1.25663706127e-6
MM = 1e-3
FAR = 400 * MM


def graded(breaks_mm, finest_mm, low_mm, high_mm):
    """Coordinates through all breakpoints, `finest_mm` beside each, growing by 1.25 away from them."""
    ends = sorted({low_mm, *breaks_mm, high_mm})
    points = [ends[0]]
    for a, b in zip(ends, ends[1:]):
        steps, h, left = [], finest_mm, b - a
        both = a in breaks_mm and b in breaks_mm
        room = left / 2 if both else left
        while sum(steps) + h < room:
            steps.append(h)
            h *= 1.25
        steps.append(room - sum(steps))
        scale = room / sum(steps)
        steps = [s * scale for s in steps]
        if both:
            steps = steps + steps[::-1]
        elif b in breaks_mm:
            steps = steps[::-1]
        points += list(a + np.cumsum(steps))
        points[-1] = b
    return np.array(points) * MM


def inside(x, box_mm):
    """Where the points x, [2, ...], lie in the box (left, right, bottom, top)."""
    left, right, bottom, top = (v * MM for v in box_mm)
    return (x[0] > left) & (x[0] < right) & (x[1] > bottom) & (x[1] < top)


def run(name, round_, grid, materials, coil, probes_mm):
    """Solves one section.

    materials: (box, relative permeability, remanence along y); coil: turns and (box, sense) each.
    """
    mesh = MeshTri.init_tensor(*grid)
    basis = Basis(mesh, ElementTriP2(), intorder=6)
    x = basis.global_coordinates().value
    nu = np.full(x.shape[1:], 1 / MU_0)
    remanence = np.zeros_like(nu)
    for box, mu_r, br in materials:
        at = inside(x, box)
        nu[at] = 1 / (MU_0 * mu_r)
        remanence[at] = br
    turns, windows = coil
    density = np.zeros_like(nu)
    for box, sense in windows:
        area = (box[1] - box[0]) * (box[3] - box[2]) * MM * MM
        density[inside(x, box)] = sense * turns / area

    def flux(u, r):
        if round_:
            return -r * u.grad[1], 2 * u + r * u.grad[0]
        return u.grad[1], -u.grad[0]

    @BilinearForm
    def stiffness(u, w, p):
        (ux, uy), (wx, wy) = flux(u, p.x[0]), flux(w, p.x[0])
        return p.nu * (ux * wx + uy * wy) * (p.x[0] if round_ else 1)

    @LinearForm
    def magnet(w, p):
        return p.nu * p.br * flux(w, p.x[0])[1] * (p.x[0] if round_ else 1)

    @LinearForm
    def ampere(w, p):
        return p.j * w * (p.x[0] ** 2 if round_ else 1)

    k = stiffness.assemble(basis, nu=nu)
    load_magnet = magnet.assemble(basis, nu=nu, br=remanence)
    load_coil = ampere.assemble(basis, j=density)
    left = grid[0][0]
    fixed = basis.get_dofs(lambda p: (np.abs(p[1] - grid[1][0]) < 1e-12)
                           | (np.abs(p[1] - grid[1][-1]) < 1e-12)
                           | (np.abs(p[0] - grid[0][-1]) < 1e-12)
                           | ((np.abs(p[0] - left) < 1e-12) & (not round_)))
    field = solve(*condense(k, load_magnet, D=fixed))
    per_ampere = solve(*condense(k, load_coil, D=fixed))
    whole = 2 * np.pi if round_ else 1
    result = {"section": name, "unknowns": int(basis.N),
              "linkage_Wb": whole * float(load_coil @ field),
              "inductance_H": whole * float(load_coil @ per_ampere)}
    for what, place in probes_mm.items():
        # Off the grid lines by a hair, so that the point lies in one triangle.
        point = np.array([[place[0] * MM + 1e-9], [place[1] * MM + 1e-9]])
        cell = mesh.element_finder()(*point)
        local = mesh.mapping().invF(point[:, :, None], tind=cell)
        b = np.zeros(2)
        for i in range(basis.Nbfun):
            one = basis.elem.gbasis(basis.mapping, local, i, tind=cell)[0]
            bx, by = flux(one, point[0][:, None])
            b += field[basis.element_dofs[i, cell[0]]] * np.array([bx.item(), by.item()])
        result[what + " T"] = [float(b[0]), float(b[1])]
    return result


def main():
    far = FAR / MM
    blade = run(
        "blade-linear.toml", False,
        (graded([-6, -2.5, -2, 2, 2.5, 6], 0.05, -far, far),
         graded([-16, -12, -11, -1, 0], 0.05, -far, far)),
        [((-2, 2, -12, 0), 200, 0), ((-6, 6, -16, -12), 1.05, 0.4)],
        (6000, [((-6, -2.5, -11, -1), 1), ((2.5, 6, -11, -1), -1)]),
        {"1 mm up": (0, 1), "3 mm up": (0, 3), "aside": (4, 3), "in the blade": (0, -6)})
    print(json.dumps(blade, indent=1))
    rod = run(
        "rod-straight.toml", True,
        (graded([2.4, 3, 7], 0.05, 0, far), graded([-17, -13, -2, 0], 0.05, -far, far)),
        [((0, 2.4, -17, 0), 1.05, 1.2)],
        (7000, [((3, 7, -13, -2), 1)]),
        {"1 mm up": (0, 1), "3 mm up": (0, 3), "aside": (4, 3), "in the rod": (0, -8.5)})
    print(json.dumps(rod, indent=1))


if __name__ == "__main__":
    main()
