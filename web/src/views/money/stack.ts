/** The cost of a car as pieces of bars. */
import type { CostKind, ShopCost } from "../../api/types";

/** Each kind differs in pattern or in lightness, never in hue alone. */
export const KINDS: Record<CostKind, { word: string; fill: string; each: boolean }> = {
  metal: { word: "metal", fill: "#3a434b", each: true },
  bought_parts: { word: "bought parts", fill: "#c9d3da", each: true },
  consumables: { word: "consumables", fill: "url(#state-starved)", each: true },
  energy: { word: "energy", fill: "url(#scrap)", each: true },
  people: { word: "people", fill: "#2f8f83", each: false },
  upkeep: { word: "upkeep", fill: "url(#state-changeover)", each: false },
  capital: { word: "capital", fill: "url(#state-blocked)", each: false },
  overhead: { word: "overhead", fill: "url(#state-stopped)", each: false },
};

export interface Piece {
  kind: CostKind;
  from: number;
  cost: number;
  figure: string;
}

/** A shop's bar, for the mean car or for a car of the product at a place of the list. */
export function stackOf(shop: ShopCost, product: number | null): { pieces: Piece[]; total: number } {
  let total = 0;
  const pieces = shop.items.map((item): Piece => {
    const cost = product === null ? item.cost.value : (item.by_product[product] ?? 0);
    const piece = { kind: item.kind, from: total, cost, figure: item.cost.figure };
    total += cost;
    return piece;
  });
  return { pieces: pieces.filter((piece) => piece.cost > 0), total };
}
