"""What shapely makes of the routes that the project lays out.

Made with shapely 2.2.0 (GEOS 3.14.1) on Python 3.11.7. When layouts change on purpose:
    WRITE_LAYOUTS=1 cargo test -p engineering layouts_held_against_shapely
    pip install shapely==2.2.0
    python3 measure_layouts.py layouts.json > new.json && mv new.json layouts.json

The first writes rooms and routes, the last adds what they are: length, whether the route meets itself, how near it comes
to the walls and to what must stay clear, and how much of the free floor lies within half a spacing of it.
"""

import json
import sys

import shapely
from shapely.geometry import LineString, Polygon
from shapely.ops import unary_union


def measured(layout):
    room = Polygon(layout["room"])
    kept = [Polygon(points) for points in layout["keep_clear"]]
    route = LineString(layout["route"])
    free = room.difference(unary_union(kept)) if kept else room
    near = route.buffer(layout["spacing"] / 2, quad_segs=64)
    edges = [room.exterior] + [shape.exterior for shape in kept]
    return {
        "length": route.length,
        "simple": route.is_simple,
        "within": route.within(free),
        "nearest": min(edge.distance(route) for edge in edges),
        "covered": free.intersection(near).area / free.area,
    }


layouts = json.load(open(sys.argv[1]))["layouts"]
lines = [json.dumps({**layout, "is": measured(layout)}, separators=(",", ":")) for layout in layouts]
made_with = f"shapely {shapely.__version__}, GEOS {shapely.geos_version_string}"
print('{"made_with": "' + made_with + '", "layouts": [\n' + ",\n".join(lines) + "\n]}")
