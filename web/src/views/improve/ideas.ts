/** Ideas on the page: which are ticked, why some were not run, how they become edits of the book. */
import type { CellChange, Idea, Improve, Interval, RankedIdea, Unrun } from "../../api/types";
import type { Done, Sheet } from "../../sheet/sheet";
import { num, signed } from "../../state/format";

/** Numbers of ideas in an address: `3,7`; what is no number is left out. */
export function ticked(text: string | null): number[] {
  const ids = (text ?? "")
    .split(",")
    .map(Number)
    .filter((id) => Number.isInteger(id) && id > 0);
  return [...new Set(ids)].toSorted((a, b) => a - b);
}

/** The same with one more or one less. */
export const turned = (ids: readonly number[], id: number): string =>
  (ids.includes(id) ? ids.filter((one) => one !== id) : [...ids, id].toSorted((a, b) => a - b)).join(",");

export const byId = (found: Improve | null, id: number): RankedIdea | undefined =>
  found?.ideas.find((ranked) => ranked.idea.id === id);

/** A difference: signed, with its interval. */
export function gain(of: Interval, decimals = 1): string {
  return of.half_width === null
    ? signed(of.mean, decimals)
    : `${signed(of.mean, decimals)} ± ${num(of.half_width, decimals)}`;
}

/** Another ticked idea that changes one of its cells. */
export function clash(idea: Idea, others: readonly Idea[]): Idea | undefined {
  const same = (a: CellChange, b: CellChange): boolean =>
    a.at.table === b.at.table && a.at.row === b.at.row && a.column === b.column;
  return others.find(
    (other) => other.id !== idea.id && idea.changes.some((a) => other.changes.some((b) => same(a, b))),
  );
}

export function whyNot(why: Unrun): string {
  switch (why.why) {
    case "stands":
      return "changes nothing: the cells hold this already";
    case "unseen":
      return "changes nothing that the run of the plant sees";
    case "same":
      return `does what “${why.other}” does`;
    case "little":
      return `the critical path promises ${num(why.promise, 1)} cars a week at most`;
    case "many":
      return `promises ${num(why.promise, 1)} cars a week at most; others promise more`;
    case "worse":
      return `does harm, alone or beside others: ${gain(why.cars)} cars a week, ${gain(why.days, 2)} days`;
    case "refused":
      return why.problems
        .map(
          (problem) =>
            `${problem.table}${problem.row === null ? "" : `, row ${problem.row}`}: found ${problem.found}; expected ${problem.expected}`,
        )
        .join("; ");
  }
}

/** The edits that carry ideas out, table by table: each is saved, merged and undone as any other. */
export function carryOut(sheet: Sheet, ideas: readonly Idea[]): Done[] {
  const done: Done[] = [];
  const changes = ideas.flatMap((idea) => idea.changes);
  const label = ideas.map((idea) => idea.name).join(" + ");
  for (const table of new Set(changes.map((change) => change.at.table))) {
    const own = changes.filter((change) => change.at.table === table);
    for (const column of new Set(own.map((change) => change.column))) {
      if (sheet.table(table)?.columns.includes(column) === false) done.push(sheet.addColumn(table, column));
    }
    const ids = new Map(sheet.table(table)?.rows.map((row) => [row.line, row.id]));
    const cells = own.flatMap((change) => {
      const id = ids.get(change.at.row);
      return id === undefined ? [] : [{ row: id, column: change.column, value: change.to }];
    });
    done.push(sheet.set(label, table, cells));
  }
  return done;
}

/** Whether every cell still holds what the idea was made from; an edit may have come between. */
export function stillFits(sheet: Sheet, idea: Idea): boolean {
  return idea.changes.every((change) => {
    const row = sheet.table(change.at.table)?.rows.find((one) => one.line === change.at.row);
    return row !== undefined && sheet.value(change.at.table, row.id, change.column).trim() === change.from;
  });
}
