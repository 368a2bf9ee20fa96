import { expect, test } from "vitest";
import type { Screened } from "../api/types";
import { mayDo, pressing, refusals, stuckInWords } from "./screened";

const task = (changes: Partial<Screened>): Screened => ({
  task: "set bench",
  shop: "trim",
  line: "main",
  at: { table: "tasks", row: 2 },
  refused: [{ by: "assembler", how: "hand", why: "lifting index 2.62" }],
  left: ["assembler with lift arm"],
  needs_aid: true,
  mend: null,
  ...changes,
});
const noRobot = task({
  refused: [{ by: "arm", how: "robot", why: "it takes a person's eye or feel" }],
  left: ["assembler"],
  needs_aid: false,
});

test("a task that nobody may do comes before one that needs an aid, and one by hand does not press", () => {
  expect(pressing(task({ left: [], needs_aid: false }))).toBe(true);
  expect(pressing(task({}))).toBe(true);
  expect(pressing(noRobot)).toBe(false);
});

test("who may do it and who not is told in words", () => {
  expect(mayDo(task({ left: ["assembler with lift arm", "arm"] }))).toBe("assembler with lift arm or arm");
  expect(refusals(noRobot)).toBe("arm: it takes a person's eye or feel");
});

test("tasks that nobody may do are counted", () => {
  expect(stuckInWords([task({}), noRobot])).toBeNull();
  expect(stuckInWords([task({ left: [] })])).toBe("1 task has nobody who may do it");
  expect(stuckInWords([task({ left: [] }), task({ left: [] })])).toBe("2 tasks have nobody who may do them");
});
