"""Strip layouts of `linewright solve strip`, measured by Shapely.

Random outlines with bays, arcs and holes. For each: area and length of the cut;
on every finished layout the least distance between neighbouring blanks, their
overlap and the distance to the strip's edges; the utilisation. Then layouts made
without any method, by moving a blank along the feed until it is clear: none may
beat the stated bound, and the best single row may not fall behind the best of them
by more than 1e-4.

Shapely knows no arcs: they are cut into chords that leave them by no more than
`SAG`, so figures of round outlines are compared within that.
"""

import json
import math
import random
import subprocess
import sys

from shapely import affinity
from shapely.geometry import Polygon

from asking import Tally, binary

SEED = 20_250_211
OUTLINES = 48
SAG = 1e-3
KINDS = ["single", "opposed_pair", "two_row", "three_row"]


def ask(question):
    """The answer to a question; `best` is none where no layout keeps the limits."""
    asked = subprocess.run([binary(), "solve", "strip", "-"], input=json.dumps(question),
                           stdout=subprocess.PIPE, text=True)
    if asked.returncode not in (0, 1):
        sys.exit(f"linewright solve strip ended with {asked.returncode}")
    return json.loads(asked.stdout)


def arc(start, end, bulge):
    """Points of a bulged edge, its start included and its end left out."""
    (x0, y0), (x1, y1) = start, end
    if bulge == 0.0:
        return [start]
    across = (1.0 - bulge * bulge) / (4.0 * bulge)
    cx = (x0 + x1) / 2 - (y1 - y0) * across
    cy = (y0 + y1) / 2 + (x1 - x0) * across
    radius = math.hypot(x0 - cx, y0 - cy)
    sweep = 4.0 * math.atan(bulge)
    step = 2.0 * math.acos(max(1.0 - SAG / radius, 0.0))
    parts = max(1, math.ceil(abs(sweep) / step))
    first = math.atan2(y0 - cy, x0 - cx)
    return [start] + [(cx + radius * math.cos(first + sweep * k / parts),
                       cy + radius * math.sin(first + sweep * k / parts))
                      for k in range(1, parts)]


def ring(points):
    """The corners of a path of points [x, y] or [x, y, bulge]."""
    corners = []
    for here, after in zip(points, points[1:] + points[:1]):
        corners += arc(tuple(here[:2]), tuple(after[:2]), here[2] if len(here) > 2 else 0.0)
    return corners


def outline(rng):
    """A blank round the origin: some edges round, some with a round hole."""
    while True:
        n = rng.randint(3, 16)
        round_edges = rng.random() < 0.5
        points = []
        for k in range(n):
            angle = 2.0 * math.pi * (k + rng.uniform(0.1, 0.9)) / n
            radius = rng.uniform(100.0, 400.0)
            point = [radius * math.cos(angle), radius * math.sin(angle)]
            if round_edges and rng.random() < 0.4:
                point.append(rng.uniform(-0.5, 0.5))
            points.append(point)
        blank = Polygon(ring(points))
        if not blank.is_valid or blank.area < 30_000.0 or blank.buffer(-15.0).is_empty:
            continue
        holes = []
        if rng.random() < 0.3:
            at = blank.buffer(-15.0).representative_point()
            room = 0.6 * blank.exterior.distance(at)
            holes.append([[at.x - room, at.y, 1.0], [at.x + room, at.y, 1.0]])
        return points, holes, round_edges or bool(holes)


def placed(shape, place, shift=0.0):
    if place["mirrored"]:
        shape = affinity.scale(shape, 1.0, -1.0, origin=(0, 0))
    shape = affinity.rotate(shape, place["rot_deg"], origin=(0, 0))
    return affinity.translate(shape, place["x"] + shift, place["y"])


def neighbours(layout, blank):
    """Least distance and greatest overlap of any two blanks, least distance to
    the edges."""
    first = [placed(blank, place) for place in layout["placements"]]
    widest = max(shape.bounds[2] - shape.bounds[0] for shape in first)
    reach = math.ceil(2.0 * widest / layout["pitch_mm"]) + 1
    distance, overlap = math.inf, 0.0
    for i, one in enumerate(first):
        for place in layout["placements"][i:]:
            for k in range(-reach, reach + 1):
                if place is layout["placements"][i] and k <= 0:
                    continue
                two = placed(blank, place, k * layout["pitch_mm"])
                apart = one.distance(two)
                distance = min(distance, apart)
                if apart == 0.0:
                    overlap = max(overlap, one.intersection(two).area)
    low = min(shape.bounds[1] for shape in first)
    high = max(shape.bounds[3] for shape in first)
    return distance, overlap, min(low, layout["width_mm"] - high)


def slack_of(is_round):
    """What two measurements may differ by, mm."""
    return 4.0 * SAG if is_round else 1e-6


def compare(tally, n, points, holes, is_round, web, edge):
    question = {"outline": points, "holes": holes, "web_mm": web, "edge_mm": edge, "layouts": KINDS}
    answer = ask(question)
    blank = Polygon(ring(points))
    metal = Polygon(ring(points), [ring(hole) for hole in holes])
    slack = slack_of(is_round)
    name = f"outline {n} ({len(points)} points{', round' if is_round else ''})"
    area, length = answer["area_mm2"], answer["cut_length_mm"]
    cut = metal.length
    tally.line(abs(area - metal.area) <= slack * cut, f"{name}: area {area:.3f}, {metal.area:.3f}")
    tally.line(abs(length - cut) <= slack * 0.1 * cut, f"{name}: cut {length:.4f}, {cut:.4f}")
    for layout in answer["layouts"]:
        distance, overlap, to_edges = neighbours(layout, blank)
        title = f"{name}, {layout['layout']}"
        tally.line(overlap == 0.0 and abs(distance - layout["clearance_mm"]) <= slack
                   and distance >= web - slack,
                   f"{title}: {layout['clearance_mm']:.6f} apart, {distance:.6f}, web {web:.6f}")
        tally.line(abs(to_edges - layout["edge_clearance_mm"]) <= slack and to_edges >= edge - slack,
                   f"{title}: {layout['edge_clearance_mm']:.6f} to the edges, {to_edges:.6f}")
        strip = layout["pitch_mm"] * layout["width_mm"]
        used = layout["blanks_per_pitch"] * metal.area / strip
        tally.line(abs(used - layout["utilisation"]) <= slack * 1e-2 and used <= layout["bound"] + slack,
                   f"{title}: {layout['utilisation']:.6f} used, {used:.6f}, bound {layout['bound']:.6f}")
    return answer, blank, metal


def clear_from(shape, other, web, start, step):
    """The first shift along the feed from `start` on at which two shapes are clear,
    to a thousandth of a millimetre and on the clear side."""
    shift = start
    while shape.distance(affinity.translate(other, shift)) < web:
        shift += step
    low, high = shift - step, shift
    while abs(high - low) > 1e-4:
        middle = (low + high) / 2
        if shape.distance(affinity.translate(other, middle)) < web:
            low = middle
        else:
            high = middle
    return high


def by_hand(tally, n, answer, blank, metal, web, edge, slack, rng):
    """Layouts without any method against the bounds."""
    # Chords make a round blank a little slimmer.
    hair = slack * 1e-2 + 1e-9
    single, pair = answer["layouts"][0], answer["layouts"][1]
    best = 0.0
    highest_pair = 0.0
    angles = [single["angle_deg"]] + [5.0 * k for k in range(36)]
    for angle in angles:
        turned = affinity.rotate(blank, angle, origin=(0, 0))
        width, height = turned.bounds[2] - turned.bounds[0], turned.bounds[3] - turned.bounds[1]
        pitch = clear_from(turned, turned, web, 0.01 * width, 0.01 * width)
        best = max(best, metal.area / (pitch * (height + 2.0 * edge)))
        # A second blank turned half round at any offset across the strip.
        offset = rng.uniform(-1.0, 1.0) * height
        other = affinity.translate(affinity.rotate(blank, angle + 180.0, origin=(0, 0)), 0.0, offset)
        right = clear_from(turned, other, web, 0.0, 0.01 * width) if turned.distance(other) < web else 0.0
        left = -clear_from(affinity.scale(turned, -1.0, 1.0, origin=(0, 0)),
                           affinity.scale(other, -1.0, 1.0, origin=(0, 0)), web, 0.0, 0.01 * width) \
            if turned.distance(other) < web else 0.0
        spread = max(pitch, right - left)
        # Both must also be clear of the others' neighbours.
        again = [affinity.translate(other, right + k * spread) for k in range(-4, 5)]
        rows = [affinity.translate(turned, k * spread) for k in range(1, 5)]
        if all(turned.distance(shape) >= web for shape in again + rows) \
                and all(other.distance(affinity.translate(other, k * spread)) >= web for k in range(1, 5)):
            low = min(turned.bounds[1], other.bounds[1])
            high = max(turned.bounds[3], other.bounds[3])
            highest_pair = max(highest_pair, 2.0 * metal.area / (spread * (high - low + 2.0 * edge)))
    tally.line(best <= single["bound"] + hair and best <= single["utilisation"] + 1e-4,
               f"outline {n}: single row {single['utilisation']:.6f}, by hand {best:.6f}")
    tally.line(highest_pair <= pair["bound"] + hair,
               f"outline {n}: bound of pairs {pair['bound']:.6f}, by hand {highest_pair:.6f}")


def main():
    rng = random.Random(SEED)
    tally = Tally()
    for n in range(OUTLINES):
        points, holes, is_round = outline(rng)
        web, edge = rng.uniform(1.0, 12.0), rng.uniform(1.0, 12.0)
        answer, blank, metal = compare(tally, n, points, holes, is_round, web, edge)
        if n % 6 == 0:
            by_hand(tally, n, answer, blank, metal, web, edge, slack_of(is_round), rng)
    return tally.close()


if __name__ == "__main__":
    sys.exit(main())
