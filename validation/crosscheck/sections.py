"""Solves shipped sections (../../meshes) on their non-linear laws with scikit-fem and prints the numbers.

Usage: pip install scikit-fem netgen-mesher; python sections.py [NAME ..] [FINENESS]
       NAME: six-rods, twin-blade, steel-poles-plate, steel-pole-disc; FINENESS multiplies every size (1)
Nothing is shared with Lodestring but the data of the grades: the shapes are written out below, cut into straight
triangles by the advancing-front mesher Netgen out to 3 m, the field is of second order (7 unknowns to an edge and
its neighbours, none of them curved), and Newton's method halves its steps. SI; mm where the name says so.

Planar, A = A_z, B = (dA/dy, -dA/dx); axisymmetric, v = A_phi/r, B = (-r dv/dz, 2 v + r dv/dr).
Find the field so that the integral of H(B) . B(w) [r] vanishes for all w.

steel      the curve published with TEAM benchmark problem 13 (steel.py)
magnets    along the charge the laws of rods.py, across it B = mu_0 mu_rec H; with strings brought in, the recoil
           line from the lowest point that was reached without them
strings    B = mu_0 H + J_s H/(J_s/(mu_0 chi) + H); a hexagonal core stands as the round one of its area, a wrap
           as the ring from there to the gauge, with the law of a layer of turns that fills the share f of it:
           M = f M_w(H_w), H = H_w + 0.042 M_w (wrap_across.py holds that against turns one by one)
pull       F = - integral T . grad w over a ring of air: w = 1 on the string, 0 beyond the ring
"""
import json
import sys

import numpy as np
from netgen.occ import Glue, OCCGeometry, WorkPlane, gp_Dir, gp_Pnt
from scipy.sparse.linalg import splu
from skfem import Basis, BilinearForm, ElementTriP1, ElementTriP2, LinearForm, MeshTri

from crosscheck import MM, MU_0
from rods import STRAIGHT, four_data, straight
from steel import steel

FAR_MM = 3000.0

# --- laws: |B| (or B along the charge) to H and dH/dB -----------------------------------------------------------

def froehlich(saturation, initial, half=None):
    half = half or saturation / (MU_0 * (initial - 1))

    def law(size):
        # mu_0 H^2 + (mu_0 c + J_s - B) H - B c = 0
        q = MU_0 * half + saturation - size
        h = (-q + np.sqrt(q * q + 4 * MU_0 * half * size)) / (2 * MU_0)
        return h, 1 / (MU_0 + saturation * half / (half + h) ** 2)
    return law


def turns(saturation, initial, share, factor=0.042):
    """A layer of turns: mu_0 H_w + (f + N) J_w(H_w) = B, then H = H_w + N J_w(H_w)/mu_0."""
    total = share + factor
    in_wire = froehlich(total * saturation, None, saturation / (MU_0 * (initial - 1)))

    def law(size):
        h, slope = in_wire(size)
        return h + factor / total * (size / MU_0 - h), slope + factor / total * (1 / MU_0 - slope)
    return law


SOFT = {"steel": steel(), "music wire": froehlich(2.03, 101)}


class Magnet:
    """A magnet along its charge; `lowest` holds (H, B) per quadrature point once it remembers."""

    def __init__(self, name, axis):
        if name in STRAIGHT:
            self.major, self.recoil = straight(name)
        else:
            self.major, self.recoil = four_data(name)
        self.axis = np.array(axis, float)
        self.lowest = None

    def along(self, b):
        h, slope = self.major(b)
        if self.lowest is None:
            return h, slope
        h_k, b_k = self.lowest
        up = b > b_k
        return (np.where(up, h_k + (b - b_k) / (MU_0 * self.recoil), h),
                np.where(up, 1 / (MU_0 * self.recoil), slope))


# --- shapes, mm -------------------------------------------------------------------------------------------------

def polygon(points):
    plane = WorkPlane().MoveTo(*points[0])
    for point in points[1:]:
        plane.LineTo(*point)
    return plane.Close().Face()


def box(left, right, bottom, top, bevel=0.0, low=True):
    """A rectangle, its corners cut off by `bevel`, the lower ones too where `low`."""
    if not bevel:
        return polygon([(left, bottom), (right, bottom), (right, top), (left, top)])
    upper = [(right, top - bevel), (right - bevel, top), (left + bevel, top), (left, top - bevel)]
    if not low:
        return polygon([(left, bottom), (right, bottom), *upper])
    return polygon([(left, bottom + bevel), (left + bevel, bottom), (right - bevel, bottom), (right, bottom + bevel),
                    *upper])


def round_top(left, right, bottom, top, radius):
    """A rectangle with its two upper corners rounded."""
    turn = np.linspace(0, np.pi / 2, 25)
    right_arc = [(right - radius + radius * np.cos(t), top - radius + radius * np.sin(t)) for t in turn]
    left_arc = [(left + radius - radius * np.sin(t), top - radius + radius * np.cos(t)) for t in turn]
    return polygon([(left, bottom), (right, bottom), *right_arc, *left_arc])


def circle(x, y, radius, sides):
    """A regular polygon of the circle's area."""
    turn = 2 * np.pi * (np.arange(sides) + 0.5) / sides
    radius = radius * np.sqrt(2 * np.pi / sides / np.sin(2 * np.pi / sides))
    return polygon([(x + radius * np.cos(t), y + radius * np.sin(t)) for t in turn])


def triangles(faces, round_, fineness):
    """faces: (name, face, largest side inside, side at its corners). Points m, triangles, name of each."""
    for name, face, inner, corner in faces:
        face.name = name
        face.maxh = inner * fineness
        for vertex in face.vertices:
            vertex.maxh = corner * fineness
    world = WorkPlane().Circle(0, 0, FAR_MM).Face()
    if round_:
        world = world * box(0, FAR_MM, -FAR_MM, FAR_MM)
    near = box(0 if round_ else -60, 60, -50, 40)
    near.name, near.maxh = "air", 1.0 * fineness
    for _, face, _, _ in faces:
        near = near - face
        world = world - face
    world = world - near
    near.name = world.name = "air"
    glued = Glue([face for _, face, _, _ in faces] + [near, world])
    mesh = OCCGeometry(glued, dim=2).GenerateMesh(maxh=300 * fineness, grading=0.18)
    elements = mesh.Elements2D().NumPy()
    names = [mesh.GetMaterial(i + 1) for i in range(elements["index"].max())]
    t = np.ascontiguousarray(elements["nodes"][:, :3].T.astype(np.int64)) - 1
    return MeshTri(np.ascontiguousarray(mesh.Coordinates().T[:2]) * MM, t), np.array(names)[elements["index"] - 1]


# --- the field --------------------------------------------------------------------------------------------------

class Section:
    """A meshed section: laws by the name of the region, the rest is air."""

    def __init__(self, faces, round_, laws, fineness):
        self.round = round_
        self.mesh, self.region = triangles(faces, round_, fineness)
        self.basis = Basis(self.mesh, ElementTriP2(), intorder=4)
        self.x = np.asarray(self.basis.global_coordinates())
        self.laws = laws
        self.at = {name: self.region == name for name in laws}
        far = FAR_MM * MM
        self.fixed = self.basis.get_dofs(lambda p: np.hypot(p[0], p[1]) > far * (1 - 1e-3)).all()
        self.free = np.setdiff1d(np.arange(self.basis.N), self.fixed)
        round_ = self.round

        def flux(u, p):
            if round_:
                return -p.x[0] * u.grad[1], 2 * u + p.x[0] * u.grad[0]
            return u.grad[1], -u.grad[0]

        self.flux = flux

        @BilinearForm
        def tangent(u, w, p):
            (ux, uy), (wx, wy) = flux(u, p), flux(w, p)
            k = p.xx * ux * wx + p.xy * (ux * wy + uy * wx) + p.yy * uy * wy
            return k * (p.x[0] if round_ else 1)

        @LinearForm
        def residual(w, p):
            wx, wy = flux(w, p)
            return (p.hx * wx + p.hy * wy) * (p.x[0] if round_ else 1)

        self.tangent, self.residual = tangent, residual

    def flux_density(self, u):
        """At the quadrature points, [2, elements, points]."""
        grad = np.asarray(self.basis.interpolate(u).grad)
        if self.round:
            value = np.asarray(self.basis.interpolate(u))
            return np.array([-self.x[0] * grad[1], 2 * value + self.x[0] * grad[0]])
        return np.array([grad[1], -grad[0]])

    def respond(self, b, strings):
        """H and the slopes dH/dB (xx, xy, yy) at B; regions called `string ..` are air unless their last word is
        one of `strings`."""
        h, slope = b / MU_0, [np.full(b.shape[1:], 1 / MU_0), np.zeros(b.shape[1:]), np.full(b.shape[1:], 1 / MU_0)]
        for name, law in self.laws.items():
            at = self.at[name]
            own = b[:, at]
            if isinstance(law, Magnet):
                x, y = law.axis
                across = 1 / (MU_0 * law.recoil)
                b_along, b_across = x * own[0] + y * own[1], -y * own[0] + x * own[1]
                h_along, along = law.along(b_along)
                h[:, at] = np.array([x * h_along - y * across * b_across, y * h_along + x * across * b_across])
                new = (along * x * x + across * y * y, (along - across) * x * y, along * y * y + across * x * x)
            else:
                if name.startswith("string") and name.split()[-1] not in strings:
                    continue
                size = np.maximum(np.hypot(*own), 1e-12)
                strength, along = (SOFT[law] if isinstance(law, str) else law)(size)
                nu = strength / size
                unit = own / size
                h[:, at] = nu * own
                new = tuple(nu * (i == j) + (along - nu) * unit[i] * unit[j] for i, j in ((0, 0), (0, 1), (1, 1)))
            for k in range(3):
                slope[k][at] = new[k]
        return h, slope

    def solve(self, u=None, strings=(), target=1e-10):
        """The unknowns by Newton's method; starts at `u`, or at nothing."""
        u = np.zeros(self.basis.N) if u is None else u.copy()
        free = self.free

        def state(u):
            h, slope = self.respond(self.flux_density(u), strings)
            load = self.residual.assemble(self.basis, hx=h[0], hy=h[1])
            return load[free], slope

        load, slope = state(u)
        first = np.linalg.norm(state(np.zeros_like(u))[0])
        for _ in range(80):
            matrix = self.tangent.assemble(self.basis, xx=slope[0], xy=slope[1], yy=slope[2])
            step = np.zeros_like(u)
            cut = matrix[free][:, free].tocsc()
            step[free] = -splu(cut, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0,
                               options={"SymmetricMode": True}).solve(load)
            length, downhill = 1.0, load @ step[free]
            while True:
                new, slope = state(u + length * step)
                if abs(new @ step[free]) <= 0.9 * abs(downhill) or length < 1e-3:
                    break
                length /= 2
            u, load = u + length * step, new
            if np.linalg.norm(load) <= target * first:
                return u
        raise SystemExit("Newton's method did not converge")

    def remember(self, u):
        """The magnets' lowest points are those of this field."""
        b = self.flux_density(u)
        for name, law in self.laws.items():
            if isinstance(law, Magnet):
                own = b[:, self.at[name]]
                along = law.axis @ own.reshape(2, -1)
                along = along.reshape(own.shape[1:])
                law.lowest = (law.major(along)[0], along)

    # --- numbers ---

    def weights(self):
        return self.basis.dx * (2 * np.pi * self.x[0] if self.round else 1)

    def linkage(self, u, turns, windows):
        """windows: (name of the region, sense). Wb/m, or Wb round an axis."""
        value = np.asarray(self.basis.interpolate(u)) * (self.x[0] if self.round else 1)
        at = [(self.region == name, sense) for name, sense in windows]
        area = sum(self.basis.dx[where].sum() for where, _ in at)
        # All windows wound alike: the turns share the area of one sense.
        area /= 1 if self.round else 2
        return turns / area * sum(sense * (value * self.weights())[where].sum() for where, sense in at)

    def upward_flux(self, u, name):
        """Mean over the height of a part: the integral of B_y over its section, over its height."""
        at = self.region == name
        points = self.mesh.p[1][self.mesh.t[:, at]]
        total = (self.flux_density(u)[1] * self.weights())[at].sum()
        return total / (points.max() - points.min())

    def at_point(self, u, x_mm, y_mm):
        """Flux density at a point of the air. In a plane the mean over a disc about it, which is that at its
        middle (every component of B is harmonic in air) and evens out the steps between triangles."""
        if self.round:
            places = np.array([[1e-9], [y_mm * MM + 1e-9]])
        else:
            rings, spokes = (np.arange(8) + 0.5) / 8, 2 * np.pi * np.arange(24) / 24
            r, t = np.meshgrid(0.4 * MM * np.sqrt(rings), spokes)
            places = np.array([x_mm * MM + (r * np.cos(t)).ravel(), y_mm * MM + (r * np.sin(t)).ravel()])
        cells = self.mesh.element_finder()(*places)
        local = self.mesh.mapping().invF(places[:, :, None], tind=cells)
        where = type("At", (), {"x": places[:, :, None]})
        b = np.zeros(2)
        for i in range(self.basis.Nbfun):
            one = self.basis.elem.gbasis(self.basis.mapping, local, i, tind=cells)[0]
            value = u[self.basis.element_dofs[i, cells]]
            b += [np.mean(value * np.ravel(part)) for part in self.flux(one, where)]
        return b

    def pull(self, u, x_mm, y_mm, inner_mm, outer_mm):
        """Pull on what lies within `inner_mm` of a point, air from there to `outer_mm`. N/m, planar."""
        away = np.hypot(self.mesh.p[0] - x_mm * MM, self.mesh.p[1] - y_mm * MM) / MM
        weight = np.clip((outer_mm - away) / (outer_mm - inner_mm), 0, 1)
        linear = Basis(self.mesh, ElementTriP1(), quadrature=self.basis.quadrature)
        gx, gy = np.asarray(linear.interpolate(weight).grad)
        bx, by = self.flux_density(u)
        t = np.array([[bx * bx - by * by, 2 * bx * by], [2 * bx * by, by * by - bx * bx]]) / (2 * MU_0)
        return [-float(((t[i, 0] * gx + t[i, 1] * gy) * self.basis.dx).sum()) for i in range(2)]


# --- the sections -----------------------------------------------------------------------------------------------

def six_rods(fineness):
    inch = 25.4
    centres = [10.5 * (k - 2.5) for k in range(6)]
    faces = [(f"rod {k + 1}", box(x - 2.4, x + 2.4, -17, 0, 0.3), 0.6, 0.06) for k, x in enumerate(centres)]
    laws = {f"rod {k + 1}": Magnet("alnico 5", (0, 1)) for k in range(6)}
    faces += [("left window", box(-33.1, -29.1, -13.5, -2.5), 1.5, 1.0),
              ("right window", box(29.1, 33.1, -13.5, -2.5), 1.5, 1.0)]
    gauges = [(0.046, 0.017, 2.6), (0.036, 0.016, 2.5), (0.026, 0.014, 2.4), (0.017, None, 2.3), (0.013, None, 2.2),
              (0.010, None, 2.1)]
    places = {}
    for x, (gauge, core, gap), name in zip(centres, gauges, ("E2", "A2", "D3", "G3", "B3", "E4")):
        radius = gauge * inch / 2
        y = gap + radius
        places[name] = (x, y, radius)
        side = 0.1 * radius
        outer = circle(x, y, radius, 64)
        if core:
            hexagon = np.sqrt(3) / 2 * (core * inch) ** 2
            wire = (gauge - core) * inch / 2
            share = np.pi**2 / 4 * wire * (core * inch + wire) / (np.pi * radius**2 - hexagon)
            inner = circle(x, y, np.sqrt(hexagon / np.pi), 48)
            faces += [(f"string {name} core", inner, 2 * side, side), (f"string {name} wrap", outer - inner, 2 * side, side)]
            laws[f"string {name} core"], laws[f"string {name} wrap"] = "music wire", turns(0.61, 60, share)
        else:
            faces.append((f"string {name} core", outer, 2 * side, side))
            laws[f"string {name} core"] = "music wire"
    section = Section(faces, False, laws, fineness)
    windows = [("left window", -1), ("right window", 1)]
    without = section.solve()
    numbers = {"unknowns": section.basis.N,
               "linkage_without Wb/m": section.linkage(without, 7600, windows)}
    for name, (x, y, _) in places.items():
        numbers[f"{name} without T"] = list(section.at_point(without, x, y))
    section.remember(without)
    # Lodestring has cores and wraps; what cores would do alone is printed beside it.
    for what, strings in (("cores", ("core",)), ("cores and wraps", ("core", "wrap"))):
        field = section.solve(without, strings)
        numbers[f"{what}: linkage rise Wb/m"] = section.linkage(field, 7600, windows) - numbers["linkage_without Wb/m"]
        for k in range(6):
            numbers[f"{what}: rod {k + 1} Wb/m"] = section.upward_flux(field, f"rod {k + 1}")
        for name, (x, y, radius) in places.items():
            numbers[f"{what}: {name} pull N/m"] = section.pull(field, x, y, 1.15 * radius, 3 * radius)
    return numbers


def twin_blade(fineness):
    faces = [("left blade", round_top(-10.5, -7.5, -14, 0, 0.5), 0.5, 0.04),
             ("right blade", round_top(7.5, 10.5, -14, 0, 0.5), 0.5, 0.04),
             ("bar", box(-7.5, 7.5, -14, -11), 0.5, 0.04)]
    windows = []
    for k, (left, right, sense) in enumerate([(-14.6, -10.9, 1), (-7.1, -3.4, -1), (3.4, 7.1, -1), (10.9, 14.6, 1)]):
        faces.append((f"window {k}", box(left, right, -10, -1.5), 1.0, 0.5))
        windows.append((f"window {k}", sense))
    section = Section(faces, False, {"left blade": "steel", "right blade": "steel", "bar": Magnet("alnico 5", (1, 0))},
                      fineness)
    u = section.solve()
    return {"unknowns": section.basis.N, "linkage_without Wb/m": section.linkage(u, 10000, windows),
            "left blade Wb/m": section.upward_flux(u, "left blade"),
            "right blade Wb/m": section.upward_flux(u, "right blade"),
            "over the left blade T": list(section.at_point(u, -9, 2.7)),
            "over the right blade T": list(section.at_point(u, 9, 2.7))}


def steel_poles_plate(fineness):
    faces = [("pole", box(-2.4, 2.4, -14, 0, 0.5, low=False), 0.5, 0.04),
             ("bar", box(-6.35, 6.35, -19, -14, 0.4), 0.5, 0.04),
             ("plate", box(-17, 17, -20.5, -19), 0.5, 0.04),
             ("left window", box(-6.8, -2.8, -12.5, -2), 1.0, 0.5),
             ("right window", box(2.8, 6.8, -12.5, -2), 1.0, 0.5)]
    section = Section(faces, False, {"pole": "steel", "plate": "steel", "bar": Magnet("ferrite 8", (0, 1))}, fineness)
    u = section.solve()
    numbers = {"unknowns": section.basis.N,
               "linkage_without Wb/m": section.linkage(u, 8500, [("left window", 1), ("right window", -1)])}
    for name in ("pole", "bar", "plate"):
        numbers[f"{name} Wb/m"] = section.upward_flux(u, name)
    numbers["2.5 mm over the pole T"] = list(section.at_point(u, 0, 2.5))
    numbers["string T"] = list(section.at_point(u, 0, 2.5 + 0.017 * 25.4 / 2))
    return numbers


def steel_pole_disc(fineness):
    # The dome: a circle through (-2.4, -0.6), (0, 0), (2.4, -0.6).
    radius = (2.4**2 + 0.6**2) / (2 * 0.6)
    half = np.arcsin(2.4 / radius)
    dome = [(radius * np.sin(t), radius * np.cos(t) - radius) for t in np.linspace(half, 0, 41)]
    faces = [("pole", polygon([(0, -13), (2.4, -13), *dome]), 0.4, 0.04),
             ("disc", box(0, 6, -17, -13), 0.4, 0.04),
             ("plate", box(0, 12, -18.5, -17), 0.4, 0.04),
             ("window", box(2.8, 6.6, -12.5, -2), 1.0, 0.5)]
    section = Section(faces, True, {"pole": "steel", "plate": "steel", "disc": Magnet("ferrite 8", (0, 1))}, fineness)
    u = section.solve()
    numbers = {"unknowns": section.basis.N, "linkage_without Wb": section.linkage(u, 8000, [("window", 1)])}
    for name in ("pole", "disc", "plate"):
        numbers[f"{name} Wb"] = section.upward_flux(u, name)
    for height in np.linspace(0.5, 8, 16):
        numbers[f"{height} mm up T"] = list(section.at_point(u, 0, height))
    return numbers


SECTIONS = {"six-rods": six_rods, "twin-blade": twin_blade, "steel-poles-plate": steel_poles_plate,
            "steel-pole-disc": steel_pole_disc}


def main():
    names = [a for a in sys.argv[1:] if a in SECTIONS] or list(SECTIONS)
    fineness = next((float(a) for a in sys.argv[1:] if a not in SECTIONS), 1.0)
    for name in names:
        print(json.dumps({name: SECTIONS[name](fineness)}, indent=1, default=float))


if __name__ == "__main__":
    main()
