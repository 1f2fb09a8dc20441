"""Reads a .vtu file with meshio and with VTK and compares every number with a JSON file.

Usage: read_vtu.py GRID.vtu EXPECTED.json
Exit code 0 when all agree to the last bit, 1 with the differences otherwise.
"""

import json
import sys

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


def with_vtk(path, expected):
    reader = vtk.vtkXMLUnstructuredGridReader()
    complaints = []
    for event in ("ErrorEvent", "WarningEvent"):
        reader.AddObserver(event, lambda *_: complaints.append(event))
    reader.SetFileName(path)
    reader.Update()
    if complaints or reader.GetErrorCode():
        problems.append(f"vtk complains: {complaints}, error code {reader.GetErrorCode()}")
    grid = reader.GetOutput()
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


def main():
    path, expected_path = sys.argv[1:]
    with open(expected_path, encoding="utf-8") as file:
        expected = json.load(file)
    with_meshio(path, expected)
    with_vtk(path, expected)
    print("\n".join(problems) or "all agree")
    sys.exit(bool(problems))


main()
