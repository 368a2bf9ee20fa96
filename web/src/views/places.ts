import type { Component } from "svelte";
import type { View } from "../state/router.svelte";

/** A view of the page: what it is called and where its code is fetched from. */
interface Place {
  readonly title: string;
  readonly load: () => Promise<{ default: Component }>;
}

/** Every view, each in a file of its own that is fetched when it is first wanted. */
export const PLACES: Record<View, Place> = {
  answer: { title: "Answer", load: () => import("./Answer.svelte") },
  improve: { title: "What next", load: () => import("./Improve.svelte") },
  shops: { title: "Shops", load: () => import("./Shops.svelte") },
  order: { title: "Build order", load: () => import("./Order.svelte") },
  flow: { title: "Flow", load: () => import("./Flow.svelte") },
  money: { title: "Money", load: () => import("./Money.svelte") },
  growth: { title: "Growth", load: () => import("./Growth.svelte") },
  happened: { title: "What happened", load: () => import("./Happened.svelte") },
  book: { title: "Book", load: () => import("./Book.svelte") },
  compare: { title: "Compare", load: () => import("./Compare.svelte") },
  working: { title: "Working", load: () => import("./Working.svelte") },
  report: { title: "Report", load: () => import("./Report.svelte") },
  formulas: { title: "Formulas", load: () => import("./Formulas.svelte") },
};

let asked = false;

/** Fetches the other views behind the first one, so that they open at once, also
 * where the server has gone by then. What fails here is told when it is wanted. */
export function loadAll(): void {
  if (asked) return;
  asked = true;
  const next = async (): Promise<void> => {
    for (const place of Object.values(PLACES)) await place.load().catch(() => undefined);
  };
  window.setTimeout(() => void next(), 200);
}
