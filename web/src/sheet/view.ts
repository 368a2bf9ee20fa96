/** The order and choice of rows on screen; the book itself stays as it is. */
import type { Table } from "./sheet";

export interface Sorting {
  column: string;
  down: boolean;
}

const collator = new Intl.Collator(undefined, { numeric: true, sensitivity: "base" });

function compare(a: string, b: string): number {
  const x = Number(a);
  const y = Number(b);
  if (a !== "" && b !== "" && !Number.isNaN(x) && !Number.isNaN(y)) return x - y;
  return collator.compare(a, b);
}

/** Positions of the rows that hold all filters, in the order asked. Empty cells come last. */
export function rowsShown(table: Table, filters: Record<string, string>, sorting: Sorting | null): number[] {
  const asked = Object.entries(filters)
    .map(([column, text]) => ({ at: table.columns.indexOf(column), text: text.trim().toLowerCase() }))
    .filter(({ at, text }) => at >= 0 && text !== "");
  const positions: number[] = [];
  table.rows.forEach((row, position) => {
    if (asked.every(({ at, text }) => matches(row.cells[at] ?? "", text))) positions.push(position);
  });
  const by = sorting ? table.columns.indexOf(sorting.column) : -1;
  if (!sorting || by < 0) return positions;
  const cell = (position: number): string => table.rows[position]?.cells[by] ?? "";
  const sign = sorting.down ? -1 : 1;
  return positions.sort((p, q) => {
    const [a, b] = [cell(p), cell(q)];
    if ((a === "") !== (b === "")) return a === "" ? 1 : -1;
    return sign * compare(a, b) || p - q;
  });
}

/** `=text` asks for the whole cell, `<5` and `>5` for numbers, else a part. */
function matches(cell: string, asked: string): boolean {
  const bound = /^([<>]=?)\s*([-\d.,]+)$/.exec(asked);
  if (bound) {
    const value = Number(cell);
    const edge = Number((bound[2] ?? "").replace(",", "."));
    if (cell === "" || Number.isNaN(value) || Number.isNaN(edge)) return false;
    const wide = bound[1]?.endsWith("=") && value === edge;
    return wide || (bound[1]?.startsWith("<") ? value < edge : value > edge);
  }
  if (asked === "=") return cell === "";
  if (asked.startsWith("=")) return cell.toLowerCase() === asked.slice(1).trim();
  return cell.toLowerCase().includes(asked);
}
