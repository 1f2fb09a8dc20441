"""How a wound string answers a field across it: turns one by one against a smooth ring with a law of its own.

Usage: pip install scikit-fem netgen-mesher; python wrap_across.py
"""
import json
import numpy as np
from netgen.occ import Glue, OCCGeometry, WorkPlane
from skfem import Basis, BilinearForm, ElementTriP2, MeshTri, condense, solve, asm

INCH = 25.4

def cell(core, wire, gap, far, fine):
    pitch = wire * (1 + gap)
    box = lambda r0, r1: WorkPlane().MoveTo(r0, 0).Rectangle(r1 - r0, pitch / 2).Face()
    turn = WorkPlane().Circle(core + gap*wire + wire / 2, 0, wire / 2).Face() * box(0, far)
    inner = box(0, core)
    near = box(core, core + 1.5 * wire) - turn
    rest = box(core + 1.5 * wire, far)
    for f, n, h in ((turn, "turn", wire / 14), (inner, "core", wire / 10), (near, "air", wire / 16), (rest, "air", wire/6)):
        f.name = n; f.maxh = h * fine
    mesh = OCCGeometry(Glue([inner, turn, near, rest]), dim=2).GenerateMesh(maxh=wire, grading=0.3)
    el = mesh.Elements2D().NumPy()
    names = [mesh.GetMaterial(i + 1) for i in range(el["index"].max())]
    t = np.ascontiguousarray(el["nodes"][:, :3].T.astype(np.int64)) - 1
    return MeshTri(np.ascontiguousarray(mesh.Coordinates().T[:2]), t), np.array(names)[el["index"] - 1]

def dipole(core, wire, gap, mu_core, mu_wrap, fine=1.0):
    """beta: dipole over that of an endlessly permeable cylinder of the gauge, far boundary exact m=1."""
    gauge = core + wire
    far = core + 4 * wire
    m, region = cell(core, wire, gap, far, fine)
    b = Basis(m, ElementTriP2(), intorder=6)
    mu = np.where(region == "core", mu_core, np.where(region == "turn", mu_wrap, 1.0))[:, None]
    @BilinearForm
    def k(u, v, w):
        r = w.x[0]
        return w.mu * (r * (u.grad[0] * v.grad[0] + u.grad[1] * v.grad[1]) + u * v / np.maximum(r, 1e-12))
    K = k.assemble(b, mu=mu * np.ones(b.dx.shape))
    # outside r > far: phi = -r + c/r; Robin: dphi/dr = -1 - c/r^2, c = (phi + r) r -> dphi/dr = -2 - phi/far
    fb = m.facets_satisfying(lambda x: np.abs(x[0] - far) < 1e-9)
    from skfem import FacetBasis, LinearForm
    F = FacetBasis(m, ElementTriP2(), facets=fb)
    @BilinearForm
    def rob(u, v, w): return u * v          # r/far
    @LinearForm
    def load(v, w): return -2 * w.x[0] * v
    K = K + rob.assemble(F); f = load.assemble(F)
    axis = b.get_dofs(lambda x: x[0] < 1e-9).all()
    phi = solve(*condense(K, f, D=axis))
    edge = b.get_dofs(lambda x: np.abs(x[0] - far) < 1e-9)
    # mean over z at far, m=0 harmonic in z dominates
    mean = np.asarray(F.interpolate(phi)); mean = (mean * F.dx).sum() / F.dx.sum()
    return (mean + far) * far / (core + wire) ** 2

def ring(core, wire, mu_core, mu_r, mu_phi):
    g = core + wire
    k = np.sqrt(mu_phi / mu_r); s = np.sqrt(mu_phi * mu_r)
    # ring: phi = A r^k + B r^-k ; core A0 r
    q = (mu_core - s) / (mu_core + s)   # B a^-k = -q A a^k ... flux continuity: s(Aa^k - Ba^-k) = mu_core (Aa^k+Ba^-k)
    x = -q * (core / g) ** (2 * k)
    eff = s * (1 - x) / (1 + x)
    return (eff - 1) / (eff + 1)

for name, (gauge, core) in {"E2": (.046, .017), "A2": (.036, .016), "D3": (.026, .014)}.items():
    D, c = gauge * INCH / 2, core * INCH / 2
    w = D - c
    for chi in (59, 149, 10):
        f = np.pi / 4
        row = lambda n: 1 + f * chi / (1 + n * chi)
        muphi = 1 + f * chi
        mur = 1 / (1 - f * chi / (1 + 0.958 * chi))
        out = {"full": ring(c, w, 101, 1 + chi, 1 + chi), "diluted": ring(c, w, 101, muphi, muphi),
               "row": ring(c, w, 101, row(.042), row(.042)), "aniso": ring(c, w, 101, mur, muphi)}
        for gap in (0.003, 0.01, 0.03):
            out[f"turns gap {gap}"] = dipole(c, w, gap, 101, 1 + chi)
        out["turns fine .01"] = dipole(c, w, 0.01, 101, 1 + chi, 0.5)
        out["core alone"] = ring(c, w, 101, 1, 1)
        print(name, chi, {k: round(float(v), 4) for k, v in out.items()}, flush=True)
