import type { Screened } from "../api/types";

/** Nobody may do it, or an aid must be there, or only a robot may. */
export function pressing(task: Screened): boolean {
  return task.left.length === 0 || task.needs_aid || task.refused.some((way) => way.how === "hand");
}

export function mayDo(task: Screened): string {
  return task.left.join(" or ");
}

/** Each way refused with its reason. */
export function refusals(task: Screened): string {
  return task.refused.map((way) => `${way.by}: ${way.why}`).join("; ");
}

/** How many tasks nobody may do, in words; none where somebody may do each. */
export function stuckInWords(tasks: Screened[]): string | null {
  const count = tasks.filter((task) => task.left.length === 0).length;
  if (count === 0) return null;
  return count === 1 ? "1 task has nobody who may do it" : `${count} tasks have nobody who may do them`;
}
