import { describe, expect, it } from "vitest";
import { layOut, type Edge, type Place } from "./layout";
import { parse, print } from "../state/router.svelte";

const place = (name: string, line: string): Place => ({ name, shop: "body", line });
const edge = (from: string, to: string, rework = false): Edge => ({ from, to, rework });

describe("the picture of the network", () => {
  it("runs from left to right along the longest way, a late feeder standing late", () => {
    const places = [place("a", "first"), place("b", "second"), place("c", "third"), place("d", "feeder")];
    const { blocks } = layOut(places, [edge("a", "b"), edge("b", "c"), edge("d", "c"), edge("c", "a", true)], 9);
    const x = (line: string): number => blocks.find((block) => block.line === line)?.x ?? -1;
    expect(x("first")).toBeLessThan(x("second"));
    expect(x("second")).toBeLessThan(x("third"));
    expect(x("feeder")).toBe(x("second"));
  });

  it("ends on circles, and lets no two blocks lie on each other", () => {
    const places = Array.from({ length: 300 }, (_, i) => place(`s${i}`, `line ${Math.floor(i / 12)}`));
    const edges = places.slice(1).map((to, i) => edge(`s${i}`, to.name));
    const { blocks, spots } = layOut(places, [...edges, edge("s299", "s0"), edge("s150", "s20")]);
    expect(spots.size).toBe(300);
    for (const [i, a] of blocks.entries()) {
      for (const b of blocks.slice(i + 1)) {
        expect(a.x + a.width <= b.x || b.x + b.width <= a.x || a.y + a.height <= b.y || b.y + b.height <= a.y).toBe(
          true,
        );
      }
    }
  });
});

describe("a long plant", () => {
  it("goes on below where that fills the picture better", () => {
    const places = Array.from({ length: 60 }, (_, i) => place(`s${i}`, `line ${Math.floor(i / 3)}`));
    const edges = places.slice(1).map((to, i) => edge(`s${i}`, to.name));
    const flat = layOut(places, edges, 100);
    const square = layOut(places, edges, 1);
    expect(flat.height).toBeLessThan(square.height);
    expect(square.width).toBeLessThan(flat.width / 2);
  });
});

describe("an address", () => {
  it("comes back as it was written, with names of any letters", () => {
    const hash = "#/v/2/r/head/shops/e-coat%20%2F%20finish?station=FR-02%20a%26b";
    const route = parse(hash);
    expect(route).toMatchObject({ variant: "2", revision: "head", view: "shops", arg: "e-coat / finish" });
    expect(route.query.get("station")).toBe("FR-02 a&b");
    expect(parse(print(route))).toEqual(route);
  });
  it("falls back to the answer of the newest revision", () => {
    expect(parse("")).toMatchObject({ variant: null, revision: "head", view: "answer" });
    expect(parse("#/v/1/r/7/nonsense")).toMatchObject({ revision: "7", view: "answer" });
  });
});
