import { describe, expect, it } from "vitest";
import type { BodyStation, JoinGroup, MethodWay } from "../../api/types";
import { busy, methodWord, stateOf, whyNot, zonesOf } from "./body";

const way = (method: MethodWay["method"], told: string[] = []): MethodWay => ({
  method,
  joints: 1,
  in_cycle_s: null,
  effective_s: null,
  consumables: null,
  cost_per_year: null,
  refused: told.map((text) => ({
    rule: "flange_least_mm",
    limit: 16,
    value: 14,
    source: "common practice",
    told: text,
    mend: "widen it",
  })),
});
const group = { method: "rivet", runner_up: "spot" } as JoinGroup;

describe("the method of a group", () => {
  it("is taken, next, possible or refused", () => {
    expect(
      [way("rivet"), way("spot"), way("tape_spot"), way("arc", ["three sheets"])].map((one) => stateOf(group, one)),
    ).toEqual(["taken", "next", "possible", "refused"]);
  });

  it("says every rule that refuses it", () => {
    expect(whyNot(way("arc", ["three sheets", "a gap of 1 mm"]))).toBe("three sheets; a gap of 1 mm");
    expect(methodWord(null)).toBe("–");
  });
});

describe("a station's chart", () => {
  const step = (zone: string | null, start_s: number) => ({ zone, start_s });
  const station = {
    cycle_s: 170,
    index_s: 10,
    robots: [
      { work_s: 120, steps: [step("sill", 60), step(null, 20)] },
      { work_s: 40, steps: [step("roof", 10)] },
    ],
  } as unknown as BodyStation;

  it("names its zones as they are first worked in", () => {
    expect(zonesOf(station)).toEqual(["roof", "sill"]);
  });

  it("knows how busy a robot is", () => {
    expect(station.robots.map((robot) => busy(station, robot))).toEqual([0.75, 0.25]);
  });
});
