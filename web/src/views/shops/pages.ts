/** The pages of a shop, by what its press lines do. */
import type { ShopKind } from "../../state/shops.svelte";

export interface ShopPage { page: string; word: string; plan: ShopKind | null }

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

/** A shop without such lines has its load alone. */
export function pagesOf(kinds: readonly (string | undefined)[]): ShopPage[] {
  if (kinds.length === 0) return [LOAD];
  const cuts = kinds.some((kind) => kind === "blanking" || kind === "laser");
  return [LOAD, ...(cuts ? COIL : []), ...PRESS];
}
