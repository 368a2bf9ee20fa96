/**
 * Which task waits for which, as a picture: tasks that hang together stand
 * together, in columns by the longest way that leads to them; the groups are
 * laid side by side like words on lines.
 */

export interface Waits { task: string; after: string }
export interface Spot { task: string; x: number; y: number; group: number }
export interface Picture { spots: Map<string, Spot>; edges: { from: Spot; to: Spot }[]; free: string[]; width: number; height: number }

export const BOX = { width: 168, height: 19 };
const GAP = { x: 26, y: 4 };
const BETWEEN = { x: 34, y: 16 };

/** All that must be done before a task, or after it. */
export function reach(order: readonly Waits[], from: Iterable<string>, way: "before" | "after"): Set<string> {
  const next = new Map<string, string[]>();
  for (const { task, after } of order) {
    const [at, to] = way === "before" ? [task, after] : [after, task];
    next.set(at, [...(next.get(at) ?? []), to]);
  }
  const start = [...from];
  const seen = new Set<string>();
  const ahead = [...start];
  for (let at = ahead.pop(); at !== undefined; at = ahead.pop()) {
    for (const to of next.get(at) ?? []) {
      if (seen.has(to)) continue;
      seen.add(to);
      ahead.push(to);
    }
  }
  for (const one of start) seen.delete(one);
  return seen;
}

/** The column of each task: one more than the last of those before it. A circle ends where it closes. */
export function columns(tasks: readonly string[], order: readonly Waits[]): Map<string, number> {
  const before = new Map<string, string[]>();
  for (const { task, after } of order) before.set(task, [...(before.get(task) ?? []), after]);
  const known = new Set(tasks);
  const column = new Map<string, number>();
  const open = new Set<string>();
  for (const root of tasks) {
    const path = [root];
    while (path.length > 0) {
      const task = path.at(-1) ?? root;
      if (column.has(task)) {
        path.pop();
        continue;
      }
      open.add(task);
      const ways = (before.get(task) ?? []).filter((one) => known.has(one));
      const first = ways.find((one) => !column.has(one) && !open.has(one));
      if (first !== undefined) {
        path.push(first);
        continue;
      }
      column.set(task, Math.max(-1, ...ways.map((one) => column.get(one) ?? -1)) + 1);
      open.delete(task);
      path.pop();
    }
  }
  return column;
}

/** Tasks that hang together, the largest group first; those that wait for nothing and nobody are left out. */
export function groups(tasks: readonly string[], order: readonly Waits[]): string[][] {
  const home = new Map(tasks.map((task) => [task, task]));
  const find = (task: string): string => {
    let at = task;
    for (let up = home.get(at); up !== undefined && up !== at; up = home.get(at)) at = up;
    home.set(task, at);
    return at;
  };
  const tied = new Set<string>();
  for (const { task, after } of order) {
    if (!home.has(task) || !home.has(after)) continue;
    home.set(find(task), find(after));
    tied.add(task).add(after);
  }
  const found = new Map<string, string[]>();
  for (const task of tasks) {
    if (!tied.has(task)) continue;
    const key = find(task);
    found.set(key, [...(found.get(key) ?? []), task]);
  }
  return [...found.values()].sort((a, b) => b.length - a.length);
}

interface Laid { spots: Spot[]; width: number; height: number }

function lay(group: readonly string[], order: readonly Waits[], number: number): Laid {
  const own = new Set(group);
  const within = order.filter(({ task, after }) => own.has(task) && own.has(after));
  const column = columns(group, within);
  const last = Math.max(...column.values());
  const rows = new Map<string, number>();
  let tall = 0;
  for (let at = 0; at <= last; at += 1) {
    const here = group.filter((task) => column.get(task) === at);
    // Near what they wait for, so that the lines cross seldom.
    const wish = (task: string): number => {
      const before = within.filter((one) => one.task === task).map(({ after }) => rows.get(after) ?? 0);
      return before.length === 0 ? 0 : before.reduce((sum, row) => sum + row, 0) / before.length;
    };
    const sorted = here.map((task, i) => ({ task, i, wish: wish(task) })).sort((a, b) => a.wish - b.wish || a.i - b.i);
    let row = 0;
    for (const one of sorted) {
      row = Math.max(row, Math.round(one.wish));
      rows.set(one.task, row);
      row += 1;
    }
    tall = Math.max(tall, row);
  }
  const spots = group.map((task) => ({ task, group: number, x: (column.get(task) ?? 0) * (BOX.width + GAP.x), y: (rows.get(task) ?? 0) * (BOX.height + GAP.y) }));
  return { spots, width: (last + 1) * (BOX.width + GAP.x) - GAP.x, height: tall * (BOX.height + GAP.y) - GAP.y };
}

/** The picture of a line, no wider than it may be where that can be had. */
export function picture(tasks: readonly string[], order: readonly Waits[], most: number): Picture {
  const spots = new Map<string, Spot>();
  let [x, y, low, width] = [0, 0, 0, 0];
  const all = groups(tasks, order).map((group, number) => lay(group, order, number));
  for (const { spots: own, width: wide, height: tall } of all) {
    if (x > 0 && x + wide > most) [x, y] = [0, low + BETWEEN.y];
    for (const spot of own) spots.set(spot.task, { ...spot, x: spot.x + x, y: spot.y + y });
    width = Math.max(width, x + wide);
    low = Math.max(low, y + tall);
    x += wide + BETWEEN.x;
  }
  const edges = order.flatMap(({ task, after }) => {
    const [from, to] = [spots.get(after), spots.get(task)];
    return from && to ? [{ from, to }] : [];
  });
  return { spots, edges, free: tasks.filter((task) => !spots.has(task)), width, height: low };
}
