"""Sections of heated floors and what scikit-fem makes of them, to hold the project's conduction against.

Made with scikit-fem 12.0.2, triangle 20250106, numpy 2.4.6 and scipy 1.17.1 on Python 3.11.7, which
`made_with` in floors.json repeats:
    pip install scikit-fem==12.0.2 triangle==20250106 numpy==2.4.6 scipy==1.17.1
    python3 make_floors.py > floors.json

Quadratic triangles, the pipe as a polygon of 64 sides with its wall meshed, plates as line conductors,
heat stored by the consistent mass matrix, backward Euler steps at two lengths extrapolated to none.
Films: 10.8 W/(m²K) on the surface, a resistance below; the inner wall as warm as the water, or a film on it
(`water_film`).
Each floor is given in SI; `up`, `down`, `across` are W/(m²K), the influences of one kelvin of the water
over room and below; times are seconds.
"""

import json
import math
import random
import sys

import numpy as np
import scipy
import scipy.sparse as sparse
import scipy.sparse.linalg as linalg
import skfem
import triangle
from skfem import BilinearForm, ElementTriP2, FacetBasis, InteriorBasis, LinearForm, MeshTri
from skfem.helpers import dot, grad

NUMBERS = random.Random(11855)
FILM = 10.8
SIDES = 64
WALL_STORES = 2.16e6
WATER_STORES = 4.18e6


def layer(thickness, conductivity, density, specific_heat):
    return {"thickness": thickness, "conductivity": conductivity, "density": density, "specific_heat": specific_heat}


def tile():
    return layer(round(NUMBERS.uniform(0.006, 0.014), 3), 1.3, 2300, 840)


def wood():
    return layer(round(NUMBERS.uniform(0.008, 0.020), 3), 0.15, 600, 1600)


def insulation():
    return layer(round(NUMBERS.uniform(0.03, 0.12), 3), round(NUMBERS.uniform(0.022, 0.04), 3), 30, 1400)


def floors():
    """One after another of each construction."""
    made = []
    for number in range(30):
        kind = ["screed", "slab", "bonded", "dry", "plates"][number % 5]
        outside = NUMBERS.choice([0.010, 0.012, 0.014, 0.016, 0.020])
        wall = 0.002 if outside > 0.012 else 0.0015
        pitch = NUMBERS.choice([0.1, 0.125, 0.15, 0.2, 0.25, 0.3])
        covering = NUMBERS.choice([tile, wood])()
        floor = {
            "kind": kind,
            "pitch": pitch,
            "pipe": {"outside": outside, "wall": wall, "conductivity": NUMBERS.choice([0.22, 0.35, 0.4])},
            "below": NUMBERS.choice([0.04, 0.17]),
            "water_film": None,
            "board": None,
        }
        if kind == "screed":
            screed = layer(round(NUMBERS.uniform(0.045, 0.085), 3), round(NUMBERS.uniform(1.0, 2.0), 1), 2000, 1000)
            lift = NUMBERS.choice([0.0, 0.003])
            floor["layers"] = [covering, screed, insulation()]
            floor["axis"] = covering["thickness"] + screed["thickness"] - lift - outside / 2
        elif kind == "slab":
            slab = layer(round(NUMBERS.uniform(0.14, 0.25), 3), 2.0, 2400, 1000)
            floor["layers"] = [covering, slab, insulation()]
            floor["axis"] = covering["thickness"] + round(slab["thickness"] / 2, 3)
        else:
            board = (
                layer(0.020, 0.32, 1150, 1100) if kind == "bonded" else layer(0.030, 0.035, 30, 1400)
            )
            load = [layer(0.004, 0.9, 1600, 1000)] if kind == "bonded" else [layer(0.019, 0.13, 600, 1700)]
            top = covering["thickness"] + load[0]["thickness"]
            floor["layers"] = [covering, *load, board, insulation()]
            floor["axis"] = top + outside / 2
            filler = 0.9 if kind == "bonded" else 0.03
            floor["board"] = {"top": top, "groove": outside, "filler": filler, "plate": None}
            if kind == "plates":
                floor["board"]["plate"] = {
                    "thickness": NUMBERS.choice([0.0002, 0.0004, 0.0005]),
                    "conductivity": 160.0,
                    "width": round(pitch * NUMBERS.uniform(0.6, 0.95), 3),
                }
        made.append(floor)
    return made + of_layers()


def of_layers():
    """Floors of many layers over water with a film: plates and foils that store heat, between joists and over them, and
    boards under two coverings."""
    made = []
    for number in range(10):
        kind = ["between joists", "over joists", "foil", "two coverings", "laminar"][number % 5]
        outside, wall = NUMBERS.choice([(0.012, 0.0015), (0.016, 0.002), (0.017, 0.002), (0.020, 0.002)])
        pitch = NUMBERS.choice([0.15, 0.2, 0.225, 0.3])
        covering = [tile(), layer(0.005, 0.9, 1600, 1000)] if number % 2 else [wood(), layer(0.003, 0.045, 80, 1300)]
        deck = layer(NUMBERS.choice([0.012, 0.018, 0.022]), NUMBERS.choice([0.13, 0.32]), 700, 1600)
        wool = 0.13 if kind == "over joists" else 0.037
        below = [layer(round(NUMBERS.uniform(0.08, 0.15), 3), wool, 40, 1030), layer(0.0125, 0.25, 900, 1000)]
        board = layer(0.030, 0.04, 30, 1400)
        # Over a bonded board lies a bed of adhesive.
        load = [layer(0.006, 0.9, 1600, 1000)] if kind == "two coverings" else [deck]
        if kind == "two coverings":
            board, below = layer(0.025, 0.32, 1150, 1100), [insulation(), layer(0.15, 2.0, 2400, 1000)]
        floor = {
            "kind": kind,
            "pitch": pitch,
            "pipe": {"outside": outside, "wall": wall, "conductivity": NUMBERS.choice([0.35, 0.4, 0.41])},
            "below": NUMBERS.choice([0.04, 0.17]),
            "water_film": 200.0 if kind == "laminar" else 2200.0,
            "layers": [*covering, *load, board, *below],
        }
        top = sum(it["thickness"] for it in [*covering, *load])
        floor["axis"] = top + outside / 2
        floor["board"] = {"top": top, "groove": outside, "filler": 0.9 if kind == "two coverings" else 0.03, "plate": None}
        if kind != "two coverings":
            floor["board"]["plate"] = {
                "thickness": 0.0001 if kind == "foil" else NUMBERS.choice([0.0003, 0.0005]),
                "conductivity": 160.0,
                "width": round(pitch * NUMBERS.uniform(0.5, 1.0), 3),
                "density": 2800,
                "specific_heat": 880,
            }
        made.append(floor)
    return made


def undersides(floor):
    return np.cumsum([it["thickness"] for it in floor["layers"]])


def mesh_of(floor):
    """Half a pitch, x to the side, y the depth; regions 1 for floor, 2 for the pipe wall."""
    half, depth, axis = floor["pitch"] / 2, undersides(floor)[-1], floor["axis"]
    outer = floor["pipe"]["outside"] / 2
    inner = outer - floor["pipe"]["wall"]
    angles = np.linspace(0, math.pi, SIDES // 2 + 1)
    # As large as the circle that they stand for.
    swell = math.sqrt((math.pi / SIDES) / (math.sin(math.pi / SIDES) * math.cos(math.pi / SIDES)))
    points, segments = [], []

    def point(x, y):
        for at, (a, b) in enumerate(points):
            if math.hypot(a - x, b - y) < 1e-9:
                return at
        points.append((x, y))
        return len(points) - 1

    def line(*way):
        for one, other in zip(way, way[1:]):
            segments.append((point(*one), point(*other)))

    def arc(radius):
        way = [(radius * swell * math.sin(a), axis - radius * swell * math.cos(a)) for a in angles]
        way[0], way[-1] = (0.0, way[0][1]), (0.0, way[-1][1])
        return way

    outside, inside = arc(outer), arc(inner)
    levels = [0.0, *undersides(floor)]
    for level in levels:
        if abs(abs(level - axis) - outer) < 1e-6:
            outside[0 if level < axis else -1] = (0.0, level)
    line(*outside)
    line(*inside)
    line((0, 0), (half, 0))
    line((0, depth), (half, depth))
    line((0, 0), outside[0])
    line(outside[0], inside[0])
    line(inside[-1], outside[-1])
    line(outside[-1], (0, depth))
    line(*[(half, level) for level in levels])
    for level in levels[1:-1]:
        away = abs(level - axis)
        if away > outer - 1e-6:
            # A level that touches crown or bottom begins there.
            touching = outside[0] if level < axis else outside[-1]
            line(touching if abs(touching[1] - level) < 1e-6 else (0.0, level), (half, level))
        else:
            # It meets the pipe: at the corner of the polygon that is nearest.
            corner = min(outside, key=lambda it: abs(it[1] - level) + (0 if it[0] > 0 else 1))
            line(corner, (half, level))
    return points, segments


def solve(floor):
    half, depth, axis = floor["pitch"] / 2, undersides(floor)[-1], floor["axis"]
    outer = floor["pipe"]["outside"] / 2
    board = floor["board"]
    points, segments = mesh_of(floor)
    points = list(points)
    radius = max(x for x, y in points if abs(y - axis) < 1e-6 and x < outer * 1.01)

    def point(x, y):
        for at, (a, b) in enumerate(points):
            if math.hypot(a - x, b - y) < 1e-9:
                return at
        points.append((x, y))
        return len(points) - 1

    if board:
        segments = [*segments, (point(radius, board["top"]), point(radius, axis))]
        if board["plate"]:
            point(board["plate"]["width"] / 2, board["top"])
    marks = {"vertices": np.array(points), "segments": np.array(segments)}
    inner = outer - floor["pipe"]["wall"]
    marks["holes"] = np.array([[inner / 2, axis]])
    made = triangle.triangulate(marks, "pq32a%.9f" % (half * depth / 1500))
    vertices, corners = made["vertices"], made["triangles"]
    # Finer about the pipe and the sheet.
    mesh = MeshTri(vertices.T.copy(), corners.T.copy())
    for reach in (3.0,):
        middle = mesh.p[:, mesh.t].mean(axis=1)
        near = np.hypot(middle[0], middle[1] - axis) < reach * outer
        if board and board["plate"]:
            near |= np.abs(middle[1] - board["top"]) < 0.004 * reach / 3
        mesh = mesh.refined(np.nonzero(near)[0])
    basis = InteriorBasis(mesh, ElementTriP2())

    middle = mesh.p[:, mesh.t].mean(axis=1)
    away = np.hypot(middle[0], middle[1] - axis)
    at_layer = np.minimum(np.searchsorted(undersides(floor), middle[1]), len(floor["layers"]) - 1)
    conductivity = np.array([it["conductivity"] for it in floor["layers"]])[at_layer]
    stores = np.array([it["density"] * it["specific_heat"] for it in floor["layers"]])[at_layer]
    if board:
        groove = (middle[0] < radius) & (middle[1] > board["top"]) & (middle[1] < axis)
        conductivity[groove] = board["filler"]
        stores[groove] = 1.6e6 if board["filler"] > 0.1 else 1.2e3
    wall = away < outer
    conductivity[wall] = floor["pipe"]["conductivity"]
    stores[wall] = WALL_STORES

    @BilinearForm
    def conducts(u, v, _):
        return conductivity[:, None] * dot(grad(u), grad(v))

    @BilinearForm
    def holds(u, v, _):
        return stores[:, None] * u * v

    @BilinearForm
    def film(u, v, _):
        return u * v

    @LinearForm
    def whole(v, _):
        return v

    net = conducts.assemble(basis)
    stored = holds.assemble(basis)
    top = FacetBasis(mesh, ElementTriP2(), facets=mesh.facets_satisfying(lambda x: np.abs(x[1]) < 1e-9))
    bottom = FacetBasis(mesh, ElementTriP2(), facets=mesh.facets_satisfying(lambda x: np.abs(x[1] - depth) < 1e-9))
    net = net + FILM * film.assemble(top) + film.assemble(bottom) / floor["below"]
    on_top, on_bottom = whole.assemble(top), whole.assemble(bottom)
    if board and board["plate"]:
        along, stores = plate(mesh, basis, floor, radius)
        net, stored = net + along, stored + stores

    facets = mesh.boundary_facets()
    ends = mesh.p[:, mesh.facets[:, facets]]
    at_bore = (np.hypot(ends[0], ends[1] - axis) < inner * 1.01).all(axis=0)
    if floor["water_film"]:
        wet = FacetBasis(mesh, ElementTriP2(), facets=facets[at_bore])
        to_water = floor["water_film"] * whole.assemble(wet)
        net = net + floor["water_film"] * film.assemble(wet)
        return of_film(floor, net, stored, to_water, on_top, on_bottom, basis, mesh)
    bore = basis.get_dofs(facets[at_bore]).all()
    free = np.setdiff1d(np.arange(net.shape[0]), bore)
    net = net.tocsr()
    inside = linalg.splu(net[free][:, free].tocsc())

    by_water = np.zeros(net.shape[0])
    by_water[bore] = 1.0
    by_water[free] = inside.solve(-(net[free][:, bore] @ np.ones(len(bore))))
    by_below = np.zeros(net.shape[0])
    by_below[free] = inside.solve((on_bottom / floor["below"])[free])
    surface = basis.get_dofs(mesh.facets_satisfying(lambda x: np.abs(x[1]) < 1e-9)).all()
    result = {
        "up": FILM * float(on_top @ by_water) / half,
        "down": float(on_bottom @ by_water) / half / floor["below"],
        "across": FILM * float(on_top @ by_below) / half,
        "highest": float(by_water[surface].max()),
        "nodes": int(net.shape[0]),
    }

    mean = on_top / half
    lasting = float(mean @ by_water)

    def warming(step, levels):
        held = stored.tocsr() / step
        matrix = linalg.splu((held + net)[free][:, free].tocsc())
        push = -(net[free][:, bore] @ np.ones(len(bore))) - (held[free][:, bore] @ np.ones(len(bore)))
        # The wall's inner face is warm from the start.
        push = push + held[free][:, bore] @ np.ones(len(bore))
        of_free = held[free][:, free].tocsr()
        field = np.zeros(len(free))
        return crossings(lambda it: matrix.solve(of_free @ it + push), field, mean[free],
                         lasting, step, levels, True)

    # The bore as one node that holds the water.
    tie = sparse.lil_matrix((net.shape[0], len(free) + 1))
    tie[free, np.arange(len(free))] = 1.0
    tie[bore, len(free)] = 1.0
    tie = tie.tocsr()
    tied_net, tied_stored = (tie.T @ net @ tie).tocsr(), (tie.T @ stored @ tie).tolil()
    tied_stored[len(free), len(free)] += WATER_STORES * math.pi * inner**2 / 2
    tied_stored = tied_stored.tocsr()

    def cooling(step, levels):
        matrix = linalg.splu((tied_stored / step + tied_net).tocsc())
        held = tied_stored / step
        field = np.append(by_water[free], 1.0)
        return crossings(lambda it: matrix.solve(held @ it), field, tie.T @ mean, lasting, step, levels,
                         False)

    time(result, warming, cooling)
    return result


def of_film(floor, net, stored, to_water, on_top, on_bottom, basis, mesh):
    """The same with the water behind a film: no node is as warm as it."""
    half, bore = floor["pitch"] / 2, floor["pipe"]["outside"] - 2 * floor["pipe"]["wall"]
    inside = linalg.splu(net.tocsc())
    by_water, by_below = inside.solve(to_water), inside.solve(on_bottom / floor["below"])
    surface = basis.get_dofs(mesh.facets_satisfying(lambda x: np.abs(x[1]) < 1e-9)).all()
    result = {
        "up": FILM * float(on_top @ by_water) / half,
        "down": float(on_bottom @ by_water) / half / floor["below"],
        "across": FILM * float(on_top @ by_below) / half,
        "highest": float(by_water[surface].max()),
        "nodes": int(net.shape[0]),
    }
    mean = on_top / half
    lasting = float(mean @ by_water)
    # The water as one more node.
    tied = sparse.bmat([[net, -to_water[:, None]], [-to_water[None, :], [[to_water.sum()]]]]).tocsr()
    holds = sparse.block_diag([stored, [[WATER_STORES * math.pi * bore**2 / 8]]]).tocsr()

    def warming(step, levels):
        held = stored.tocsr() / step
        matrix = linalg.splu((held + net).tocsc())
        field = np.zeros(net.shape[0])
        return crossings(lambda it: matrix.solve(held @ it + to_water), field, mean, lasting, step, levels, True)

    def cooling(step, levels):
        held = holds / step
        matrix = linalg.splu((held + tied).tocsc())
        field, seen = np.append(by_water, 1.0), np.append(mean, 0.0)
        return crossings(lambda it: matrix.solve(held @ it), field, seen, lasting, step, levels, False)

    time(result, warming, cooling)
    return result


def time(result, warming, cooling):
    for names, run, levels in [(("response", "warm_up"), warming, (math.exp(-1), 0.1)),
                               (("cool_down",), cooling, (math.exp(-1),))]:
        step = 300.0
        rough = run(step, levels)
        while rough[0] < 20 * step:
            step /= 6
            rough = run(step, levels)
        step = rough[0] / 80
        for name, fine, coarse in zip(names, run(step / 2, levels), run(step, levels)):
            result[name] = 2 * fine - coarse


def crossings(onward, field, mean, lasting, step, levels, warms):
    """When the share that is lacking or left falls to each level."""
    now_is, last, found = 0.0, 1.0, []
    while len(found) < len(levels):
        field = onward(field)
        share = float(mean @ field) / lasting
        now = 1 - share if warms else share
        while len(found) < len(levels) and now <= levels[len(found)]:
            level = levels[len(found)]
            found.append(now_is + step * math.log(last / level) / math.log(last / max(now, 1e-12)))
        last, now_is = now, now_is + step
    return found


def plate(mesh, basis, floor, radius):
    """The plate: on the board's top, down the groove's wall, about the lower half of the pipe; what it conducts and stores."""
    board, axis, outer = floor["board"], floor["axis"], floor["pipe"]["outside"] / 2
    sheet = board["plate"]
    along = sheet["thickness"] * sheet["conductivity"]
    stores = sheet["thickness"] * sheet.get("density", 0) * sheet.get("specific_heat", 0)
    width = board["plate"]["width"] / 2
    ends = mesh.p[:, mesh.facets]
    (xa, xb), (ya, yb) = ends[0], ends[1]
    near = 1e-7
    top = (np.abs(ya - board["top"]) < near) & (np.abs(yb - board["top"]) < near)
    top &= (np.minimum(xa, xb) > radius - near) & (np.maximum(xa, xb) < width + near)
    side = (np.abs(xa - radius) < near) & (np.abs(xb - radius) < near)
    side &= (np.minimum(ya, yb) > board["top"] - near) & (np.maximum(ya, yb) < axis + near)
    on_pipe = np.abs(np.hypot(xa, ya - axis) - outer) < 2e-3 * outer
    on_pipe &= np.abs(np.hypot(xb, yb - axis) - outer) < 2e-3 * outer
    on_pipe &= np.minimum(ya, yb) > axis - near
    rows, columns, values, held = [], [], [], []
    pattern = np.array([[7, 1, -8], [1, 7, -8], [-8, -8, 16]]) / 3.0
    mass = np.array([[4, -1, 2], [-1, 4, 2], [2, 2, 16]]) / 30.0
    for facet in np.nonzero(top | side | on_pipe)[0]:
        one, other = mesh.facets[:, facet]
        length = float(np.hypot(*(mesh.p[:, one] - mesh.p[:, other])))
        nodes = [basis.nodal_dofs[0, one], basis.nodal_dofs[0, other], basis.facet_dofs[0, facet]]
        for a in range(3):
            for b in range(3):
                rows.append(nodes[a])
                columns.append(nodes[b])
                values.append(along / length * pattern[a, b])
                held.append(stores * length * mass[a, b])
    of = lambda it: sparse.coo_matrix((it, (rows, columns)), shape=(basis.N, basis.N)).tocsr()
    return of(values), of(held)


def main():
    made = []
    for floor in floors():
        made.append({**floor, "is": solve(floor)})
        print(len(made), floor["kind"], made[-1]["is"], file=sys.stderr)
    versions = {"scikit-fem": skfem.__version__, "triangle": "20250106", "numpy": np.__version__,
                "scipy": scipy.__version__, "python": sys.version.split()[0]}
    print(json.dumps({"made_with": versions, "floors": made}, indent=1))


main()
