"""What shapely makes of the routes that the project lays out.

Made with shapely 2.2.0 (GEOS 3.14.1) on Python 3.11.7. When layouts change on purpose:
    WRITE_LAYOUTS=1 cargo test -p engineering held_against_shapely
    pip install shapely==2.2.0
    python3 measure_layouts.py layouts.json > new.json && mv new.json layouts.json
    python3 measure_layouts.py homes.json > new.json && mv new.json homes.json

The first writes rooms and routes (and its tests fail), the others add what they are: length, whether the route meets itself, how
near it comes to the walls and to what must stay clear, and how much of the free floor lies within half a spacing of it, with its
corners bent to the radius of the pipe, or as far as they can be. Of homes, whose loops have tails that go through doorways:
how many pairs of routes meet, and whether each stays within the free floor of all rooms and their doorways.
"""

import json
import math
import sys

import shapely
from shapely.geometry import LineString, Polygon
from shapely.ops import unary_union


def bent(points, radius):
    """The line with an arc at each corner: of the radius, or of the largest that fits between the arcs beside it."""
    count = len(points)
    legs = [math.dist(points[at], points[at + 1]) for at in range(count - 1)]
    turns = [0.0] * count
    for at in range(1, count - 1):
        (ax, ay), (bx, by), (cx, cy) = points[at - 1 : at + 2]
        cross = (bx - ax) * (cy - by) - (by - ay) * (cx - bx)
        turns[at] = math.atan2(cross, (bx - ax) * (cx - bx) + (by - ay) * (cy - by))
    takes = [math.tan(abs(turn) / 2) for turn in turns]
    line = [points[0]]
    for at in range(1, count - 1):
        if takes[at] < 1e-6:
            line.append(points[at])
            continue
        fits = min(legs[at - 1] / (takes[at - 1] + takes[at]), legs[at] / (takes[at] + takes[at + 1]))
        of_corner = min(radius, fits)
        taken = of_corner * takes[at]
        (ax, ay), (bx, by) = points[at - 1], points[at]
        ux, uy = (bx - ax) / legs[at - 1], (by - ay) / legs[at - 1]
        side = math.copysign(1.0, turns[at])
        x, y = bx - ux * taken - side * uy * of_corner, by - uy * taken + side * ux * of_corner
        start = math.atan2(by - uy * taken - y, bx - ux * taken - x)
        line += [(x + of_corner * math.cos(start + turns[at] * n / 12), y + of_corner * math.sin(start + turns[at] * n / 12)) for n in range(13)]
    return line + [points[-1]]


def near(points, spacing):
    """What lies within half a spacing of a line, leg by leg: GEOS fills holes in the buffer of a line that comes back beside itself."""
    legs = shapely.linestrings([list(leg) for leg in zip(points, points[1:]) if leg[0] != leg[1]])
    return shapely.union_all(shapely.buffer(legs, spacing / 2, quad_segs=24))


def measured(layout):
    room = Polygon(layout["room"])
    kept = [Polygon(points) for points in layout["keep_clear"]]
    route = LineString(layout["route"])
    free = room.difference(unary_union(kept)) if kept else room
    lying = bent(layout["route"], layout["bend_radius"])
    warm = near(lying, layout["spacing"])
    edges = [room.exterior] + [shape.exterior for shape in kept]
    return {
        "length": route.length,
        "simple": route.is_simple,
        "within": route.within(free),
        "nearest": min(edge.distance(LineString(lying)) for edge in edges),
        "covered": free.intersection(warm).area / free.area,
    }


def measured_home(home):
    free = []
    for room, kept in zip(home["rooms"], home["keep_clear"]):
        kept = [Polygon(points) for points in kept]
        free.append(Polygon(room).difference(unary_union(kept)) if kept else Polygon(room))
    floor = unary_union(free + [Polygon(points) for points in home["doorways"]]).buffer(1e-4)
    routes = [LineString(loop["route"]) for loop in home["loops"]]
    warm = unary_union([near(bent(loop["route"], loop["bend_radius"]), loop["spacing"]) for loop in home["loops"]])
    pairs = [(one, other) for at, one in enumerate(routes) for other in routes[at + 1 :]]
    return {
        "crossings": sum(one.intersects(other) for one, other in pairs),
        "covered": [room.intersection(warm).area / room.area for room in free],
        "loops": [
            {"length": route.length, "simple": route.is_simple, "within": route.within(floor)} for route in routes
        ],
    }


((key, scenes),) = [(key, scenes) for key, scenes in json.load(open(sys.argv[1])).items() if key != "made_with"]
measure = {"layouts": measured, "homes": measured_home}[key]
lines = [json.dumps({**scene, "is": measure(scene)}, separators=(",", ":")) for scene in scenes]
made_with = f"shapely {shapely.__version__}, GEOS {shapely.geos_version_string}"
print('{"made_with": "' + made_with + '", "' + key + '": [\n' + ",\n".join(lines) + "\n]}")
