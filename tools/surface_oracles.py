"""Two general-purpose boundary-element libraries, asked for the far field of a closed surface with moving parts.

Needs the environment of `make oracles`; the shapes and their triangles are those of tests/surfaces_asked.py.
Both libraries take time as exp(-iwt) and G = exp(ikr)/(4 pi r): their answers are turned about here. Both solve the
equations of Burton and Miller; everything else is their own.
"""

import resource
import time
import warnings
from collections.abc import Sequence
from dataclasses import dataclass

import bempp_cl.api as bempp
import netgen.occ as occ
import ngsolve
import numpy as np
from ngsolve.bem import HelmholtzDL, HelmholtzSL
from numpy.typing import NDArray
from scipy.sparse.linalg import LinearOperator, gmres, splu

from forehear.radiation import Mesh
from surfaces_asked import (
    BOX_HZ,
    BOX_M,
    CABINETS,
    DENSITY_KG_M3,
    PISTONS,
    SHAPES,
    SOUND_SPEED_M_S,
    STEP_HZ,
    UNIT,
    box,
    cabinet,
)

TOLERANCE = 1e-4  # of the residuals
GAUSS_ORDER = 2  # of bempp-cl's regular integrals: as exact here as its default of 4, and 3.6 times as fast
MORE_ORDER = 6  # of ngsolve's far-field integrals

BEMPP = "linear elements, Galerkin, single precision, regular integrals of order 2, GMRES to 1e-4"
NGSOLVE = "curved elements of order 2, Galerkin, fast multipoles, bonus_intorder 0, GMRES to 1e-4"

Row = dict[str, object]
Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]


@dataclass(frozen=True, eq=False)
class Answer:
    """What a library said and what it took, compiling left out."""

    pressure: Complexes  # [source, direction] for 1 m/s, brought back to 1 m, exp(+jwt) [Pa]
    triangles: int
    unknowns: int
    wall_s: float
    cores_s: float
    peak_gib: float


def ask_bempp(surface: Mesh, hz: float, unit: Floats, order: int = GAUSS_ORDER) -> Answer:
    """Ask bempp-cl: linear elements, Galerkin, single precision, numba, full matrix, GMRES.

    Its hypersingular operator has the opposite sign of H.
    """
    bempp.DEFAULT_DEVICE_INTERFACE = "numba"
    bempp.DEFAULT_PRECISION = "single"
    bempp.GLOBAL_PARAMETERS.quadrature.regular = order
    k = 2 * np.pi * hz / SOUND_SPEED_M_S
    start = time.perf_counter(), time.process_time()
    source = surface.source_of_triangle
    grid = bempp.Grid(
        np.ascontiguousarray(surface.vertices_m.T),
        np.ascontiguousarray(surface.triangles.T.astype(np.uint32)),
        (source + 1).astype(np.uint32),
    )
    waves = bempp.operators.boundary.helmholtz
    linear = bempp.function_space(grid, "P", 1)
    identity = bempp.operators.boundary.sparse.identity(linear, linear, linear)
    left = 0.5 * identity - waves.double_layer(linear, linear, linear, k)
    left += 1j / k * waves.hypersingular(linear, linear, linear, k)
    matrix = np.asarray(left.weak_form().to_dense()).astype(np.complex64)
    mass = splu(identity.weak_form().to_sparse().tocsc().astype(complex))
    scale = LinearOperator(matrix.shape, lambda row: mass.solve(row.astype(complex)), dtype=complex)
    found = []
    for number in range(int(source.max()) + 1):
        moving = bempp.function_space(grid, "DP", 0, segments=[number + 1])
        velocity = surface.velocity_of_triangle[source == number].astype(complex)
        slope = bempp.GridFunction(moving, coefficients=velocity)
        answer, stopped = gmres(matrix, _sent(slope, moving, linear, k), M=scale, rtol=TOLERANCE, restart=200)
        if stopped:
            raise RuntimeError(f"bempp-cl did not solve {hz} Hz")
        found.append(_seen(bempp.GridFunction(linear, coefficients=answer), slope, k, unit))
    return _answer(np.array(found), hz, start, (len(surface.triangles), linear.global_dof_count))


def _sent(slope: bempp.GridFunction, moving: object, linear: object, k: float) -> Complexes:
    """Work out what a moving part sends, tested with the pressure's functions."""
    waves, beta = bempp.operators.boundary.helmholtz, 1j / k
    half = bempp.operators.boundary.sparse.identity(moving, linear, linear)
    right = waves.single_layer(moving, linear, linear, k)
    right += beta * (0.5 * half + waves.adjoint_double_layer(moving, linear, linear, k))
    sent: Complexes = -(right.weak_form() @ slope.coefficients)
    return sent


def _seen(pressure: bempp.GridFunction, slope: bempp.GridFunction, k: float, unit: Floats) -> Complexes:
    """Sum the far field."""
    far, toward = bempp.operators.far_field.helmholtz, np.ascontiguousarray(unit.T)
    double = far.double_layer(pressure.space, toward, k) @ pressure
    seen: Complexes = np.ravel(double - far.single_layer(slope.space, toward, k) @ slope)
    return seen


def ask_ngsolve(
    mesh: ngsolve.Mesh, regions: Sequence[str], hz: float, unit: Floats, order: int = 2
) -> Answer:
    """Ask ngsolve: curved elements of an order, Galerkin, fast multipoles, GMRES; a source a named region.

    H is put together from single layers: curls, and normals. The transposed double layer gives K'.
    """
    k = 2 * np.pi * hz / SOUND_SPEED_M_S
    start = time.perf_counter(), time.process_time()
    space = ngsolve.Compress(ngsolve.H1(mesh, order=order, complex=True, definedon=mesh.Boundaries(".*")))
    trial, test = space.TnT()
    normal, beta = ngsolve.specialcf.normal(3), 1j / k
    everywhere = ngsolve.ds(bonus_intorder=0)
    found = []
    with ngsolve.TaskManager():
        mass = ngsolve.BilinearForm(trial * test * ngsolve.ds).Assemble().mat
        curl, curl_of_test = (ngsolve.Cross(normal, ngsolve.grad(each).Trace()) for each in (trial, test))
        double = HelmholtzDL(trial * everywhere, k) * test * everywhere
        curls = HelmholtzSL(curl * everywhere, k) * curl_of_test * everywhere
        normals = HelmholtzSL(trial * normal * everywhere, k) * (test * normal) * everywhere
        left = 0.5 * mass - double.mat + beta * (curls.mat - k * k * normals.mat)
        scale = mass.Inverse(inverse="sparsecholesky")
        for region in regions:
            slope, right = _slope_and_right_side(mesh, region, (trial, test, space), k)
            solution = ngsolve.GridFunction(space)
            solution.vec.data = ngsolve.solvers.GMRes(
                A=left, b=right, pre=scale, maxsteps=200, tol=TOLERANCE, printrates=False
            )
            found.append(_far_field(mesh, region, (solution, slope), k, unit))
    return _answer(np.array(found), hz, start, (mesh.GetNE(ngsolve.BND), space.ndof))


def _slope_and_right_side(
    mesh: ngsolve.Mesh, region: str, spaces: tuple[object, object, object], k: float
) -> tuple[ngsolve.GridFunction, ngsolve.BaseVector]:
    """Work out what a region of unit slope sends, tested with the pressure's functions."""
    trial, test, space = spaces
    everywhere, there = ngsolve.ds(bonus_intorder=0), ngsolve.ds(region, bonus_intorder=0)
    moving = ngsolve.SurfaceL2(mesh, order=0, complex=True, definedon=mesh.Boundaries(region))
    flow, flow_of_test = moving.TnT()
    slope = ngsolve.GridFunction(moving)
    slope.Set(1, definedon=mesh.Boundaries(region))
    single = HelmholtzSL(flow * there, k) * test * everywhere
    backwards = HelmholtzDL(trial * everywhere, k) * flow_of_test * there
    share = ngsolve.BilinearForm(trialspace=moving, testspace=space)
    share += flow * test * ngsolve.ds(region)
    share.Assemble()
    beta = 1j / k
    right = ngsolve.GridFunction(space).vec
    right.data = (-1) * (single.mat * slope.vec)
    right.data -= beta * (0.5 * (share.mat * slope.vec) + backwards.mat.T * slope.vec)
    return slope, right


def _far_field(
    mesh: ngsolve.Mesh,
    region: str,
    solved: tuple[ngsolve.GridFunction, ngsolve.GridFunction],
    k: float,
    unit: Floats,
) -> list[complex]:
    solution, slope = solved
    normal = ngsolve.specialcf.normal(3)
    found = []
    for x, y, z in unit.tolist():
        phase = ngsolve.exp(-1j * k * (x * ngsolve.x + y * ngsolve.y + z * ngsolve.z))
        along = x * normal[0] + y * normal[1] + z * normal[2]
        whole, there = (
            ngsolve.ds(bonus_intorder=MORE_ORDER),
            ngsolve.ds(region, bonus_intorder=MORE_ORDER),
        )
        double = ngsolve.Integrate(phase * (-1j * k * along) * solution * whole, mesh)
        found.append((double - ngsolve.Integrate(phase * slope * there, mesh)) / (4 * np.pi))
    return found


def curved_box(
    size_m: tuple[float, float, float], discs_m: Sequence[tuple[float, float, float]], element_m: float
) -> ngsolve.Mesh:
    """Mesh a box (width, height, depth), its front in x = 0, by ngsolve's mesher; discs (y, z, radius) are d0, d1...

    No triangle on a disc is larger than its radius.
    """
    width, height, depth = size_m
    box = occ.Box(occ.Pnt(-depth, -width / 2, -height / 2), occ.Pnt(0, width / 2, height / 2))
    faces = sorted(box.faces, key=lambda face: face.center.x)
    front, others = faces[-1], faces[:-1]
    discs = []
    for number, (y, z, radius_m) in enumerate(discs_m):
        disc = occ.WorkPlane(occ.Axes((0, y, z), occ.X, occ.Y)).Circle(radius_m).Face()
        front -= disc
        disc.faces.name, disc.faces.maxh = f"d{number}", radius_m
        discs.append(disc)
    for face in (front, *others):
        face.faces.name = "rigid"
    whole = occ.Glue([*front.faces, *others, *(disc.faces[0] for disc in discs)])
    return _curved(whole, element_m)


def curved_sphere(radius_m: float, half_rad: float, element_m: float) -> ngsolve.Mesh:
    """Mesh a sphere with a cap d0 about +x by ngsolve's mesher."""
    rim_m = radius_m * np.cos(half_rad)
    ball = occ.Sphere(occ.Pnt(0, 0, 0), radius_m)
    ahead = occ.HalfSpace(occ.Pnt(rim_m, 0, 0), occ.Vec(-1, 0, 0))
    cap = [
        face for face in (ball * ahead).faces if face.center.x > rim_m + 1e-6
    ]  # two, by the seam of the ball
    rest = [face for face in (ball - ahead).faces if face.center.x < rim_m - 1e-6]
    for face in cap:
        face.name = "d0"
    return _curved(occ.Glue([*cap, *rest]), element_m)


def _curved(shape: occ.TopoDS_Shape, element_m: float) -> ngsolve.Mesh:
    mesh = ngsolve.Mesh(occ.OCCGeometry(shape).GenerateMesh(maxh=element_m))
    mesh.Curve(3)
    return mesh


def _answer(far: Complexes, hz: float, start: tuple[float, float], size: tuple[int, int]) -> Answer:
    """Turn unit slopes and exp(-iwt) into 1 m/s and exp(+jwt)."""
    return Answer(
        -2j * np.pi * hz * DENSITY_KG_M3 * far.conj(),
        *size,
        time.perf_counter() - start[0],
        time.process_time() - start[1],
        resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20,
    )


warnings.filterwarnings("ignore", module="bempp_cl")


def box_rows() -> list[Row]:
    """Far field of a box with three pistons from both libraries, the second on a mesh of its own."""
    rows = []
    discs = [(*piston.centre_m, piston.radius_m) for piston in PISTONS]
    for hz in BOX_HZ:
        wave_m = SOUND_SPEED_M_S / hz
        finest = 10 if hz < max(BOX_HZ) else 8
        rows.append(
            {"settings": BEMPP, **_row("bempp-cl", ask_bempp(box(wave_m / finest), hz, UNIT), hz, finest)}
        )
        mesh = curved_box(BOX_M, discs, wave_m / 3)
        rows.append(
            {"settings": NGSOLVE, **_row("ngsolve", ask_ngsolve(mesh, ("d0", "d1", "d2"), hz, UNIT), hz, 3)}
        )
    return rows


def shape_rows() -> list[Row]:
    """Far field of other shapes on our triangles."""
    rows = []
    for name, asked in SHAPES.items():
        finest = asked.elements_a_wavelength
        answer = ask_bempp(asked.mesh(finest), asked.hz, UNIT)
        rows.append({"shape": name, "settings": BEMPP, **_row("bempp-cl", answer, asked.hz, finest)})
    return rows


def step_rows() -> list[Row]:
    """Far field of the example cabinets, the lowest way's first driver alone, from where they radiate all around."""
    rows = []
    for name in CABINETS:
        for hz in STEP_HZ:
            mesh = cabinet(name, min(SOUND_SPEED_M_S / hz / 12, 0.03))
            answer = ask_bempp(mesh, hz, UNIT)
            rows.append({"cabinet": name, "settings": BEMPP, **_row("bempp-cl", answer, hz, 12)})
    return rows


def _row(library: str, answer: Answer, hz: float, elements_a_wavelength: float) -> Row:
    return {
        "library": library,
        "hz": hz,
        "elements_a_wavelength": elements_a_wavelength,
        "triangles": answer.triangles,
        "unknowns": answer.unknowns,
        "pressure_real_pa": _six_digits(answer.pressure.real),
        "pressure_imag_pa": _six_digits(answer.pressure.imag),
    }


def _six_digits(values: Floats) -> list[list[float]]:
    return [[float(f"{value:.6g}") for value in row] for row in values.tolist()]
