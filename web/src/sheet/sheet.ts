/**
 * The book as the page holds it: rows with stable ids, actions that are one
 * step to undo, and the patches each action sends to the server. It knows no
 * browser and no network.
 */
import type { BookTable, Id, Patch } from "../api/types";

export interface Row {
  id: string;
  /** The row's number in a spreadsheet; null until the server has named it. */
  line: number | null;
  cells: string[];
}

export interface Table {
  name: string;
  columns: string[];
  /** Whether a comma in its numbers is a decimal comma. */
  decimalComma: boolean;
  rows: Row[];
  /** The same rows by id. */
  byId: Map<string, Row>;
}

/** A change that can be turned round. */
export type Change =
  | { kind: "set"; table: string; row: string; column: string; before: string; after: string }
  | { kind: "add"; table: string; row: string; below: string | null; cells: Record<string, string> }
  | { kind: "remove"; table: string; row: string; below: string | null; cells: Record<string, string> }
  | { kind: "table"; table: string; columns: string[] }
  | { kind: "column"; table: string; column: string; before: string | null; cells: Record<string, string> }
  | { kind: "drop"; table: string; column: string; before: string | null; cells: Record<string, string> };

/** What the user did in one go: changes, or a revision that the server made of a file. */
export interface Action {
  label: string;
  changes: Change[];
  revision?: Id;
}

/** The outcome of an action: what to send, and the cells that it touched. */
export interface Done {
  label: string;
  patches: Patch[];
  table: string | null;
  skipped: number;
}

let counter = 0;
const letters = "abcdefghijklmnopqrstuvwxyz0123456789";

/** A row id that no other reader makes; `crypto.randomUUID` needs a secure page. */
export function freshRow(): string {
  const random = new Uint8Array(12);
  crypto.getRandomValues(random);
  counter += 1;
  return `p${Array.from(random, (n) => letters[n % letters.length]).join("")}${counter.toString(36)}`;
}

export class Sheet {
  readonly tables = new Map<string, Table>();
  private past: Action[] = [];
  private future: Action[] = [];
  /** Counts up with every change, for whoever draws. */
  version = 0;
  private named = new Map<string, { version: number; names: Set<string> }>();

  /** Takes a book from the server; what could be undone stays undoable. */
  load(tables: BookTable[]): void {
    this.tables.clear();
    for (const { name, columns, rows, decimal_comma } of tables) {
      const width = columns.length;
      const taken = rows.map((row) => ({
        id: row.id,
        line: row.line,
        cells: Array.from({ length: width }, (_, i) => row.cells[i] ?? ""),
      }));
      const byId = new Map(taken.map((row) => [row.id, row]));
      this.tables.set(name, { name, columns: [...columns], decimalComma: decimal_comma, rows: taken, byId });
    }
    this.version += 1;
  }

  /** Forgets what could be undone: another book. */
  forget(): void {
    this.past = [];
    this.future = [];
  }

  table(name: string): Table | undefined {
    return this.tables.get(name);
  }

  row(table: string, id: string): Row | undefined {
    return this.tables.get(table)?.byId.get(id);
  }

  value(table: string, id: string, column: string): string {
    const at = this.tables.get(table);
    const position = at?.columns.indexOf(column) ?? -1;
    return position < 0 ? "" : (this.row(table, id)?.cells[position] ?? "");
  }

  /** The names that a table gives its rows: its first key column. */
  names(table: string, key: string): ReadonlySet<string> {
    const held = this.named.get(table);
    if (held?.version === this.version) return held.names;
    const at = this.tables.get(table);
    const position = at?.columns.indexOf(key) ?? -1;
    const names = new Set<string>();
    if (position >= 0) for (const row of at?.rows ?? []) if (row.cells[position]) names.add(row.cells[position]);
    this.named.set(table, { version: this.version, names });
    return names;
  }

  get undoable(): string | null {
    return this.past.at(-1)?.label ?? null;
  }

  get redoable(): string | null {
    return this.future.at(-1)?.label ?? null;
  }

  /** Sets cells; only those that differ count. */
  set(label: string, table: string, cells: { row: string; column: string; value: string }[]): Done {
    return this.setAll(
      label,
      cells.map((cell) => ({ table, ...cell })),
    );
  }

  /** Cells of several tables as one step. */
  setAll(label: string, cells: readonly { table: string; row: string; column: string; value: string }[]): Done {
    const changes: Change[] = [];
    for (const { table, row, column, value } of cells) {
      const before = this.value(table, row, column);
      if (before !== value) changes.push({ kind: "set", table, row, column, before, after: value });
    }
    const tables = [...new Set(cells.map((cell) => cell.table))];
    const columns = tables.flatMap((table) =>
      this.missingColumns(
        table,
        cells.filter((cell) => cell.table === table).map((cell) => cell.column),
      ),
    );
    return this.act({ label, changes: [...columns, ...changes] });
  }

  /**
   * Puts a block with its upper left corner at a row and a column of the view
   * given; rows are added at the end when the block is longer than the view.
   */
  paste(table: string, view: string[], columns: string[], top: number, left: number, block: string[][]): Done {
    const changes: Change[] = [];
    const below = this.tables.get(table)?.rows.at(-1)?.id ?? null;
    const touched = new Set<string>();
    let last = below;
    block.forEach((cells, down) => {
      const target = view[top + down];
      const values = cells.flatMap((value, right) => {
        const column = columns[left + right];
        return column === undefined ? [] : [{ column, value }];
      });
      for (const { column } of values) touched.add(column);
      if (target === undefined) {
        const row = freshRow();
        const filled = Object.fromEntries(values.map(({ column, value }) => [column, value]));
        changes.push({ kind: "add", table, row, below: last, cells: filled });
        last = row;
        return;
      }
      for (const { column, value } of values) {
        const before = this.value(table, target, column);
        if (before !== value) changes.push({ kind: "set", table, row: target, column, before, after: value });
      }
    });
    return this.act({ label: "paste", changes: [...this.missingColumns(table, touched), ...changes] });
  }

  /** Sets cells of rows that are there and adds the others at the end, as one step; a table that is not there is begun. */
  fill(
    label: string,
    table: string,
    columns: string[],
    rows: readonly { row: string | null; cells: Record<string, string> }[],
  ): Done {
    const changes: Change[] = this.tables.has(table)
      ? this.missingColumns(table, new Set(rows.flatMap(({ cells }) => Object.keys(cells))))
      : [{ kind: "table", table, columns }];
    let below = this.tables.get(table)?.rows.at(-1)?.id ?? null;
    for (const { row, cells } of rows) {
      if (row === null) {
        const made = freshRow();
        const filled = Object.fromEntries(Object.entries(cells).filter(([, value]) => value !== ""));
        changes.push({ kind: "add", table, row: made, below, cells: filled });
        below = made;
        continue;
      }
      for (const [column, value] of Object.entries(cells)) {
        const before = this.value(table, row, column);
        if (before !== value) changes.push({ kind: "set", table, row, column, before, after: value });
      }
    }
    return this.act({ label, changes });
  }

  /** Fills the first row of a selection down over the others. */
  fillDown(table: string, rows: string[], columns: string[]): Done {
    const [first, ...others] = rows;
    if (first === undefined) return this.act({ label: "fill down", changes: [] });
    const cells = columns.flatMap((column) => {
      const value = this.value(table, first, column);
      return others.map((row) => ({ row, column, value }));
    });
    return this.set("fill down", table, cells);
  }

  addRows(table: string, below: string | null, count = 1): Done & { rows: string[] } {
    const rows: string[] = [];
    const changes: Change[] = [];
    let last = below;
    for (let i = 0; i < count; i += 1) {
      const row = freshRow();
      changes.push({ kind: "add", table, row, below: last, cells: {} });
      rows.push(row);
      last = row;
    }
    return { ...this.act({ label: count === 1 ? "add a row" : `add ${count} rows`, changes }), rows };
  }

  removeRows(table: string, ids: string[]): Done {
    const at = this.tables.get(table);
    const gone = new Set(ids);
    const changes: Change[] = [];
    at?.rows.forEach((row, position) => {
      if (!gone.has(row.id)) return;
      const below = at.rows[position - 1]?.id ?? null;
      changes.push({ kind: "remove", table, row: row.id, below, cells: filled(at, row) });
    });
    // From the bottom up, so that undoing brings the upper rows back first and
    // each finds the row below which it stood.
    changes.reverse();
    return this.act({ label: ids.length === 1 ? "delete a row" : `delete ${ids.length} rows`, changes });
  }

  /** Adds a column of the user's own on the right; nothing in Linewright reads it. */
  addColumn(table: string, column: string): Done {
    return this.act({
      label: `add column ${column}`,
      changes: [{ kind: "column", table, column, before: null, cells: {} }],
    });
  }

  /** Takes a column out with all that its cells hold. */
  dropColumn(table: string, column: string): Done {
    const at = this.tables.get(table);
    const position = at?.columns.indexOf(column) ?? -1;
    if (!at || position < 0 || at.columns.length === 1) return this.act({ label: "delete a column", changes: [] });
    return this.act({
      label: `delete column ${column}`,
      changes: [{ kind: "drop", table, column, ...columnHeld(at, position) }],
    });
  }

  /** An import that became a revision: one step to undo, as the server takes it back. */
  imported(label: string, revision: Id): void {
    this.past.push({ label, changes: [], revision });
    this.future = [];
  }

  /** The revision to take back where the next step to undo, or to redo, is an import. */
  importNext(way: "undo" | "redo"): { label: string; revision: Id } | null {
    const action = (way === "undo" ? this.past : this.future).at(-1);
    return action?.revision === undefined ? null : { label: action.label, revision: action.revision };
  }

  /** The server has taken it back, as this revision; taking that back does it again. */
  importTurned(way: "undo" | "redo", revision: Id): void {
    const [from, to] = way === "undo" ? [this.past, this.future] : [this.future, this.past];
    const action = from.pop();
    if (action) to.push({ ...action, revision });
  }

  /** Adds tables that the book leaves out so far. */
  addTables(label: string, tables: { name: string; columns: string[] }[]): Done {
    const changes = tables
      .filter(({ name }) => !this.tables.has(name))
      .map(({ name, columns }): Change => ({ kind: "table", table: name, columns }));
    return this.act({ label, changes });
  }

  undo(): Done | null {
    const action = this.past.pop();
    if (!action) return null;
    this.future.push(action);
    return this.carryOut(`undo: ${action.label}`, action.changes.toReversed().flatMap(turnedRound));
  }

  redo(): Done | null {
    const action = this.future.pop();
    if (!action) return null;
    this.past.push(action);
    return this.carryOut(`redo: ${action.label}`, action.changes);
  }

  /** Applies patches that were made earlier, as from a stored outbox. */
  replay(patches: Patch[]): void {
    for (const patch of patches) {
      if ("set" in patch) {
        const { table, row, column, value } = patch.set;
        this.put({ kind: "set", table, row, column, before: this.value(table, row, column), after: value });
      } else if ("add_row" in patch) {
        const { table, row, after, cells } = patch.add_row;
        this.put({ kind: "add", table, row, below: after, cells });
      } else if ("remove_row" in patch) {
        this.put({ kind: "remove", ...patch.remove_row, below: null, cells: {} });
      } else if ("add_table" in patch) {
        this.put({ kind: "table", table: patch.add_table.table, columns: patch.add_table.columns });
      } else if ("add_column" in patch) {
        this.put({ kind: "column", ...patch.add_column, cells: {} });
      } else this.put({ kind: "drop", ...patch.drop_column, before: null, cells: {} });
    }
    this.version += 1;
  }

  private act(action: Action): Done {
    if (action.changes.length > 0) {
      this.past.push(action);
      this.future = [];
    }
    return this.carryOut(action.label, action.changes);
  }

  private carryOut(label: string, changes: Change[]): Done {
    const patches: Patch[] = [];
    let skipped = 0;
    for (const change of changes) {
      const patch = this.put(change);
      if (patch === null) skipped += 1;
      else if (patch !== "there already") patches.push(patch, ...this.refill(change));
    }
    this.version += 1;
    return { label, patches, table: changes[0]?.table ?? null, skipped };
  }

  /** Carries out one change; null when its row or table is gone by now. */
  private put(change: Change): Patch | "there already" | null {
    const { table } = change;
    if (change.kind === "table") {
      if (this.tables.has(table)) return "there already";
      this.tables.set(table, {
        name: table,
        columns: [...change.columns],
        decimalComma: false,
        rows: [],
        byId: new Map(),
      });
      return { add_table: { table, columns: change.columns } };
    }
    const at = this.tables.get(table);
    if (!at) return null;
    switch (change.kind) {
      case "column": {
        if (at.columns.includes(change.column)) return "there already";
        const place = change.before === null ? -1 : at.columns.indexOf(change.before);
        const before = place < 0 ? null : change.before;
        at.columns.splice(place < 0 ? at.columns.length : place, 0, change.column);
        for (const row of at.rows) row.cells.splice(place < 0 ? row.cells.length : place, 0, "");
        return { add_column: { table, column: change.column, before } };
      }
      case "drop": {
        const place = at.columns.indexOf(change.column);
        if (place < 0) return null;
        at.columns.splice(place, 1);
        for (const row of at.rows) row.cells.splice(place, 1);
        return { drop_column: { table, column: change.column } };
      }
      case "set": {
        const row = this.row(table, change.row);
        const position = at.columns.indexOf(change.column);
        if (!row || position < 0) return null;
        row.cells[position] = change.after;
        return { set: { table, row: change.row, column: change.column, value: change.after } };
      }
      case "add": {
        if (at.byId.has(change.row)) return null;
        const last = at.rows.at(-1)?.id === change.below ? at.rows.length - 1 : null;
        const above = last ?? at.rows.findIndex((row) => row.id === change.below);
        const cells = at.columns.map((column) => change.cells[column] ?? "");
        const position = change.below === null ? 0 : above < 0 ? at.rows.length : above + 1;
        const row: Row = { id: change.row, line: null, cells };
        // The row above may have gone by now; the server refuses one it does not know.
        const after = position === 0 ? null : (at.rows[position - 1]?.id ?? null);
        at.rows.splice(position, 0, row);
        at.byId.set(row.id, row);
        return { add_row: { table, row: row.id, after, cells: change.cells } };
      }
      case "remove": {
        const position = at.rows.findIndex((row) => row.id === change.row);
        if (position < 0) return null;
        at.rows.splice(position, 1);
        at.byId.delete(change.row);
        return { remove_row: { table, row: change.row } };
      }
    }
  }

  /** What the cells of a column held that comes back. */
  private refill(change: Change): Patch[] {
    if (change.kind !== "column") return [];
    const { table, column } = change;
    return Object.entries(change.cells).flatMap(([row, after]) => {
      const patch = this.put({ kind: "set", table, row, column, before: "", after });
      return patch === null || patch === "there already" ? [] : [patch];
    });
  }

  /** Rows by number as a spreadsheet counts them, the header being 1; whether any was another. */
  number(): boolean {
    let changed = false;
    for (const { rows } of this.tables.values()) {
      rows.forEach((row, i) => {
        changed ||= row.line !== i + 2;
        row.line = i + 2;
      });
    }
    return changed;
  }

  private missingColumns(table: string, columns: Iterable<string>): Change[] {
    const at = this.tables.get(table);
    const missing = new Set([...columns].filter((column) => at && !at.columns.includes(column)));
    return [...missing].map((column): Change => ({ kind: "column", table, column, before: null, cells: {} }));
  }
}

function filled(table: Table, row: Row): Record<string, string> {
  const cells = table.columns.map((column, i): [string, string] => [column, row.cells[i] ?? ""]);
  return Object.fromEntries(cells.filter(([, value]) => value !== ""));
}

/** Where a column stands and what its cells hold. */
function columnHeld(table: Table, position: number): { before: string | null; cells: Record<string, string> } {
  const filled = table.rows.map((row): [string, string] => [row.id, row.cells[position] ?? ""]);
  return {
    before: table.columns[position + 1] ?? null,
    cells: Object.fromEntries(filled.filter(([, value]) => value !== "")),
  };
}

/** The change that takes another back; an added table stays, empty. */
function turnedRound(change: Change): Change[] {
  switch (change.kind) {
    case "set":
      return [{ ...change, before: change.after, after: change.before }];
    case "add":
      return [{ ...change, kind: "remove" }];
    case "remove":
      return [{ ...change, kind: "add" }];
    case "column":
      return [{ ...change, kind: "drop" }];
    case "drop":
      return [{ ...change, kind: "column" }];
    case "table":
      return [];
  }
}
