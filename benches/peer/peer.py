"""Lodestring beside what one would use instead, on the same mesh, matrix and tolerance; prints a table.

Usage (from the repository's root, after `cargo build --release -p lodestring-benches --bin peer`):
    python3 -m venv target/peer && target/peer/bin/pip install -r benches/peer/requirements.txt
    target/peer/bin/python benches/peer/peer.py [--threads N] [--rounds N] [--largest N] > run.md
CHOLMOD comes with SuiteSparse (Debian: libsuitesparse-dev) and wants a fast BLAS (libopenblas0-pthread).

1. The field of meshes/twin-blade.toml from nothing (elements of second order, magnet on its curve, steel that
   saturates, Newton to a relative gradient of 1e-10), by Lodestring and by a script with scikit-fem on the same
   nodes, so with the same unknowns. The script has the laws, the assembly and Newton's method of
   validation/crosscheck/sections.py and solves its systems with CHOLMOD (order of elimination chosen once) or with
   SuperLU, scipy's own.
2. The tangent of meshes/six-rods.toml, written out by Lodestring: its factorisation (faer, supernodal LL^T, one
   thread, after approximate minimum degree) beside CHOLMOD's (supernodal LL^T, approximate minimum degree, numeric
   part alone), and the time to fill the matrix anew.

The two programs take turns; medians of all rounds. `cpu` is processor time of all threads, which other work on
the machine lengthens less than the wall clock.
"""
import argparse
import json
import os
import platform
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


def arguments():
    parser = argparse.ArgumentParser()
    parser.add_argument("--threads", type=int, default=1, help="of both programs (1)")
    parser.add_argument("--rounds", type=int, default=7, help="of each measurement (7)")
    parser.add_argument("--largest", type=int, default=450_000, help="most unknowns of a matrix (450000)")
    return parser.parse_args()


ASKED = arguments()
# Before numpy is loaded, or its BLAS takes what it finds.
for name in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "RAYON_NUM_THREADS"):
    os.environ[name] = str(ASKED.threads)

import numpy as np  # noqa: E402
import scipy  # noqa: E402
import scipy.sparse as sp  # noqa: E402
import skfem  # noqa: E402
import sksparse  # noqa: E402
from scipy.optimize import brentq  # noqa: E402
from scipy.sparse.linalg import splu  # noqa: E402
from skfem import Basis, BilinearForm, ElementTriP2, LinearForm, MeshTri  # noqa: E402
from sksparse.cholmod import analyze  # noqa: E402
from threadpoolctl import threadpool_info  # noqa: E402

sys.path.insert(0, str(ROOT / "validation" / "crosscheck"))
from crosscheck import MU_0  # noqa: E402
from rods import four_data  # noqa: E402
from steel import steel  # noqa: E402


class Ours:
    """Lodestring's side, running; see benches/src/bin/peer.rs."""

    def __init__(self, section, scale, folder):
        program = ROOT / "target" / "release" / "peer"
        self.child = subprocess.Popen([program, ROOT / "meshes" / section, str(scale), folder], text=True,
                                      stdin=subprocess.PIPE, stdout=subprocess.PIPE)
        self.folder = Path(folder)
        self.newton = json.loads(self.child.stdout.readline())

    def ask(self, command):
        self.child.stdin.write(command + "\n")
        self.child.stdin.flush()
        return json.loads(self.child.stdout.readline())

    def array(self, name):
        kind = {"f64": "<f8", "u32": "<u4", "u64": "<u8"}[name.rsplit(".", 1)[1]]
        return np.fromfile(self.folder / name, dtype=kind)

    def matrix(self):
        """The tangent, both triangles."""
        starts, rows = self.array("starts.u64").astype(np.int32), self.array("rows.u64").astype(np.int32)
        n = len(starts) - 1
        low = sp.csc_matrix((self.array("values.f64"), rows, starts), shape=(n, n))
        return (low + sp.tril(low, -1).T).tocsc()

    def close(self):
        self.child.stdin.close()
        self.child.wait()


def timed(work, times=1):
    """Wall and processor time of one of so many, s."""
    wall, cpu = time.perf_counter(), time.process_time()
    for _ in range(times):
        result = work()
    return {"wall_s": (time.perf_counter() - wall) / times, "cpu_s": (time.process_time() - cpu) / times}, result


# --- 1. the field -----------------------------------------------------------------------------------------------

def mirrored(law):
    """A demagnetisation curve that goes on below the coercivity of J as its own mirror image in that point, where J
    vanishes: as Lodestring's does, and Newton's method needs it on the way."""
    centre = brentq(lambda b: b - MU_0 * law(np.array(b))[0], -0.2, 0.5)

    def whole(b):
        beyond = b < centre
        h, slope = law(np.where(beyond, 2 * centre - b, b))
        return np.where(beyond, 2 * centre / MU_0 - h, h), slope
    return whole


def script(points, corners, region_of, names, outer, direct):
    """The field as a script has it: from points and triangles to (unknowns, potential at the corners)."""
    mesh = MeshTri(points, corners)
    basis = Basis(mesh, ElementTriP2(), intorder=4)
    free = np.setdiff1d(np.arange(basis.N), basis.get_dofs(mesh.boundary_facets()).all())
    is_steel = np.isin(region_of, [i for i, name in enumerate(names) if "blade" in name])
    is_bar = region_of == names.index("bar")
    steel_law, (bar_law, recoil) = steel(), four_data("alnico 5")
    bar_law = mirrored(bar_law)
    # As many factorisations as there are steps.
    count, symbolic = 0, None

    def flux(u):
        return u.grad[1], -u.grad[0]

    @BilinearForm
    def tangent(u, w, p):
        (ux, uy), (wx, wy) = flux(u), flux(w)
        return p.xx * ux * wx + p.xy * (ux * wy + uy * wx) + p.yy * uy * wy

    @LinearForm
    def residual(w, p):
        wx, wy = flux(w)
        return p.hx * wx + p.hy * wy

    def state(u):
        grad = np.asarray(basis.interpolate(u).grad)
        b = np.array([grad[1], -grad[0]])
        h = b / MU_0
        xx, yy = np.full(b.shape[1:], 1 / MU_0), np.full(b.shape[1:], 1 / MU_0)
        xy = np.zeros(b.shape[1:])
        own = b[:, is_steel]
        size = np.maximum(np.hypot(*own), 1e-12)
        strength, along = steel_law(size)
        nu, unit = strength / size, own / size
        h[:, is_steel] = nu * own
        xx[is_steel] = nu + (along - nu) * unit[0] ** 2
        xy[is_steel] = (along - nu) * unit[0] * unit[1]
        yy[is_steel] = nu + (along - nu) * unit[1] ** 2
        # Charged along x.
        h_bar, along = bar_law(b[0, is_bar])
        across = 1 / (MU_0 * recoil)
        h[0, is_bar], h[1, is_bar] = h_bar, across * b[1, is_bar]
        xx[is_bar], yy[is_bar] = along, across
        return residual.assemble(basis, hx=h[0], hy=h[1])[free], (xx, xy, yy)

    u = np.zeros(basis.N)
    load, slopes = state(u)
    first = np.linalg.norm(load)
    # At B = 0 a magnet is at its softest: the first step takes it on its recoil line, and steel with mu_r = 1000.
    slopes[0][is_bar] = slopes[2][is_bar] = 1 / (MU_0 * recoil)
    slopes[0][is_steel] = slopes[2][is_steel] = 1 / (MU_0 * 1000)
    while np.linalg.norm(load) > 1e-10 * first:
        if count == 60:
            raise SystemExit("Newton's method did not converge")
        matrix = tangent.assemble(basis, xx=slopes[0], xy=slopes[1], yy=slopes[2])[free][:, free].tocsc()
        count += 1
        step = np.zeros_like(u)
        if direct == "CHOLMOD":
            if symbolic is None:
                symbolic = analyze(matrix, mode="supernodal", ordering_method="amd")
            step[free] = -symbolic.cholesky(matrix)(load)
        else:
            step[free] = -splu(matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0,
                               options={"SymmetricMode": True}).solve(load)
        # Along the step to where the slope of the energy is a third of what it was, by the secant rule.
        start, downhill = u, load @ step[free]
        low, high, length = (0.0, downhill), None, 1.0
        for _ in range(10):
            u = start + length * step
            load, slopes = state(u)
            slope = load @ step[free]
            if abs(slope) <= 0.3 * abs(downhill) or (slope < 0 and length == 1):
                break
            if slope < 0:
                low = (length, slope)
            else:
                high = (length, slope)
            width = high[0] - low[0]
            length = low[0] - low[1] * width / (high[1] - low[1])
            length = min(max(length, low[0] + 0.1 * width), high[0] - 0.1 * width)
    return len(free), count, u[basis.nodal_dofs[0]]


def field(scale):
    print(f"\n## The field of twin-blade.toml, mesh scale {scale}\n")
    with tempfile.TemporaryDirectory() as folder:
        ours = Ours("twin-blade.toml", scale, folder)
        nodes = ours.array("nodes.f64").reshape(-1, 2).T
        corners = ours.array("triangles.u32").reshape(-1, 6)[:, :3].T.astype(np.int64)
        n_vertices = corners.max() + 1
        points = np.ascontiguousarray(nodes[:, :n_vertices])
        corners = np.ascontiguousarray(corners)
        region_of = ours.array("region_of.u32")
        names = (Path(folder) / "regions.txt").read_text().split("\n")
        outer = ours.array("outer.u32")
        rows = {"Lodestring": [], "nested": [], "CHOLMOD": [], "SuperLU": []}
        for nth in range(ASKED.rounds):
            rows["Lodestring"].append(ours.ask("solve"))
            rows["nested"].append(ours.ask("nested"))
            for direct in ("CHOLMOD", "SuperLU"):
                # The slower one needs no more than three to be told from the faster.
                if direct == "SuperLU" and nth >= 3:
                    continue
                told, (unknowns, count, u) = timed(
                    lambda: script(points, corners, region_of, names, outer, direct))
                rows[direct].append(told | {"count": count})
        own = ours.array("nodal.f64")[:n_vertices]
        newton = rows["Lodestring"][-1]["newton"]
        ours.close()
    assert unknowns == newton["unknowns"], (unknowns, newton)
    off = np.abs(own - u).max() / np.abs(own).max()
    print(f"{unknowns} unknowns on both sides. The potentials differ by {off:.1e} of the largest: sides of Lodestring's "
          f"triangles are curved on the rounded tops and the steel's curve is joined by another cubic.\n")
    median = statistics.median
    whole = median(r["unknowns_s"] + r["field_s"] for r in rows["Lodestring"])
    cpu = median(r["cpu_s"] for r in rows["Lodestring"])
    mesh = median(r["mesh_s"] for r in rows["Lodestring"])
    nested_cpu = median(r["cpu_s"] for r in rows["nested"])
    print("| | factorisations | wall, ms | cpu, ms | times Lodestring's cpu | times that of coarser meshes first |\n"
          "|---|---|---|---|---|---|")
    print(f"| Lodestring, from the mesh to the field | {newton['factorisations']} | {1e3 * whole:.0f} | "
          f"{1e3 * cpu:.0f} | 1 | |")
    print(f"| Lodestring, coarser meshes first, as its `solve` does; all meshes included | | "
          f"{1e3 * median(r['wall_s'] for r in rows['nested']):.0f} | {1e3 * nested_cpu:.0f} | "
          f"{nested_cpu / cpu:.2f} | 1 |")
    for direct in ("CHOLMOD", "SuperLU"):
        script_cpu = median(r["cpu_s"] for r in rows[direct])
        print(f"| script with scikit-fem, {direct} | {rows[direct][0]['count']} | "
              f"{1e3 * median(r['wall_s'] for r in rows[direct]):.0f} | {1e3 * script_cpu:.0f} | "
              f"{script_cpu / cpu:.1f} | {script_cpu / nested_cpu:.1f} |")
    print(f"\nLodestring's mesh itself takes {1e3 * mesh:.0f} ms more, which the script is given for nothing; "
          f"{newton['steps'] - newton['factorisations']} further steps of Lodestring's are back-substitutions.")


# --- 2. the factorisation ---------------------------------------------------------------------------------------

def factorisation(scale):
    with tempfile.TemporaryDirectory() as folder:
        ours = Ours("six-rods.toml", scale, folder)
        matrix = ours.matrix()
        symbolic = analyze(matrix, mode="supernodal", ordering_method="amd")
        theirs = symbolic.cholesky(matrix)
        n = matrix.shape[0]
        load = np.ones(n)
        left = np.linalg.norm(matrix @ theirs(load) - load) / np.linalg.norm(load)
        assert left < 1e-6, left
        # About half a second for each measurement.
        once, _ = timed(lambda: theirs.cholesky_inplace(matrix))
        times = max(1, round(0.4 / once["wall_s"]))
        rows = []
        for _ in range(ASKED.rounds):
            own = ours.ask(f"factor {times}")
            told, _ = timed(lambda: theirs.cholesky_inplace(matrix), times)
            refill = ours.ask(f"refill {times}")
            rows.append((own, told, refill))
        newton = ours.newton
        entries = theirs.L().nnz
        ours.close()
    median = statistics.median
    own, told, refill = (median(row[k]["cpu_s"] for row in rows) for k in range(3))
    walls = [median(row[k]["wall_s"] for row in rows) for k in range(3)]
    # The ratio of each round, since both then ran under the same load.
    ratio = median(row[1]["cpu_s"] / row[0]["cpu_s"] for row in rows)
    wall_ratio = median(row[1]["wall_s"] / row[0]["wall_s"] for row in rows)
    share = median(row[2]["cpu_s"] / row[0]["cpu_s"] for row in rows)
    print(f"| {n} | {newton['factor_entries'] / 1e6:.2f} | {entries / 1e6:.2f} | {1e3 * own:.1f} | {1e3 * told:.1f} | "
          f"**{ratio:.2f}** | {1e3 * walls[0]:.1f} | {1e3 * walls[1]:.1f} | {wall_ratio:.2f} | {1e3 * refill:.1f} | "
          f"{100 * share:.0f} % | {newton['factorisations']} |", flush=True)


def main():
    blas = sorted({f"{one['internal_api']} {one['version']} ({one.get('architecture')}, {one['num_threads']} threads)"
                   for one in threadpool_info() if one["user_api"] == "blas"})
    model = next((line.split(":")[1].strip() for line in open("/proc/cpuinfo") if line.startswith("model name")), "?")
    commit = subprocess.run(["git", "rev-parse", "--short", "HEAD"], cwd=ROOT, capture_output=True, text=True).stdout
    print(f"{time.strftime('%Y-%m-%d %H:%M')}, {model}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}; commit "
          f"{commit.strip()}, threads of each program: {ASKED.threads}, rounds: {ASKED.rounds}.\n"
          f"Python {platform.python_version()}, scikit-fem {skfem.__version__}, scipy {scipy.__version__}, numpy "
          f"{np.__version__}, scikit-sparse {sksparse.__version__}; BLAS: {'; '.join(blas)}.")
    field(1)
    field(0.5)
    print("\n## The tangent of six-rods.toml, factored\n")
    print("| unknowns | entries of L, millions | CHOLMOD's | Lodestring, cpu ms | CHOLMOD, cpu ms | ratio of cpu | "
          "Lodestring, wall ms | CHOLMOD, wall ms | ratio of wall | refill, cpu ms | share of a factorisation | "
          "factorisations of the solve |")
    print("|" + "---|" * 12)
    for unknowns, scale in ((25_000, 1.5), (100_000, 0.7), (400_000, 0.345)):
        if unknowns <= ASKED.largest:
            factorisation(scale)


if __name__ == "__main__":
    main()
