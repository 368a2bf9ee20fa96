import { expect, test } from "vitest";
import { daysPast, today, worksFrom } from "./past";

test("a day of decision is past from the day after it on", () => {
  expect(daysPast("2026-11-06", "2026-11-26")).toBe(20);
  expect(daysPast("2026-11-26", "2026-11-26")).toBe(0);
  expect(daysPast("2026-12-04", "2026-11-26")).toBe(0);
  expect(daysPast("2024-02-28", "2024-03-01")).toBe(2);
});

test("an idea decided today works its weeks later, begun days counted whole", () => {
  expect(worksFrom(8, "2026-11-26")).toBe("2027-01-21");
  expect(worksFrom(0.5, "2026-12-30")).toBe("2027-01-03");
});

test("today is the reader's own, not that of Greenwich", () => {
  expect(today(new Date(2026, 0, 5, 23, 59))).toBe("2026-01-05");
  expect(today(new Date(2026, 0, 5, 0, 1))).toBe("2026-01-05");
});
