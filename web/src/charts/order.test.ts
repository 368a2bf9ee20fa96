import { describe, expect, it } from "vitest";
import { columns, groups, picture, reach } from "./order";

const order = [
  { task: "fix", after: "place" },
  { task: "check", after: "fix" },
  { task: "check", after: "wire" },
  { task: "close", after: "open" },
];
const tasks = ["open", "place", "wire", "fix", "check", "close", "sweep"];

describe("the order of work", () => {
  it("a task comes a column after the last that it waits for", () => {
    const column = columns(tasks, order);
    expect([column.get("place"), column.get("wire"), column.get("fix"), column.get("check")]).toEqual([0, 0, 1, 2]);
  });

  it("a circle ends where it closes", () => {
    const column = columns(["a", "b"], [{ task: "a", after: "b" }, { task: "b", after: "a" }]);
    expect([...column.values()].sort()).toEqual([0, 1]);
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

  it("a line without tasks is an empty picture", () => {
    expect(picture([], [], 900)).toMatchObject({ width: 0, height: 0, free: [] });
  });
});
