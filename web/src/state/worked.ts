/** Addresses of the workings of a shop's figures. */
import { desk } from "./desk.svelte";
import { router } from "./router.svelte";
import type { ShopKind } from "./shops.svelte";

/** The name of the choice that says which of a shop's plans: its rate, its week, what ideas go by. */
const WHICH = "of";

/** Where the working of a shop's figure is, in the plan for the same rate or week as the one on screen. */
export function workingOf(shop: ShopKind, figure: string): string {
  const { plan, cars, asked } = desk.shops[shop];
  return workingIn(shop, figure, plan ? cars : asked);
}

/** The same in the plan that was asked for by these words; "" for the book's. */
export function workingIn(shop: ShopKind, figure: string, asked: string): string {
  return router.href("working", `${shop}:${figure}`, asked === "" ? {} : { [WHICH]: asked });
}

/** Which plan the working on screen is of, "" for the book's. */
export const whichPlan = (): string => router.route.query.get(WHICH) ?? "";

/** Which plan that is, in words; "" for the book's. */
export function toldPlan(shop: ShopKind, asked: string): string {
  if (asked === "") return "";
  if (shop === "money") return asked === "kept" ? "ideas by the ranking that was kept" : "ideas by the plan alone";
  if (shop !== "order") return `at ${asked} cars a week; the book stays as it is`;
  const [week, effort] = ["week", "effort"].map((name) => new URLSearchParams(asked).get(name));
  return [week ? `week ${week}` : "", effort ? `${effort} times the usual search` : ""].filter(Boolean).join(", ");
}
