import { expect, test } from "vitest";
import type { CostKind, ShopCost } from "../../api/types";
import { KINDS, stackOf } from "./stack";

const item = (kind: CostKind, value: number, by_product: number[]) => ({
  kind,
  cost: { value, figure: `cost.body.${kind}` },
  by_product,
});
const body: ShopCost = {
  shop: "body",
  cost: { value: 160, figure: "cost.body" },
  items: [item("consumables", 60, [50, 90]), item("people", 100, [100, 100])],
};

test("the pieces of a bar lie end to end and are the shop's cost", () => {
  const { pieces, total } = stackOf(body, null);
  expect(pieces.map((piece) => [piece.from, piece.cost])).toEqual([
    [0, 60],
    [60, 100],
  ]);
  expect(total).toBe(body.cost.value);
});

test("a product's car has its own pieces, and one that costs nothing has none", () => {
  expect(stackOf(body, 1).total).toBe(190);
  expect(stackOf(body, 2).pieces).toEqual([]);
});

test("no two kinds look alike", () => {
  const fills = Object.values(KINDS).map((kind) => kind.fill);
  expect(new Set(fills).size).toBe(fills.length);
});
