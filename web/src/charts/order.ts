/**
 * Which task waits for which, as a picture: tasks that hang together stand
 * together, in levels from top to bottom by the longest way that leads to them,
 * and a level that is wider than the page goes on in the next row; the groups
 * are laid side by side like words on lines.
 */

export interface Waits {
  task: string;
  after: string;
}
export interface Spot {
  task: string;
  x: number;
  y: number;
  group: number;
}
export interface Picture {
  spots: Map<string, Spot>;
  edges: { from: Spot; to: Spot }[];
  free: string[];
  width: number;
  height: number;
}

export const BOX = { width: 166, height: 36 };
const GAP = { x: 10, y: 20 };
const BETWEEN = { x: 26, y: 26 };

/** A name on at most so many lines of so many letters, broken between words; what is longer ends in dots. */
export function wrapped(text: string, letters: number, most: number): string[] {
  const lines: string[] = [];
  for (const word of text.split(" ")) {
    const last = lines.at(-1);
    if (last !== undefined && last.length + 1 + word.length <= letters) lines[lines.length - 1] = `${last} ${word}`;
    else lines.push(word);
  }
  const shown = lines.slice(0, most).map((line) => (line.length > letters ? `${line.slice(0, letters - 1)}…` : line));
  const end = shown.at(-1);
  if (lines.length > most && end !== undefined && !end.endsWith("…"))
    shown[shown.length - 1] = `${end.slice(0, letters - 1)}…`;
  return shown;
}

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

/** The level of each task: one more than the last of those before it. A circle ends where it closes. */
export function levels(tasks: readonly string[], order: readonly Waits[]): Map<string, number> {
  const before = new Map<string, string[]>();
  for (const { task, after } of order) before.set(task, [...(before.get(task) ?? []), after]);
  const known = new Set(tasks);
  const level = new Map<string, number>();
  const open = new Set<string>();
  for (const root of tasks) {
    const path = [root];
    while (path.length > 0) {
      const task = path.at(-1) ?? root;
      if (level.has(task)) {
        path.pop();
        continue;
      }
      open.add(task);
      const ways = (before.get(task) ?? []).filter((one) => known.has(one));
      const first = ways.find((one) => !level.has(one) && !open.has(one));
      if (first !== undefined) {
        path.push(first);
        continue;
      }
      level.set(task, Math.max(-1, ...ways.map((one) => level.get(one) ?? -1)) + 1);
      open.delete(task);
      path.pop();
    }
  }
  return level;
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

interface Laid {
  spots: Spot[];
  width: number;
  height: number;
}

/** Each row takes its tasks from the left, each as near below what it waits for as there is room. */
function lay(group: readonly string[], order: readonly Waits[], number: number, fit: number): Laid {
  const own = new Set(group);
  const within = order.filter(({ task, after }) => own.has(task) && own.has(after));
  const level = levels(group, within);
  const last = Math.max(...level.values());
  const onLevel = (at: number): string[] => group.filter((task) => level.get(task) === at);
  const wide = Math.min(fit, Math.max(...Array.from({ length: last + 1 }, (_, at) => onLevel(at).length)));
  const column = new Map<string, number>();
  const wish = (task: string): number => {
    const before = within.filter((one) => one.task === task).map(({ after }) => column.get(after) ?? 0);
    return before.length === 0 ? 0 : before.reduce((sum, at) => sum + at, 0) / before.length;
  };
  const spots: Spot[] = [];
  let row = 0;
  for (let at = 0; at <= last; at += 1) {
    const sorted = onLevel(at)
      .map((task, i) => ({ task, i, wish: wish(task) }))
      .sort((a, b) => a.wish - b.wish || a.i - b.i);
    for (let from = 0; from < sorted.length; from += wide, row += 1) {
      const here = sorted.slice(from, from + wide);
      let next = 0;
      here.forEach((one, i) => {
        const place = Math.min(Math.max(next, Math.round(one.wish)), wide - (here.length - i));
        column.set(one.task, place);
        spots.push({ task: one.task, group: number, x: place * (BOX.width + GAP.x), y: row * (BOX.height + GAP.y) });
        next = place + 1;
      });
    }
  }
  return { spots, width: wide * (BOX.width + GAP.x) - GAP.x, height: row * (BOX.height + GAP.y) - GAP.y };
}

/** The picture of a line, no wider than it may be or than one task. */
export function picture(tasks: readonly string[], order: readonly Waits[], most: number): Picture {
  const spots = new Map<string, Spot>();
  let [x, y, low, width] = [0, 0, 0, 0];
  const fit = Math.max(1, Math.floor((most + GAP.x) / (BOX.width + GAP.x)));
  const all = groups(tasks, order).map((group, number) => lay(group, order, number, fit));
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

/** Where an arrow key leads from a task: along its ties up and down, along its row to the sides; nowhere where there is nothing. */
export function towards(drawn: Picture, task: string, key: string): string | null {
  const from = drawn.spots.get(task);
  if (!from) return null;
  const near = (spots: Spot[]): string | null =>
    spots.sort(
      (a, b) => Math.abs(a.x - from.x) + Math.abs(a.y - from.y) - Math.abs(b.x - from.x) - Math.abs(b.y - from.y),
    )[0]?.task ?? null;
  const row = (side: 1 | -1): Spot[] =>
    [...drawn.spots.values()].filter((spot) => spot.y === from.y && side * (spot.x - from.x) > 0);
  if (key === "ArrowDown") return near(drawn.edges.filter((edge) => edge.from.task === task).map((edge) => edge.to));
  if (key === "ArrowUp") return near(drawn.edges.filter((edge) => edge.to.task === task).map((edge) => edge.from));
  if (key === "ArrowRight") return near(row(1));
  if (key === "ArrowLeft") return near(row(-1));
  return null;
}
