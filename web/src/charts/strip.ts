/** Blanks on a strip: paths with bulge arcs, placed, in millimetres with y up. */

/** A point and the bulge of the piece that leaves it: the tangent of a quarter of its arc, above 0 to the left. */
export type Point = readonly [x: number, y: number, bulge: number];
export type Path = readonly Point[];
export interface Place {
  x_mm: number;
  y_mm: number;
  rot_deg: number;
  mirrored: boolean;
}
export interface Box {
  left: number;
  right: number;
  low: number;
  high: number;
}

/** Paths as the server sends them. */
export function pathsOf(sent: readonly (readonly (readonly number[])[])[]): Path[] {
  return sent.map((path) => path.map(([x = 0, y = 0, bulge = 0]) => [x, y, bulge] as const));
}

const STRAIGHT = 1e-9;
const FULL = 2 * Math.PI;

interface Arc {
  x: number;
  y: number;
  radius: number;
  from: number;
  sweep: number;
}

/** The arc between two points; none where the piece is straight. */
export function arc(from: Point, to: Point): Arc | null {
  const [bulge, dx, dy] = [from[2], to[0] - from[0], to[1] - from[1]];
  const chord = Math.hypot(dx, dy);
  if (Math.abs(bulge) < STRAIGHT || chord < STRAIGHT) return null;
  // From the chord's middle to the centre, along the chord's left normal.
  const off = (1 - bulge * bulge) / (4 * bulge);
  const [x, y] = [(from[0] + to[0]) / 2 - dy * off, (from[1] + to[1]) / 2 + dx * off];
  return {
    x,
    y,
    radius: (chord * (1 + bulge * bulge)) / (4 * Math.abs(bulge)),
    from: Math.atan2(from[1] - y, from[0] - x),
    sweep: 4 * Math.atan(bulge),
  };
}

/** Turned over across the first axis, turned about the origin, put at its place. */
export function placed(path: Path, place: Place): Point[] {
  const turn = (place.rot_deg * Math.PI) / 180;
  const [cos, sin] = [Math.cos(turn), Math.sin(turn)];
  return path.map(([x, up, bulge]) => {
    const y = place.mirrored ? -up : up;
    return [x * cos - y * sin + place.x_mm, x * sin + y * cos + place.y_mm, place.mirrored ? -bulge : bulge] as const;
  });
}

const next = (path: Path, i: number): Point => path[(i + 1) % path.length] as Point;

/** What the path reaches, arcs included. */
export function box(path: Path): Box {
  const reach: Box = { left: Infinity, right: -Infinity, low: Infinity, high: -Infinity };
  const take = (x: number, y: number): void => {
    reach.left = Math.min(reach.left, x);
    reach.right = Math.max(reach.right, x);
    reach.low = Math.min(reach.low, y);
    reach.high = Math.max(reach.high, y);
  };
  path.forEach((point, i) => {
    take(point[0], point[1]);
    const round = arc(point, next(path, i));
    if (!round) return;
    for (let quarter = 0; quarter < 4; quarter += 1) {
      const angle = (quarter * Math.PI) / 2;
      const turned = round.sweep > 0 ? angle - round.from : round.from - angle;
      const along = ((turned % FULL) + FULL) % FULL;
      if (along < Math.abs(round.sweep))
        take(round.x + round.radius * Math.cos(angle), round.y + round.radius * Math.sin(angle));
    }
  });
  return reach;
}

export type To = (x: number, y: number) => readonly [number, number];

/** The path as SVG writes it, on a drawing of one scale whose y runs down. */
export function drawn(path: Path, to: To, scale: number): string {
  const at = (x: number, y: number): string =>
    to(x, y)
      .map((value) => value.toFixed(2))
      .join(" ");
  const pieces = path.map((point, i) => {
    const end = next(path, i);
    const round = arc(point, end);
    if (!round) return `L${at(end[0], end[1])}`;
    const radius = (round.radius * scale).toFixed(2);
    return `A${radius} ${radius} 0 ${Math.abs(round.sweep) > Math.PI ? 1 : 0} ${round.sweep > 0 ? 0 : 1} ${at(end[0], end[1])}`;
  });
  const first = path[0];
  return first ? `M${at(first[0], first[1])}${pieces.join("")}Z` : "";
}

/** Length of strip to draw: the first pitch's blanks whole, and some of the next. */
export function lengthOf(
  placements: readonly Placing[],
  outlines: readonly (readonly Path[] | null)[],
  pitch: number,
): number {
  const ends = placements.flatMap((place) => {
    const outer = outlines[place.part]?.[0];
    return outer ? [box(placed(outer, place)).right] : [];
  });
  return Math.max(pitch, ...ends) + 0.25 * pitch;
}

export interface Blank {
  part: number;
  repeat: number;
  number: number;
  paths: Point[][];
  box: Box;
  mirrored: boolean;
}
export interface Placing extends Place {
  part: number;
}

/** All blanks that show on a length of strip from 0, the first pitch's numbered. */
export function blanks(
  placements: readonly Placing[],
  outlines: readonly (readonly Path[] | null)[],
  pitch: number,
  length: number,
): Blank[] {
  const all: Blank[] = [];
  placements.forEach((place, i) => {
    const outline = outlines[place.part];
    if (!outline) return;
    const here = outline.map((path) => placed(path, place));
    const outer = here[0];
    if (!outer) return;
    const reach = box(outer);
    const step = Math.max(pitch, 1e-6);
    for (let repeat = Math.floor(-reach.right / step) + 1; reach.left + repeat * step < length; repeat += 1) {
      const paths = here.map((path) => path.map(([x, y, bulge]) => [x + repeat * step, y, bulge] as const));
      all.push({
        part: place.part,
        repeat,
        number: i + 1,
        paths,
        mirrored: place.mirrored,
        box: { ...reach, left: reach.left + repeat * step, right: reach.right + repeat * step },
      });
    }
  });
  return all;
}

/** The path's corners, arcs as chords. */
function corners(path: Path): [number, number][] {
  return path.flatMap((point, i): [number, number][] => {
    const round = arc(point, next(path, i));
    if (!round) return [[point[0], point[1]]];
    return Array.from({ length: 6 }, (_, n): [number, number] => {
      const angle = round.from + (round.sweep * n) / 6;
      return [round.x + round.radius * Math.cos(angle), round.y + round.radius * Math.sin(angle)];
    });
  });
}

/** A place on the metal of a blank for its number, far from its edges and holes: the middle of its box may lie in a gap that another blank fills. */
export function middle(paths: readonly Path[], reach: Box): [x: number, y: number] {
  const edges = paths.flatMap((path) => {
    const points = corners(path);
    return points.map((from, i) => [from, points[(i + 1) % points.length] ?? from] as const);
  });
  const centre: [number, number] = [(reach.left + reach.right) / 2, (reach.low + reach.high) / 2];
  const room = ([x, y]: readonly [number, number]): number => {
    let [inside, least] = [false, Infinity];
    for (const [[x1, y1], [x2, y2]] of edges) {
      if (y1 > y !== y2 > y && x < x1 + ((y - y1) / (y2 - y1)) * (x2 - x1)) inside = !inside;
      const [dx, dy] = [x2 - x1, y2 - y1];
      const along = Math.min(1, Math.max(0, ((x - x1) * dx + (y - y1) * dy) / (dx * dx + dy * dy || 1)));
      least = Math.min(least, Math.hypot(x - x1 - along * dx, y - y1 - along * dy));
    }
    return inside ? least : -least;
  };
  const MOST = 24;
  let [best, most] = [centre, room(centre)];
  for (let column = 1; column < MOST; column += 1) {
    for (let row = 1; row < MOST; row += 1) {
      const at: [number, number] = [
        reach.left + ((reach.right - reach.left) * column) / MOST,
        reach.low + ((reach.high - reach.low) * row) / MOST,
      ];
      const here = room(at);
      // Near the centre where it matters little.
      if (here > most * 1.1 + 1e-9) [best, most] = [at, here];
    }
  }
  return best;
}
