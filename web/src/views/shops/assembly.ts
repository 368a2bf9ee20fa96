/** What the views of an assembly line share: its balances, its addresses, the edit that moves tasks. */
import type {
  AssemblyLine,
  AssemblyPost,
  AssemblyStation,
  At,
  RobotChange,
  RobotCount,
  Side,
  TimedTask,
  Today,
} from "../../api/types";
import type { Done, Sheet } from "../../sheet/sheet";

export const BALANCES = [
  ["today", "today"],
  ["moves", "least moves"],
  ["fewest", "fewest stations"],
] as const;
export type Balance = (typeof BALANCES)[number][0];

export const isBalance = (word: string | null): word is Balance => BALANCES.some(([one]) => one === word);

export const lineName = (line: { shop: string; line: string | null }): string => line.line ?? line.shop;

/** The stations of a balance; none where the line has no such balance. */
export function stationsOf(
  balance: Balance,
  today: Today | undefined,
  line: AssemblyLine | undefined,
): AssemblyStation[] {
  if (balance === "today") return today?.stations ?? [];
  return (balance === "moves" ? line?.again?.stations : line?.stations) ?? [];
}

export const stationName = (station: AssemblyStation): string => station.station ?? `station ${station.number}`;

const SIDES: Record<Side, string> = { left: "left", right: "right", either: "both" };
export const sideWord = (side: Side): string => SIDES[side];

const CHANGES: Record<RobotChange, string> = { bought: "bought", moved: "moved", given_up: "given up" };
export const robotWord = (change: RobotChange): string => CHANGES[change];

/** Seconds of a post: on a mean car until its last task ends, on a product's car the work alone. */
export function secondsOf(post: AssemblyPost, product: number | null): number {
  if (product !== null) return post.by_product_s[product] ?? 0;
  return post.work.reduce((end, task) => Math.max(end, task.end_s), 0);
}

export interface Segment {
  task: string;
  at: At;
  from: number;
  to: number;
}

/** A post's work as a row of time: as it is timed for a mean car, or end to end for a product's. */
export function segmentsOf(post: AssemblyPost, product: number | null): Segment[] {
  if (product === null)
    return post.work.map((task) => ({ task: task.task, at: task.at, from: task.start_s, to: task.end_s }));
  let end = 0;
  return post.work.flatMap((task: TimedTask) => {
    const seconds = task.by_product_s[product] ?? 0;
    if (seconds <= 0) return [];
    const segment = { task: task.task, at: task.at, from: end, to: end + seconds };
    end = segment.to;
    return [segment];
  });
}

/** Where each task of some stations is done, by its row in the book. */
export function placesOf(stations: readonly AssemblyStation[]): Map<number, AssemblyStation> {
  return new Map(
    stations.flatMap((station) =>
      station.posts.flatMap((post) => post.work.map((task) => [task.at.row, station] as const)),
    ),
  );
}

/** Moves tasks to stations, with the robots that stations have then, as one step of the sheet: it is saved, merged and undone as any other edit. */
export function moveTasks(
  sheet: Sheet,
  label: string,
  moves: readonly { row: number; to: string }[],
  robots: readonly RobotCount[] = [],
): Done {
  const ids = (table: "tasks" | "stations"): Map<number | null, string> =>
    new Map(sheet.table(table)?.rows.map((row) => [row.line, row.id]));
  const [tasks, stations] = [ids("tasks"), ids("stations")];
  const changes = moves.flatMap(({ row, to }) => {
    const id = tasks.get(row);
    return id === undefined ? [] : [{ table: "tasks", row: id, column: "station", value: to }];
  });
  const counts = robots.flatMap((count) => {
    const id = stations.get(count.at.row);
    return id === undefined ? [] : [{ table: "stations", row: id, column: "robots", value: String(count.then) }];
  });
  return sheet.setAll(label, [...changes, ...counts]);
}

/** A yearly budget as somebody types it; none where it is no money above 0. */
export function budgetOf(text: string): number | null {
  const money = Number(text.replace(/[\s,’']/g, ""));
  return money > 0 && money <= 1e12 ? money : null;
}
