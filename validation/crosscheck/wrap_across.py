"""How a wound string answers a field across it: its turns one by one, against smooth rings of several laws.

Usage: pip install scikit-fem netgen-mesher; python wrap_across.py [FINENESS]
       FINENESS multiplies every size (1)
Nothing is shared with Lodestring. Every turn is a ring of its own about a round core, the gap between turns, and
between turn and core, a share of the wire's diameter; permeabilities are constant. SI; lengths in mm.

The field H_0 across is that of the scalar potential -H_0 r cos theta far away, so that phi = u(r, z) cos theta with

    integral of mu (r du/dr dw/dr + r du/dz dw/dz + u w / r) = 0

over half a pitch, mirrored at both ends; beyond the last mm it goes on as (-r + c/r), H_0 = 1, which closes the
domain with r du/dr = -2 r - u. Printed is the dipole c over that of an endlessly permeable cylinder of the gauge.
A ring of isotropic mu_2 about a core of mu_1 has c/R^2 = (mu - 1)/(mu + 1), mu = mu_2 (1 - x)/(1 + x),
x = (mu_2 - mu_1)/(mu_2 + mu_1) (a/R)^2.
"""
import json
import sys

import numpy as np
from netgen.occ import Glue, OCCGeometry, WorkPlane
from skfem import Basis, BilinearForm, ElementTriP2, FacetBasis, LinearForm, MeshTri, condense, solve

INCH_MM = 25.4
MU_CORE = 101
ROW_FACTOR = 0.042


def half_pitch(core, gauge, gap, fineness):
    """Radii. The mesh of half a pitch, the name of each triangle, and how far it reaches."""
    wire = (gauge - core) / (1 + gap)
    pitch, far = wire * (1 + gap), core + 4 * wire

    def box(inner, outer):
        return WorkPlane().MoveTo(inner, 0).Rectangle(outer - inner, pitch / 2).Face()

    turn = WorkPlane().Circle(gauge - wire / 2, 0, wire / 2).Face() * box(0, far)
    faces = [(turn, "turn", wire / 14), (box(0, core), "core", wire / 10),
             (box(core, core + 1.5 * wire) - turn, "air", wire / 16), (box(core + 1.5 * wire, far), "air", wire / 6)]
    for face, name, size in faces:
        face.name, face.maxh = name, size * fineness
    mesh = OCCGeometry(Glue([face for face, _, _ in faces]), dim=2).GenerateMesh(maxh=wire, grading=0.3)
    elements = mesh.Elements2D().NumPy()
    names = [mesh.GetMaterial(i + 1) for i in range(elements["index"].max())]
    t = np.ascontiguousarray(elements["nodes"][:, :3].T.astype(np.int64)) - 1
    return MeshTri(np.ascontiguousarray(mesh.Coordinates().T[:2]), t), np.array(names)[elements["index"] - 1], far


@BilinearForm
def stiffness(u, w, p):
    r = p.x[0]
    return p.mu * (r * (u.grad[0] * w.grad[0] + u.grad[1] * w.grad[1]) + u * w / r)


@BilinearForm
def beyond(u, w, _):
    return u * w


@LinearForm
def laid_on(w, p):
    return -2 * p.x[0] * w


def turn_by_turn(core, gauge, gap, mu_turn, fineness):
    mesh, names, far = half_pitch(core, gauge, gap, fineness)
    basis = Basis(mesh, ElementTriP2(), intorder=6)
    mu = np.select([names == "core", names == "turn"], [MU_CORE, mu_turn], 1.0)[:, None] * np.ones(basis.dx.shape)
    rim = FacetBasis(mesh, ElementTriP2(), facets=mesh.facets_satisfying(lambda x: abs(x[0] - far) < 1e-9))
    matrix = stiffness.assemble(basis, mu=mu) + beyond.assemble(rim)
    axis = basis.get_dofs(lambda x: x[0] < 1e-9).all()
    u = solve(*condense(matrix, laid_on.assemble(rim), D=axis))
    mean = (np.asarray(rim.interpolate(u)) * rim.dx).sum() / rim.dx.sum()
    return (mean + far) * far / gauge**2


def ring(core, gauge, mu):
    x = (mu - MU_CORE) / (mu + MU_CORE) * (core / gauge) ** 2
    mu *= (1 - x) / (1 + x)
    return (mu - 1) / (mu + 1)


def main():
    fineness = float(sys.argv[1]) if len(sys.argv) > 1 else 1.0
    share = np.pi / 4
    for name, gauge, core in (("E2", 0.046, 0.017), ("A2", 0.036, 0.016), ("D3", 0.026, 0.014)):
        core, gauge = core * INCH_MM / 2, gauge * INCH_MM / 2
        for chi in (59, 99, 149):
            numbers = {"turns, gap %g" % gap: turn_by_turn(core, gauge, gap, 1 + chi, fineness)
                       for gap in (0.003, 0.01, 0.03)}
            numbers["ring of a row of turns"] = ring(core, gauge, 1 + share * chi / (1 + ROW_FACTOR * chi))
            numbers["ring diluted to the wire's share"] = ring(core, gauge, 1 + share * chi)
            numbers["ring of the wire's own law"] = ring(core, gauge, 1 + chi)
            print(json.dumps({f"{name}, susceptibility {chi}": numbers}, indent=1, default=float))


if __name__ == "__main__":
    main()
