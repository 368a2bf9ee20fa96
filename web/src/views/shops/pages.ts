/** The pages of a shop. */
import type { ShopKind } from "../../state/shops.svelte";

export interface ShopPage {
  page: string;
  word: string;
  plan: ShopKind | null;
}

const LOAD: ShopPage = { page: "load", word: "load", plan: null };
const COIL: ShopPage[] = [
  { page: "strips", word: "strips", plan: "coil" },
  { page: "coils", word: "coils to hold", plan: "coil" },
  { page: "orders", word: "cover and orders", plan: "coil" },
];
const PRESS: ShopPage[] = [
  { page: "force", word: "force and energy", plan: "press" },
  { page: "timetable", word: "die timetable", plan: "press" },
  { page: "racks", word: "lots and racks", plan: "press" },
  { page: "changeovers", word: "quicker changeovers", plan: "press" },
];

const ASSEMBLY: ShopPage[] = [
  { page: "stations", word: "work to stations", plan: "assembly" },
  { page: "order", word: "order of work", plan: "assembly" },
  { page: "moves", word: "new balance", plan: "assembly" },
  { page: "who", word: "person or robot", plan: "assembly" },
  { page: "robots", word: "robots", plan: "assembly" },
];

const BODY: ShopPage[] = [
  { page: "methods", word: "joints and methods", plan: "body" },
  { page: "joining", word: "joining robots", plan: "body" },
  { page: "consumables", word: "consumables", plan: "body" },
  { page: "takt", word: "takt and robots", plan: "body" },
];

const PAINT: ShopPage[] = [
  { page: "line", word: "paint line", plan: "paint" },
  { page: "films", word: "films and robots", plan: "paint" },
  { page: "colours", word: "colour blocks", plan: "paint" },
  { page: "repairs", word: "repairs, heat, store, air", plan: "paint" },
];

const CARTS: ShopPage = { page: "carts", word: "carts", plan: "carts" };

/** What the book gives a shop: the kinds of its press lines, and how many tasks, joint groups, coats and fleets it has. */
export interface ShopHas {
  kinds?: readonly (string | undefined)[];
  tasks?: number;
  joins?: number;
  coats?: number;
  fleets?: number;
}

/** The pages of a shop by what the book gives it; a shop with nothing of its own has its load alone. */
export function pagesOf({ kinds = [], tasks = 0, joins = 0, coats = 0, fleets = 0 }: ShopHas): ShopPage[] {
  const cuts = kinds.some((kind) => kind === "blanking" || kind === "laser");
  return [
    LOAD,
    ...(joins > 0 ? BODY : []),
    ...(tasks > 0 ? ASSEMBLY : []),
    ...(coats > 0 ? PAINT : []),
    ...(cuts ? COIL : []),
    ...(kinds.length > 0 ? PRESS : []),
    ...(fleets > 0 ? [CARTS] : []),
  ];
}

/** The shops from where a fleet's cars are taken to where they are given back, in plant order. */
export function between(order: string[], from: string, to: string): string[] {
  const ends = [order.indexOf(from), order.indexOf(to)].filter((at) => at >= 0);
  return ends.length === 0 ? [] : order.slice(Math.min(...ends), Math.max(...ends) + 1);
}
