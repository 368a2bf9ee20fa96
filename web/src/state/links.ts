/** Where a figure came from, as an address of the page. */
import type { Origin, Way as BankWay } from "../api/types";
import { router } from "./router.svelte";

export interface Way {
  text: string;
  href: string | null;
}

const ofPlan = (id: string): string => router.href("working", id);

/** `home` says where a figure's working is by its id; without it figures are those of the plan. */
export function way(origin: Origin, home = ofPlan): Way {
  if (origin === "given") return { text: "given", href: null };
  if ("figure" in origin) return { text: origin.figure, href: home(origin.figure) };
  if ("cell" in origin) {
    const { table, row, column } = origin.cell;
    return { text: `${table}, row ${row}, ${column}`, href: router.href("book", table, { row: String(row), column }) };
  }
  if ("usual" in origin) {
    const { table, column } = origin.usual;
    return { text: `usual value of ${table}, ${column}`, href: router.href("book", table, { column }) };
  }
  return { text: `${origin.several.length} places`, href: null };
}

/** The cells and figures of a list of places. */
export function ways(origin: Origin, home?: (id: string) => string): Way[] {
  return typeof origin === "object" && "several" in origin
    ? origin.several.map((one) => way(one, home))
    : [way(origin, home)];
}

/** What goes over a bank or lies in a stock. */
export function goods(way: BankWay): string {
  if (way.kind === "onward") return "cars";
  return way.kind === "rework" ? "rework" : `${way.kind} of ${way.part}`;
}
