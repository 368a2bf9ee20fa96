/**
 * The network from coil to car: stations of a line stand in a block, top to
 * bottom; blocks stand in columns by the longest way that leads to them.
 */

export interface Place {
  name: string;
  shop: string;
  line: string;
}
export interface Edge {
  from: string;
  to: string;
  rework: boolean;
}
export interface Spot {
  name: string;
  x: number;
  y: number;
  block: number;
}
export interface Block {
  shop: string;
  line: string;
  x: number;
  y: number;
  width: number;
  height: number;
  stations: string[];
}
export interface Bundle {
  from: number;
  to: number;
  count: number;
  rework: boolean;
}
export interface Layout {
  blocks: Block[];
  spots: Map<string, Spot>;
  bundles: Bundle[];
  width: number;
  height: number;
}

export const CELL = { width: 160, height: 17 };
const TITLE = 24;
const GAP = { x: 50, y: 24 };
/** A longer line goes on in a second column of its block. */
const TALLEST = 12;

/** Lays out for a picture of the given proportions (width over height). */
export function layOut(places: Place[], edges: Edge[], proportions = 2): Layout {
  const groups = new Map<string, Place[]>();
  for (const place of places) {
    const key = `${place.shop}\n${place.line}`;
    const group = groups.get(key);
    if (group) group.push(place);
    else groups.set(key, [place]);
  }
  const members = [...groups.values()];
  const blockOf = new Map<string, number>();
  members.forEach((group, block) => group.forEach((place) => blockOf.set(place.name, block)));
  const bundles = bundle(edges, blockOf);
  const columns = columnsOf(
    members.length,
    bundles.filter(({ rework }) => !rework),
  );
  // A long plant goes on below, like text, where that lets it be drawn larger.
  let best: Layout | null = null;
  for (let bands = 1; bands <= 6; bands += 1) {
    const layout = place(members, columns, bundles, bands);
    const size = Math.max(layout.width, layout.height * proportions);
    if (best === null || size < Math.max(best.width, best.height * proportions) * 0.97) best = layout;
  }
  return best ?? place(members, columns, bundles, 1);
}

function bundle(edges: Edge[], blockOf: Map<string, number>): Bundle[] {
  const bundles = new Map<string, Bundle>();
  for (const edge of edges) {
    const from = blockOf.get(edge.from);
    const to = blockOf.get(edge.to);
    if (from === undefined || to === undefined || from === to) continue;
    const key = `${from} ${to} ${edge.rework}`;
    const held = bundles.get(key);
    if (held) held.count += 1;
    else bundles.set(key, { from, to, count: 1, rework: edge.rework });
  }
  return [...bundles.values()];
}

/** Columns by longest way; what feeds late stands late; circles are cut where they close. */
function columnsOf(count: number, bundles: Bundle[]): number[] {
  const next: number[][] = Array.from({ length: count }, () => []);
  for (const { from, to } of bundles) next[from]?.push(to);
  const order: number[] = [];
  const state = new Array<0 | 1 | 2>(count).fill(0);
  const forward: number[][] = Array.from({ length: count }, () => []);
  for (let root = 0; root < count; root += 1) {
    if (state[root] !== 0) continue;
    const path: { block: number; rest: number[] }[] = [{ block: root, rest: [...(next[root] ?? [])] }];
    state[root] = 1;
    while (path.length > 0) {
      const top = path.at(-1);
      if (!top) break;
      const to = top.rest.shift();
      if (to === undefined) {
        state[top.block] = 2;
        order.push(top.block);
        path.pop();
      } else if (state[to] !== 1) {
        forward[top.block]?.push(to);
        if (state[to] === 0) {
          state[to] = 1;
          path.push({ block: to, rest: [...(next[to] ?? [])] });
        }
      }
    }
  }
  const column = new Array<number>(count).fill(0);
  for (const block of order.toReversed()) {
    for (const to of forward[block] ?? []) column[to] = Math.max(column[to] ?? 0, (column[block] ?? 0) + 1);
  }
  for (const block of order) {
    const after = forward[block] ?? [];
    if (after.length > 0) column[block] = Math.min(...after.map((to) => column[to] ?? 0)) - 1;
  }
  return column;
}

function place(members: Place[][], columns: number[], bundles: Bundle[], bands: number): Layout {
  const size = members.map((group) => {
    const lanes = Math.ceil(group.length / TALLEST);
    const tall = Math.ceil(group.length / lanes);
    return { tall, width: lanes * CELL.width + 12, height: TITLE + tall * CELL.height + 8 };
  });
  const blocks: Block[] = members.map((group, i) => ({
    shop: group[0]?.shop ?? "",
    line: group[0]?.line ?? "",
    x: 0,
    y: 0,
    width: size[i]?.width ?? 0,
    height: size[i]?.height ?? 0,
    stations: group.map(({ name }) => name),
  }));
  const centre = new Array<number>(members.length).fill(0);
  let x = 20;
  let top = 20;
  let width = 0;
  let height = 0;
  const [leftmost, rightmost] = [Math.min(...columns), Math.max(...columns)];
  const perBand = Math.max(1, Math.ceil((rightmost - leftmost + 1) / bands));
  for (let column = leftmost; column <= rightmost; column += 1) {
    if (column > leftmost && (column - leftmost) % perBand === 0) [x, top] = [20, height + GAP.y];
    const here = blocks.map((_, i) => i).filter((i) => columns[i] === column);
    if (here.length === 0) continue;
    // Near what feeds them, so that the curves cross seldom.
    const wish = (i: number): number => {
      const before = bundles.filter(({ to, rework }) => to === i && !rework).map(({ from }) => centre[from] ?? 0);
      return before.length === 0 ? 1e6 + i : before.reduce((sum, y) => sum + y, 0) / before.length;
    };
    here.sort((a, b) => wish(a) - wish(b) || a - b);
    let y = top;
    let widest = 0;
    for (const i of here) {
      const block = blocks[i];
      if (!block) continue;
      [block.x, block.y] = [x, y];
      centre[i] = y + block.height / 2;
      y += block.height + GAP.y;
      widest = Math.max(widest, block.width);
    }
    height = Math.max(height, y);
    x += widest + GAP.x;
    width = Math.max(width, x);
  }
  const spots = new Map<string, Spot>();
  blocks.forEach((block, b) => {
    const tall = size[b]?.tall ?? 1;
    block.stations.forEach((name, i) => {
      const lane = Math.floor(i / tall);
      spots.set(name, {
        name,
        block: b,
        x: block.x + 6 + lane * CELL.width,
        y: block.y + TITLE + (i % tall) * CELL.height,
      });
    });
  });
  return { blocks, spots, bundles, width, height };
}
