/** What the pages of a body shop share. */
import type { Body, BodyRobot, BodyStation, JoinGroup, JoinMethod, MethodWay } from "../../api/types";

/** Methods in the trade's words, in the order of the tables. */
export const METHODS: readonly (readonly [JoinMethod, string])[] = [
  ["adhesive", "adhesive"],
  ["rivet", "self-piercing rivet"],
  ["arc", "arc seam"],
  ["spot", "spot"],
  ["tape_spot", "spot with tape"],
];

export const methodWord = (method: JoinMethod | null): string => METHODS.find(([key]) => key === method)?.[1] ?? "–";

/** The lines of a shop that have joining robots or joints. */
export const linesOf = (plan: Body, shop: string): string[] =>
  plan.lines.filter((line) => line.shop === shop).map((line) => line.line);

/** The groups that a line makes. */
export function groupsOf(plan: Body, line: string): JoinGroup[] {
  const own = new Set(plan.stations.filter((station) => station.line === line).map((station) => station.station));
  return plan.groups.filter((group) => group.assembly === line || group.stations.some((station) => own.has(station)));
}

/** What a method is for a group, in a word. */
export function stateOf(group: JoinGroup, way: MethodWay): "taken" | "next" | "possible" | "refused" {
  if (way.method === group.method) return "taken";
  if (way.refused.length > 0) return "refused";
  return way.method === group.runner_up ? "next" : "possible";
}

/** Why a method is refused, in a sentence. */
export const whyNot = (way: MethodWay): string => way.refused.map((rule) => rule.told).join("; ");

/** The part of a robot's time to the end of its station's cycle that it joins. */
export const busy = (station: BodyStation, robot: BodyRobot): number =>
  station.cycle_s > station.index_s ? robot.work_s / (station.cycle_s - station.index_s) : 0;

/** Zones of a station in the order in which they are first worked in, so that each has its pattern. */
export function zonesOf(station: BodyStation): string[] {
  const steps = station.robots.flatMap((robot) => robot.steps).sort((a, b) => a.start_s - b.start_s);
  return [...new Set(steps.map((step) => step.zone).filter((zone): zone is string => zone !== null))];
}
