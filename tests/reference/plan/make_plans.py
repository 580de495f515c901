"""Random plans and what shapely makes of them, to hold the project's plan geometry against.

Made with shapely 2.2.0 (GEOS 3.14.1) on Python 3.11.7, which `made_with` in plans.json repeats:
    pip install shapely==2.2.0
    python3 make_plans.py > plans.json

Every plan has a room, a second shape, keep-clear areas, a route, a second route and lines, all in
general position: no corner lies on another line, so that touching never comes into it. Coordinates
have three decimals, as a plan in millimetres has. Lengths are in metres, areas in square metres.

What begins with `bent` is of the two routes with their corners rounded to a bend radius. Where bends drawn as more or as fewer
straight pieces give another count, it is null.
"""

import json
import math
import random
import sys

import shapely
from shapely.geometry import LineString, Point, Polygon
from shapely.ops import split, substring, unary_union

PLANS = 240
NUMBERS = random.Random(1264)
# Of the first and the second route.
SPACINGS = [0.45, 0.3]
BEND_RADIUS = 0.2
# The tangent of half the angle of a turn; at a greater one a corner all but doubles back and is not rounded.
DOUBLES_BACK = 4.0


def number(least, greatest):
    return round(NUMBERS.uniform(least, greatest), 3)


def star(corners, centre, least, greatest):
    """A simple outline: corners round a centre, in order of their angle."""
    angles = sorted(NUMBERS.uniform(0, 2 * math.pi) for _ in range(corners))
    points = []
    for angle in angles:
        radius = NUMBERS.uniform(least, greatest)
        points.append([round(centre[0] + radius * math.cos(angle), 3), round(centre[1] + radius * math.sin(angle), 3)])
    if NUMBERS.random() < 0.5:
        points.reverse()
    return points


def simple(make):
    while True:
        points = make()
        shape = Polygon(points)
        if shape.is_valid and shape.area > 0.01:
            return points, shape


def walk(legs, reach):
    return [[number(-1, reach), number(-1, reach)] for _ in range(legs + 1)]


def single_points(shape):
    """How many single points two lines share; None where they share a stretch."""
    if shape.is_empty:
        return 0
    parts = list(getattr(shape, "geoms", [shape]))
    return len(parts) if all(part.geom_type == "Point" for part in parts) else None


def self_crossings(points):
    legs = [LineString(points[i : i + 2]) for i in range(len(points) - 1)]
    return sum(
        legs[i].intersects(legs[j]) for i in range(len(legs)) for j in range(i + 2, len(legs))
    )


def bent(points, pieces):
    """The line with bends of so many straight pieces each, and its length with true arcs."""
    legs = [math.dist(a, b) for a, b in zip(points, points[1:])]
    headings = [math.atan2(b[1] - a[1], b[0] - a[0]) for a, b in zip(points, points[1:])]
    turns = [math.remainder(b - a, 2 * math.pi) for a, b in zip(headings, headings[1:])]
    takes = [0.0] + [math.tan(abs(turn) / 2) for turn in turns] + [0.0]
    line, length = [points[0]], sum(legs)
    for corner, turn in enumerate(turns, start=1):
        x, y = points[corner]
        if takes[corner] > DOUBLES_BACK:
            line.append((x, y))
            continue
        # A leg is lent to the corners at its ends by what they take for one radius.
        takers = [take if take <= DOUBLES_BACK else 0.0 for take in takes]
        room = [legs[leg] / (takers[leg] + takers[leg + 1]) for leg in (corner - 1, corner)]
        radius = min(BEND_RADIUS, *room)
        taken = radius * takes[corner]
        length += radius * abs(turn) - 2 * taken
        came = headings[corner - 1]
        side = math.copysign(1.0, turn)
        middle_x = x - taken * math.cos(came) - side * radius * math.sin(came)
        middle_y = y - taken * math.sin(came) + side * radius * math.cos(came)
        for piece in range(pieces + 1):
            angle = came - side * math.pi / 2 + turn * piece / pieces
            line.append((middle_x + radius * math.cos(angle), middle_y + radius * math.sin(angle)))
    line.append(points[-1])
    # Two bends may take all of the leg between them.
    apart = [at for before, at in zip(line, line[1:]) if math.dist(before, at) > 1e-6]
    return LineString([line[0], *apart]), length


def where_sure(count, route, second):
    """A count of bent lines, if it does not hang on how finely their bends are drawn."""
    counts = [count(bent(route, pieces)[0], bent(second, pieces)[0]) for pieces in (16, 40, 100)]
    return counts[0] if len(set(counts)) == 1 else None


def as_bent(route, second, room_shape, free, lines):
    path, length = bent(route, 200)
    second_path, _ = bent(second, 200)
    near = unary_union([line.buffer(spacing / 2, quad_segs=64) for line, spacing in zip([path, second_path], SPACINGS)])
    # Bends in straight pieces cross themselves where two of those do that do not follow each other.
    own = lambda line, _: self_crossings(list(line.coords))
    return {
        "bent_length": length,
        "bent_in_room": path.intersection(room_shape).length,
        "bent_covered": free.intersection(near).area / free.area if free.area > 0 else None,
        "bent_line_crossings": [
            where_sure(lambda bent_path, _: single_points(bent_path.intersection(LineString(line))), route, second)
            for line in lines
        ],
        "bent_room_crossings": where_sure(
            lambda bent_path, _: single_points(bent_path.intersection(room_shape.exterior)), route, second
        ),
        "bent_route_crossings": where_sure(lambda one, other: single_points(one.intersection(other)), route, second),
        "bent_self_crossings": where_sure(own, route, second),
        "bent_edge_distance": path.distance(room_shape.exterior),
    }


def plan():
    reach = 8
    room, room_shape = simple(lambda: star(NUMBERS.randint(3, 12), (4, 4), 1.0, 4.5))
    other, other_shape = simple(lambda: star(NUMBERS.randint(3, 8), (number(2, 6), number(2, 6)), 0.5, 3.5))
    keep_clear, keep_shapes = [], []
    for _ in range(NUMBERS.randint(0, 4)):
        points, shape = simple(lambda: star(NUMBERS.randint(3, 6), (number(1, 7), number(1, 7)), 0.2, 1.5))
        keep_clear.append(points)
        keep_shapes.append(shape)
    route, second = walk(NUMBERS.randint(3, 27), reach), walk(NUMBERS.randint(2, 12), reach)
    lines = [walk(NUMBERS.randint(1, 3), reach) for _ in range(4)]
    probe = [number(-2, 10), number(-2, 10)]

    path, second_path = LineString(route), LineString(second)
    cut = path.intersection(room_shape)
    # Far from every end, so that a stretch of it can be named by its length.
    stretch = [round(path.length * 0.2, 3), round(path.length * 0.7, 3)]
    stretch_path = substring(path, *stretch)
    box = room_shape.minimum_rotated_rectangle
    corners = list(box.exterior.coords)
    sides = sorted(math.dist(corners[i], corners[i + 1]) for i in range(2))
    joint = [[-50.0, number(1, 7)], [50.0, number(1, 7)]]
    bays = sorted(part.area for part in split(room_shape, LineString(joint)).geoms)
    keep = unary_union(keep_shapes) if keep_shapes else Polygon()
    free = room_shape.difference(keep)
    # Round the ends and the corners, as a pipe warms the floor; a circle of 256 sides is a ten-thousandth too small.
    near = unary_union([line.buffer(spacing / 2, quad_segs=64) for line, spacing in zip([path, second_path], SPACINGS)])
    return {
        "room": room,
        "other": other,
        "keep_clear": keep_clear,
        "route": route,
        "second": second,
        "lines": lines,
        "probe": probe,
        "stretch": stretch,
        "joint": joint,
        "spacings": SPACINGS,
        "is": {
            "area": room_shape.area,
            "perimeter": room_shape.length,
            "bounds": list(room_shape.bounds),
            "rectangle": sides,
            "free": free.area,
            "covered": free.intersection(near).area / free.area if free.area > 0 else None,
            "overlap": room_shape.intersection(other_shape).area,
            "contains": room_shape.contains(Point(probe)),
            "probe_to_edge": Point(probe).distance(room_shape.exterior),
            "route_length": path.length,
            "in_room": cut.length,
            "in_other": path.intersection(other_shape).length,
            "only_in_other": path.intersection(other_shape.difference(room_shape)).length,
            "under_keep_clear": path.intersection(keep).length,
            "line_crossings": [single_points(path.intersection(LineString(line))) for line in lines],
            "room_crossings": single_points(path.intersection(room_shape.exterior)),
            "route_crossings": single_points(path.intersection(second_path)),
            "self_crossings": self_crossings(route),
            "line_clearances": [stretch_path.distance(LineString(line)) for line in lines],
            "edge_clearance": stretch_path.distance(room_shape.exterior),
            "bays": bays,
            **as_bent(route, second, room_shape, free, lines),
        },
    }


def rounded(value):
    if isinstance(value, float):
        return round(value, 10)
    if isinstance(value, list):
        return [rounded(one) for one in value]
    if isinstance(value, dict):
        return {key: rounded(one) for key, one in value.items()}
    return value


def main():
    plans = [rounded(plan()) for _ in range(PLANS)]
    made_with = f"shapely {shapely.__version__}, GEOS {shapely.geos_version_string}, Python {sys.version.split()[0]}"
    print('{"made_with": ' + json.dumps(made_with) + ', "plans": [')
    print(",\n".join(json.dumps(one, separators=(",", ":")) for one in plans))
    print("]}")


main()
