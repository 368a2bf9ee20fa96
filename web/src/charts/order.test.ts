import { describe, expect, it } from "vitest";
import { BOX, groups, levels, picture, reach, towards, wrapped } from "./order";

const order = [
  { task: "fix", after: "place" },
  { task: "check", after: "fix" },
  { task: "check", after: "wire" },
  { task: "close", after: "open" },
];
const tasks = ["open", "place", "wire", "fix", "check", "close", "sweep"];

describe("the order of work", () => {
  it("a task comes a level after the last that it waits for", () => {
    const level = levels(tasks, order);
    expect([level.get("place"), level.get("wire"), level.get("fix"), level.get("check")]).toEqual([0, 0, 1, 2]);
  });

  it("a circle ends where it closes", () => {
    const level = levels(
      ["a", "b"],
      [
        { task: "a", after: "b" },
        { task: "b", after: "a" },
      ],
    );
    expect([...level.values()].sort()).toEqual([0, 1]);
  });

  it("what comes before and after a task is told over all steps", () => {
    expect([...reach(order, ["check"], "before")].sort()).toEqual(["fix", "place", "wire"]);
    expect([...reach(order, ["place"], "after")].sort()).toEqual(["check", "fix"]);
    expect(reach(order, ["sweep"], "after").size).toBe(0);
  });

  it("tasks that hang together stand together, and the free ones apart", () => {
    expect(groups(tasks, order).map((group) => group.length)).toEqual([4, 2]);
    const drawn = picture(tasks, order, 2000);
    expect(drawn.free).toEqual(["sweep"]);
    expect(drawn.edges).toHaveLength(4);
  });

  it("no two tasks stand on one place, however narrow the page", () => {
    for (const most of [100, 600, 3000]) {
      const { spots } = picture(tasks, order, most);
      const places = [...spots.values()].map(({ x, y }) => `${x} ${y}`);
      expect(new Set(places).size).toBe(places.length);
    }
  });

  it("a picture is never wider than its page, and a task stands below what it waits for", () => {
    const fan = ["first", ...Array.from({ length: 9 }, (_, i) => `part ${i}`), "last"];
    const ties = fan.slice(1, -1).flatMap((task) => [
      { task, after: "first" },
      { task: "last", after: task },
    ]);
    for (const most of [BOX.width, 400, 1076]) {
      const drawn = picture(fan, ties, most);
      expect(drawn.width).toBeLessThanOrEqual(most);
      for (const { from, to } of drawn.edges) expect(to.y).toBeGreaterThan(from.y);
    }
  });

  it("a name is broken between words, and what has no room ends in dots", () => {
    expect(wrapped("lay and clip main harness front right", 25, 2)).toEqual([
      "lay and clip main harness",
      "front right",
    ]);
    expect(wrapped("one two three four five six", 9, 2)).toEqual(["one two", "three…"]);
    expect(wrapped("unbreakablename", 6, 2)).toEqual(["unbre…"]);
  });

  it("arrows go along ties and rows", () => {
    const drawn = picture(tasks, order, 2000);
    expect(towards(drawn, "place", "ArrowDown")).toBe("fix");
    expect(towards(drawn, "check", "ArrowUp")).not.toBeNull();
    expect(towards(drawn, "place", "ArrowRight")).not.toBeNull();
    expect(towards(drawn, "check", "ArrowDown")).toBeNull();
    expect(towards(drawn, "sweep", "ArrowDown")).toBeNull();
  });

  it("a line without tasks is an empty picture", () => {
    expect(picture([], [], 900)).toMatchObject({ width: 0, height: 0, free: [] });
  });
});
