"""Reads a .vtu file with meshio and with VTK.

Usage: read_vtu.py GRID.vtu EXPECTED.json
    compares every number with those of the JSON file, to the last bit
Usage: read_vtu.py GRID.vtu planar|axisymmetric
    differentiates the vector potential with VTK's own shape functions and compares with the flux
    density in the file
Usage: read_vtu.py COLLECTION.pvd strings
    opens every grid of a collection and checks the strings among them
Exit code 0 when all agree, 1 with the differences otherwise.
"""

import json
import os
import sys
import xml.etree.ElementTree

import meshio
import numpy as np
import vtk
from vtk.util.numpy_support import vtk_to_numpy

problems = []


def same(what, got, expected):
    got, expected = np.asarray(got), np.asarray(expected)
    if got.shape != expected.shape:
        problems.append(f"{what}: shape {got.shape}, expected {expected.shape}")
    elif not np.array_equal(got, expected):
        problems.append(f"{what}: {np.count_nonzero(got != expected)} values differ")


def with_meshio(path, expected):
    mesh = meshio.read(path)
    same("meshio points", mesh.points, expected["points"])
    same("meshio cell types", [block.type for block in mesh.cells], ["triangle6"])
    same("meshio triangles", mesh.cells[0].data, expected["triangles"])
    same("meshio point arrays", sorted(mesh.point_data), sorted(expected["point_data"]))
    for name, values in expected["point_data"].items():
        same(f"meshio {name}", mesh.point_data.get(name), values)
    same("meshio cell arrays", sorted(mesh.cell_data), sorted(expected["cell_data"]))
    for name, values in expected["cell_data"].items():
        same(f"meshio {name}", mesh.cell_data.get(name, [None])[0], values)
    names = [(name, int(np.ravel(value)[0])) for name, value in mesh.field_data.items()]
    same("meshio region names", names, [tuple(pair) for pair in expected["field_data"]])


def read_with_vtk(path):
    reader = vtk.vtkXMLUnstructuredGridReader()
    complaints = []
    for event in ("ErrorEvent", "WarningEvent"):
        reader.AddObserver(event, lambda *_, event=event: complaints.append(event))
    reader.SetFileName(path)
    reader.Update()
    if complaints or reader.GetErrorCode():
        problems.append(f"vtk complains: {complaints}, error code {reader.GetErrorCode()}")
    return reader.GetOutput()


def with_vtk(path, expected):
    grid = read_with_vtk(path)
    if grid.GetNumberOfCells() != len(expected["triangles"]):
        problems.append(f"vtk finds {grid.GetNumberOfCells()} cells")
        return
    same("vtk points", vtk_to_numpy(grid.GetPoints().GetData()), expected["points"])
    cells = grid.GetCells()
    same("vtk triangles", vtk_to_numpy(cells.GetConnectivityArray()).reshape(-1, 6), expected["triangles"])
    same("vtk offsets", vtk_to_numpy(cells.GetOffsetsArray()), 6 * np.arange(grid.GetNumberOfCells() + 1))
    types = {grid.GetCellType(i) for i in range(grid.GetNumberOfCells())}
    same("vtk cell types", sorted(types), [vtk.VTK_QUADRATIC_TRIANGLE])
    for kind, data in (("point_data", grid.GetPointData()), ("cell_data", grid.GetCellData())):
        same(f"vtk {kind}", data.GetNumberOfArrays(), len(expected[kind]))
        for name, values in expected[kind].items():
            if data.GetArray(name) is None:
                problems.append(f"vtk finds no {kind} {name}")
                continue
            same(f"vtk {name}", vtk_to_numpy(data.GetArray(name)), values)
    same("vtk active vectors", grid.GetCellData().GetVectors().GetName(), "flux_density_T")
    field = grid.GetFieldData()
    names = [
        (field.GetArrayName(i), int(field.GetArray(i).GetTuple1(0)))
        for i in range(field.GetNumberOfArrays())
    ]
    same("vtk region names", names, [tuple(pair) for pair in expected["field_data"]])
    mid_side_nodes(grid, expected)


def mid_side_nodes(grid, expected):
    """VTK's own shape functions must pass through each mid-side node at the middle of its side."""
    points, triangles = expected["points"], expected["triangles"]
    for index in range(0, len(triangles), max(1, len(triangles) // 50)):
        cell = grid.GetCell(index)
        for node, place in ((3, (0.5, 0, 0)), (4, (0.5, 0.5, 0)), (5, (0, 0.5, 0))):
            at, weights = [0.0] * 3, [0.0] * 6
            cell.EvaluateLocation(vtk.reference(0), place, at, weights)
            # The weights are exactly 0 and 1 there.
            same(f"vtk mid-side node {node} of triangle {index}", at, points[triangles[index][node]])


def curl_of_the_potential(path, symmetry):
    """B = (dA/dy, -dA/dx); turned about an axis, B = (-d(rA)/dz, d(rA)/dr) / r.

    The file's flux density comes from the solver's shape functions at the middle of each triangle.
    In the plane both are the derivative of the same six values, so only round-off differs. Turned
    about the axis the solver's r A is r^2 times a quadratic and VTK's an interpolation of its six
    values: they differ by the interpolation, in B of second order in the triangle's size over its
    radius. On the shipped rod the mean of that is 0.07 % of the strongest B; nodes in another
    order or a factor of two would make it more than 10 %.
    """
    grid = read_with_vtk(path)
    planar = symmetry == "planar"
    data, cells = grid.GetPointData(), grid.GetCellData()
    name = "vector_potential_Wb_per_m" if planar else "r_times_vector_potential_Wb_per_rad"
    a = vtk_to_numpy(data.GetArray(name))
    b = vtk_to_numpy(cells.GetArray("flux_density_T"))
    strongest = np.abs(b).max()
    errors = []
    for index in range(grid.GetNumberOfCells()):
        cell = grid.GetCell(index)
        values = [float(a[cell.GetPointId(i)]) for i in range(6)]
        derivatives = [0.0] * 3
        cell.Derivatives(0, (1 / 3, 1 / 3, 0.0), values, 1, derivatives)
        at, weights = [0.0] * 3, [0.0] * 6
        cell.EvaluateLocation(vtk.reference(0), (1 / 3, 1 / 3, 0.0), at, weights)
        d_x, d_y, r = derivatives[0], derivatives[1], at[0]
        curl = (d_y, -d_x) if planar else (-d_y / r, d_x / r)
        if planar or np.sqrt(cell.GetLength2()) < 0.3 * r:
            errors.append(np.hypot(curl[0] - b[index][0], curl[1] - b[index][1]) / strongest)
    error, allowed = (max(errors), 1e-9) if planar else (float(np.mean(errors)), 2e-3)
    print(f"curl A: {len(errors)} triangles, error {error:.3g} of the strongest, allowed {allowed}")
    if len(errors) < 1000 or error > allowed:
        problems.append("the curl of the potential is not the flux density")
    if not strongest > 0.01:
        problems.append(f"no field: at most {strongest} T")
    mu = vtk_to_numpy(cells.GetArray("relative_permeability"))
    if not (mu >= 1.0 - 1e-12).all():
        problems.append(f"relative permeability down to {mu.min()}")
    air = vtk_to_numpy(cells.GetArray("region")) == 0
    h = vtk_to_numpy(cells.GetArray("field_strength_A_per_m"))
    # B = mu_0 H in air, to round-off (mu_0 of CODATA 2022).
    off = np.abs(b[air] - 1.25663706127e-6 * h[air]).max() / strongest
    if off > 1e-12:
        problems.append(f"in air B is not mu_0 H: {off}")


def strings_of_a_collection(path):
    """Poly-lines with B = mu_0 (H + M) at every place, to round-off, and a magnetised string."""
    steps = {}
    for entry in xml.etree.ElementTree.parse(path).getroot().iter("DataSet"):
        grid = read_with_vtk(os.path.join(os.path.dirname(path), entry.get("file")))
        steps.setdefault(float(entry.get("timestep")), []).append((entry.get("name"), grid))
    print(f"{len(steps)} steps")
    strongest = []
    for step, grids in steps.items():
        same(f"grids of step {step}", [name for name, _ in grids], ["section", "strings"])
        if grids[0][1].GetCellType(0) != vtk.VTK_QUADRATIC_TRIANGLE:
            problems.append("the section is not of quadratic triangles")
        strings = grids[1][1]
        types = {strings.GetCellType(i) for i in range(strings.GetNumberOfCells())}
        same("string cell types", sorted(types), [vtk.VTK_POLY_LINE])
        points = strings.GetPointData()
        same("active vectors", points.GetVectors().GetName(), "magnetisation_A_per_m")
        m, h, b = (
            vtk_to_numpy(points.GetArray(name))
            for name in ("magnetisation_A_per_m", "field_strength_A_per_m", "flux_density_T")
        )
        off = np.abs(b - 1.25663706127e-6 * (h + m)).max()
        if not off < 1e-12 * np.abs(b).max():
            problems.append(f"B is not mu_0 (H + M): {off}")
        strongest.append(float(np.abs(m).max()))
        if strings.GetLength() < 0.05:
            problems.append(f"the strings end after {strings.GetLength()} m")
    if not (len(strongest) > 1 and strongest[0] > strongest[-1] > 1e4):
        problems.append(f"a string further away is not magnetised less: {strongest}")


def main():
    path, expected_path = sys.argv[1:]
    if expected_path == "strings":
        strings_of_a_collection(path)
    elif expected_path in ("planar", "axisymmetric"):
        curl_of_the_potential(path, expected_path)
    else:
        with open(expected_path, encoding="utf-8") as file:
            expected = json.load(file)
        with_meshio(path, expected)
        with_vtk(path, expected)
    print("\n".join(problems) or "all agree")
    sys.exit(bool(problems))


main()
