"""Solves rows of round poles, and blades, with a string over them wholly in three dimensions.

Usage: pip install ngsolve; python strings_3d.py NAME [FINENESS] [ORDER]   (no NAME: lists the cases)
       python strings_3d.py endless BLADE-20.json BLADE-40.json BLADE-60.json   (outputs of those cases)
Nothing is shared with Lodestring: tetrahedra curved on the cylinders, a reduced scalar potential of second
order (or ORDER), a current sheet T with curl T = J for the coil, the general finite-element library NGSolve
(6.2.2608 for the figures kept here).
Magnets and steel are linear (remanence and permeability). Lengths in mm; newtons, webers, henries, tesla.

    integral mu grad phi . grad v = integral (B_r + mu T) . grad v        H = T - grad phi, B = mu H + B_r
    linkage of the coil   Lambda = integral T . B (per ampere)     inductance: the same of its own field
    pull                  F = - integral T_Maxwell . grad w over a sleeve of air, w = 1 on the string, 0 outside
    change per height     2 F(field of the magnets, field of the coil): reciprocity

x runs along the string, y along the row or the blade, z up from the highest pole's top.
"""
import json
import sys
import time

import numpy as np
from netgen.occ import Box, Cylinder, Glue, OCCGeometry, Sphere, X, Z
from ngsolve import (CF, H1, BilinearForm, CGSolver, GridFunction, IfPos, InnerProduct, Integrate, LinearForm,
                     Mesh, Norm, Preconditioner, SetNumThreads, dx, grad, log, sqrt, x, y, z)

MU_0 = 1.25663706127e-6
FAR = 300.0
HALF_STRING = 40.0
SATURATION = 1.6e6

ROW = dict(kind="row", count=3, pitch=10.5, heights=None, radius=2.4, length=17.0, br=1.2, mu=1.05,
           coil=(3.0, 7.0, -13.0, -2.0), turns=7000, diameter=1.07, axis=3.0, mu_string=200.0, soft=False,
           over=1, offset=0.0)
BLADE = dict(kind="blade", half_length=40.0, width=3.2, height=12.0, mu=1000.0, bar=(12.0, 4.0), br=0.39,
             mu_bar=1.05, coil=(2.0, 5.6, -10.5, -1.5), turns=6000, diameter=1.07, axis=3.0, mu_string=200.0,
             soft=False, over=0, offset=0.0, endless=True)

CASES = {
    "rod": dict(ROW, count=1, over=0),
    "rod-low-soft": dict(ROW, count=1, over=0, axis=2.0, soft=True),
    "rod-20-high-thin": dict(ROW, count=1, over=0, mu=20.0, axis=4.0, diameter=0.43),
    "rod-1000-low": dict(ROW, count=1, over=0, mu=1000.0, axis=2.0),
    "rod-1000-low-thin": dict(ROW, count=1, over=0, mu=1000.0, axis=2.0, diameter=0.43, soft=True),
    "row-hard-middle": dict(ROW),
    "row-middle": dict(ROW, mu=4.0, br=1.28),
    "row-middle-thin": dict(ROW, mu=4.0, br=1.28, diameter=0.43, axis=2.5, soft=True),
    "row-end": dict(ROW, mu=4.0, br=1.28, over=2),
    "row-end-thin": dict(ROW, mu=4.0, br=1.28, over=2, diameter=0.43, axis=2.5, soft=True),
    "row-pushed": dict(ROW, mu=4.0, br=1.28, over=1, offset=3.0),
    "row-soft-middle": dict(ROW, mu=200.0, br=1.2, axis=2.0),
    "row-soft-end": dict(ROW, mu=200.0, br=1.2, over=2, axis=2.0),
    "row-soft-end-thin": dict(ROW, mu=200.0, br=1.2, over=2, axis=3.0, diameter=0.43, soft=True),
    "row-close-end": dict(ROW, mu=200.0, br=1.2, over=2, axis=3.0, pitch=7.5),
    "blade-20": dict(BLADE, axis=2.0, half_length=20.0),
    "blade-40": dict(BLADE, axis=2.0, half_length=40.0),
    "blade-60": dict(BLADE, axis=2.0, half_length=60.0),
}


def shape_of(c, f):
    """The mesh, its materials named, and the outer radius of the sleeve round the string."""
    rs, g, y_s = c["diameter"] / 2, c["axis"], c["y_string"]
    sleeve = min(2.2 * rs, 0.75 * (g - c["tops"][c["over"]]))
    inner, outer, low, high = c["coil"]
    half = 0.5 * c["straight"]

    def stadium(radius, z1, z2):
        if half == 0:
            return Cylinder((0, 0, z1), Z, radius, z2 - z1)
        body = Box((-radius, -half, z1), (radius, half, z2))
        for end in (-half, half):
            body = body + Cylinder((0, end, z1), Z, radius, z2 - z1)
        return body

    if c["endless"]:
        clip = Box((0, 0, -2 * FAR), (2 * FAR, c["half_length"], 2 * FAR))
    else:
        clip = Box((0, 0 if c["mirror"] else -2 * FAR, -2 * FAR), (2 * FAR, 2 * FAR, 2 * FAR))
    string = Cylinder((-1, y_s, g), X, rs, HALF_STRING + 1)
    shell = Cylinder((-1, y_s, g), X, sleeve, HALF_STRING + 3)
    cut = Box((-1, -200, -50), (8, 200, 50))
    string_near, string_far = string * cut, string - cut
    shell_near, shell_far = (shell - string) * cut, (shell - string) - cut
    metal = []
    if c["kind"] == "row":
        for k, (place, top) in enumerate(zip(c["places"], c["tops"])):
            if c["mirror"] and place < -1e-9:
                continue
            pole = Cylinder((0, place, top - c["length"]), Z, c["radius"], c["length"])
            near = abs(place - y_s) < 0.9 * c["pitch"]
            pole.solids.name = "magnet"
            pole.solids.maxh = (0.8 if near else 1.0) * f
            for edge in pole.edges:
                if abs(edge.center.z - top) < 1e-6:
                    edge.maxh = (0.2 if near else 0.5) * f
                elif abs(edge.center.z - top + c["length"]) < 1e-6:
                    edge.maxh = 0.5 * f
            for face in pole.faces:
                if abs(face.center.z - top) < 1e-6:
                    face.maxh = (0.45 if near else 0.8) * f
            metal.append(pole)
        breadth, depth = c["radius"], c["length"]
    else:
        w, h = c["width"], c["height"]
        bw, bh = c["bar"]
        reach = c["half_length"]
        blade = Box((-w / 2, -reach, -h), (w / 2, reach, 0))
        bar = Box((-bw / 2, -reach, -h - bh), (bw / 2, reach, -h))
        blade.solids.name, bar.solids.name = "steel", "magnet"
        close = Box((-1, -6, -100), (100, 6, 100))
        blade_near, blade_far = blade * close, blade - close
        blade_near.solids.maxh, blade_far.solids.maxh, bar.solids.maxh = 0.9 * f, 3.0 * f, 3.0 * f
        for edge in blade_near.edges:
            if abs(edge.center.z) < 1e-6 and abs(abs(edge.center.x) - w / 2) < 1e-6:
                edge.maxh = 0.25 * f
        metal = [blade_near, blade_far, bar]
        breadth, depth = bw / 2, h + bh
    solid = metal[0]
    for part in metal[1:]:
        solid = solid + part
    # T ends on the planes of the coil's faces: no element may lie across them.
    slab = Box((-500, -500, low), (500, 500, high))
    metal = [piece for part in metal for piece in (part * slab, part - slab)]
    bore = stadium(inner, low, high)
    winding = stadium(outer, low, high) - bore
    core = bore - solid
    winding = winding - solid
    zone = Cylinder((0, y_s, -1.4), Z, 6, g + 6.4) - string - shell - solid
    near = stadium(max(outer, breadth) + 4, -depth - 4, 9) - bore - winding - solid - string - shell - zone
    middle = Sphere((0, 0, 0), 60 + 2 * half) - solid - bore - winding - near - zone - string - shell
    far = Sphere((0, 0, 0), FAR) - Sphere((0, 0, 0), 60 + 2 * half) - string - shell - solid - bore - winding - near
    names = [(winding, "coil", 1.6), (core, "core", 0.9), (zone, "air", 0.7), (near, "air", 1.6),
             (middle, "air", 8), (far, "air", 60), (string_near, "string", 0.55 * rs),
             (string_far, "string", 1.2 * rs), (shell_near, "shell", 0.75 * rs), (shell_far, "shell", 1.6 * rs)]
    if c["kind"] == "blade":
        # Nothing changes much along a blade away from the string.
        close = Box((-500, -15, -500), (500, 15, 500))
        long = [entry for entry in names if entry[1] in ("coil", "core") or entry[2] == 1.6]
        names = [entry for entry in names if entry not in long]
        names += [(part * close, name, size) for part, name, size in long]
        names += [(part - close, name, 3 * size) for part, name, size in long]
    for part, name, size in names:
        part.solids.name = name
        part.solids.maxh = size * f
    glued = Glue([part * clip for part in [*metal, *(n[0] for n in names)]])
    for face in glued.faces:
        centre = face.center
        if np.sqrt(centre.x**2 + centre.y**2 + centre.z**2) > 100 and centre.x > 1e-6:
            wall = c["endless"] and abs(centre.y - c["half_length"]) < 1e-6
            if not wall and not (c["mirror"] and abs(centre.y) < 1e-6):
                face.name = "outer"
    mesh = Mesh(OCCGeometry(glued).GenerateMesh(maxh=60 * f, grading=0.35))
    mesh.Curve(3)
    return mesh, sleeve


def prepared(case):
    c = dict(case)
    if c["kind"] == "row":
        n = c["count"]
        c["places"] = [(k - 0.5 * (n - 1)) * c["pitch"] for k in range(n)]
        c["tops"] = list(c["heights"] or [0.0] * n)
        c["straight"] = (n - 1) * c["pitch"]
        c["y_string"] = c["places"][c["over"]] + c["offset"]
        c["mirror"] = abs(c["y_string"]) < 1e-9 and c["tops"] == c["tops"][::-1]
        c["endless"] = False
    else:
        c["places"], c["tops"], c["y_string"] = [0.0], [0.0], c["offset"]
        c["mirror"] = True
        c["straight"] = 1000.0 if c["endless"] else 2 * c["half_length"]
    return c


def run(case, f=1.0, order=2):
    begun = time.time()
    c = prepared(case)
    mesh, sleeve = shape_of(c, f)
    copies = 4.0 if c["mirror"] else 2.0
    space = H1(mesh, order=order, dirichlet="outer")
    u, v = space.TnT()
    print("mesh", mesh.ne, "elements,", space.ndof, "unknowns", mesh.GetMaterials(), file=sys.stderr, flush=True)
    mu_magnet = c["mu"] if c["kind"] == "row" else c["mu_bar"]

    def mu_of(string):
        table = {"magnet": MU_0 * mu_magnet, "steel": MU_0 * c["mu"], "string": MU_0 * string}
        return mesh.MaterialCF(table, default=MU_0)

    inner, outer, low, high = c["coil"]
    w = c["turns"] / ((outer - inner) * (high - low))
    half = 0.5 * c["straight"]
    past = IfPos(y - half, y - half, IfPos(-y - half, -y - half, 0.0))
    distance = sqrt(x * x + past * past)
    level = IfPos((z - low) * (high - z), 1.0, 0.0)
    full = w * (outer - inner)
    # The metal reaches out of the window, and a bar lies below it.
    sheet = level * IfPos(distance - inner, IfPos(distance - outer, 0.0, w * (outer - distance)), full)
    inside = "magnet|steel|core|coil"
    t = mesh.MaterialCF({name: sheet for name in inside.split("|")}, default=0.0)
    t_m = CF((0, 0, 1e3 * t))
    remanence = CF((0, 0, mesh.MaterialCF({"magnet": c["br"]}, default=0.0)))
    of_magnet = LinearForm(space)
    of_magnet += remanence * grad(v) * dx("magnet")
    of_magnet.Assemble()

    def solve(mu, loads, extra=None):
        a = BilinearForm(space, symmetric=True)
        a += mu * grad(u) * grad(v) * dx
        if extra is not None:
            a += extra
        pre = Preconditioner(a, "bddc")
        a.Assemble()
        inverse = CGSolver(a.mat, pre.mat, tol=1e-11, maxiter=2000)
        answers = []
        for load in loads:
            answer = GridFunction(space)
            answer.vec.data = inverse * load.vec
            answers.append(answer)
        return answers

    mu_air = mu_of(1.0)
    of_coil = LinearForm(space)
    of_coil += mu_air * t_m * grad(v) * dx(inside, bonus_intorder=6)
    of_coil.Assemble()

    def linkage(b):
        region = mesh.Materials(inside)
        return copies * 1e-6 * Integrate(t * b[2], mesh, order=2 * order + 4, definedon=region)

    phi, psi = solve(mu_air, [of_magnet, of_coil])
    h_0 = -grad(phi)
    b_0 = mu_air * h_0 + remanence
    own = t_m - grad(psi)
    result = dict(case={k: case[k] for k in case}, fineness=f, order=order, elements=mesh.ne, unknowns=space.ndof)
    if not c["endless"]:
        result["linkage without string"] = linkage(b_0)
        result["inductance"] = linkage(mu_air * own)
    at = mesh(1e-4, c["y_string"] + 1e-4, c["axis"])
    result["B without string"] = [float(b_0[i](at)) for i in range(3)]
    result["b without string"] = [float((mu_air * own)[i](at)) for i in range(3)]

    chi = c["mu_string"] - 1
    one = mesh.MaterialCF({"string": 1.0}, default=0.0)
    if not c["soft"]:
        phi, psi = solve(mu_of(c["mu_string"]), [of_magnet, of_coil])
        h = -grad(phi)
        m = chi * one * h
    else:
        # M = chi H / (1 + chi |H| / Ms): Newton's method with a line search on the slope of the energy.
        phi = solve(mu_of(c["mu_string"]), [of_magnet])[0]
        step = GridFunction(space)
        trial = GridFunction(space)

        def factor(square):
            return chi / (1 + chi * sqrt(square + 1e-2) / SATURATION)

        def residual(potential):
            h = -grad(potential)
            r = LinearForm(space)
            r += (mu_air * h + remanence) * grad(v) * dx
            r += MU_0 * factor(InnerProduct(h, h)) * h * grad(v) * dx("string", bonus_intorder=2)
            return r.Assemble()

        for _ in range(60):
            h = -grad(phi)
            size = sqrt(InnerProduct(h, h) + 1e-2)
            slope = -chi * chi / SATURATION / (1 + chi * size / SATURATION) ** 2 / size
            soft = MU_0 * (factor(InnerProduct(h, h)) * grad(u) * grad(v)
                           + slope * InnerProduct(h, grad(u)) * InnerProduct(h, grad(v)))
            extra = soft * dx("string", bonus_intorder=2)
            r = residual(phi)
            step.vec.data = solve(mu_air, [r], extra)[0].vec
            first, length = -InnerProduct(r.vec, step.vec), 1.0
            for _ in range(8):
                trial.vec.data = phi.vec + length * step.vec
                there = -InnerProduct(residual(trial).vec, step.vec)
                if there <= 0.3 * abs(first):
                    break
                length *= max(0.1, min(0.6, -first / (there - first)))
            phi.vec.data += length * step.vec
            if Norm(step.vec) < 1e-8 * Norm(phi.vec) and length == 1.0:
                break
        else:
            raise SystemExit("Newton's method did not converge")
        psi = solve(mu_air, [of_coil], extra)[0]
        h = -grad(phi)
        m = one * factor(InnerProduct(h, h)) * h
    with_string = t_m - grad(psi)
    result["rise of linkage"] = copies * 1e-9 * Integrate(m * (mu_air * own), mesh, order=2 * order + 4,
                                                          definedon=mesh.Materials("string"))
    b = mu_air * h + MU_0 * m + remanence
    if not c["endless"]:
        result["rise by difference"] = linkage(b) - result["linkage without string"]

    # A sleeve of air: weight 1 on the string, 0 at its outside, and a ramp past the string's end.
    rs, dy, dz = c["diameter"] / 2, y - c["y_string"], z - c["axis"]
    rad = sqrt(dy * dy + dz * dz)
    weight = IfPos(rad - rs, 1 - (rad - rs) / (sleeve - rs), 1.0)
    ramp = IfPos(x - HALF_STRING, 1 - (x - HALF_STRING) / 3.0, 1.0)
    slope = IfPos(rad - rs, -ramp / (sleeve - rs) / rad, 0.0)
    gw = CF((IfPos(x - HALF_STRING, -weight / 3.0, 0.0), slope * dy, slope * dz))

    def force(b_a, h_a, b_b, h_b):
        parts = []
        for i in (1, 2):
            stress = (0.5 * (b_a[i] * (h_b * gw) + b_b[i] * (h_a * gw)) - 0.5 * (b_a * h_b) * gw[i])
            parts.append(-copies * 1e-6 * Integrate(stress, mesh, order=2 * order + 6,
                                                    definedon=mesh.Materials("shell")))
        return [0.0 if c["mirror"] else parts[0], parts[1]]

    result["pull"] = force(b, h, b, h)
    result["pull of nothing"] = force(b_0, h_0, b_0, h_0)
    result["change per mm"] = [2e-3 * part for part in force(b, h, MU_0 * with_string, with_string)]
    result["seconds"] = round(time.time() - begun, 1)
    return result


def endless(files):
    """A blade without walls from blades between walls 20, 40 and 60 mm from the string.

    A wall mirrors the string, and a permeable blade leads flux far: pull and flux change still grow by a
    per cent from 40 to 60 mm. They are taken over the fields without string that they are made of, whose
    differences are those of the meshes, and continued as a geometric series.
    """
    runs = [next(iter(json.load(open(name)).values())) for name in files]
    field = [run["B without string"][2] for run in runs]
    own = [run["b without string"][2] for run in runs]

    def continued(values):
        first, last = values[1] - values[0], values[2] - values[1]
        return values[2] + last * last / (first - last)

    def of(pick, power):
        scale = [b * (b if power else c) for b, c in zip(field, own)]
        return continued([pick(run) / s for run, s in zip(runs, scale)]) * scale[0]

    return {"B without string": field[0],
            "pull": of(lambda run: run["pull"][1], True),
            "rise of linkage": of(lambda run: run["rise of linkage"], False),
            "change per mm": of(lambda run: run["change per mm"][1], False)}


def main():
    SetNumThreads(1)
    if sys.argv[1:2] == ["endless"]:
        print(json.dumps(endless(sys.argv[2:]), indent=1))
        return
    if len(sys.argv) < 2:
        print("\n".join(CASES))
        return
    fineness = float(sys.argv[2]) if len(sys.argv) > 2 else 1.0
    order = int(sys.argv[3]) if len(sys.argv) > 3 else 2
    print(json.dumps({sys.argv[1]: run(CASES[sys.argv[1]], fineness, order)}, indent=1))


if __name__ == "__main__":
    main()
