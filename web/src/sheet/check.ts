/**
 * A first look at a cell, in the same moment it is typed. The book's own check
 * on the server is the one that counts and replaces these marks.
 */
import type { Column, TableSchema } from "../api/types";

export interface Mark {
  severity: "error" | "note";
  /** What stands there. */
  found: string;
  expected: string;
  /** The way out. */
  mend: string;
  /** A value that a press of a button may put there. */
  nearest: string | null;
}

const NUMBER = /^[-+]?(\d+\.?\d*|\.\d+)(e[-+]?\d+)?$/i;
const CLOCK = /^([01]?\d|2[0-4]):[0-5]\d$/;

function mark(text: string, expected: string, mend: string, nearest: string | null = null): Mark {
  return { severity: "error", found: text === "" ? "an empty cell" : `\`${text}\``, expected, mend, nearest };
}

/** How many letters must change to make one word of the other. */
function letters(a: string, b: string): number {
  let above = Array.from({ length: b.length + 1 }, (_, j) => j);
  for (let i = 1; i <= a.length; i += 1) {
    const row = [i];
    for (let j = 1; j <= b.length; j += 1) {
      const change = (above[j - 1] ?? 0) + (a[i - 1] === b[j - 1] ? 0 : 1);
      row.push(Math.min(change, (above[j] ?? 0) + 1, (row[j - 1] ?? 0) + 1));
    }
    above = row;
  }
  return above[b.length] ?? 0;
}

function nearest(text: string, names: Iterable<string>): string | null {
  const wanted = text.toLowerCase();
  let best: string | null = null;
  let fewest = Math.max(1, Math.floor(text.length / 3)) + 1;
  for (const name of names) {
    if (Math.abs(name.length - text.length) >= fewest) continue;
    const changes = letters(wanted, name.toLowerCase());
    if (changes < fewest) [best, fewest] = [name, changes];
  }
  return best;
}

/** The unit or percent sign behind a number is the server's to judge. */
function numberOf(text: string): number | "with unit" | null {
  if (NUMBER.test(text)) return Number(text);
  return /^[-+]?(\d+\.?\d*|\.\d+)\s*[a-zA-Z%/²³µ°]/.test(text) ? "with unit" : null;
}

export function range(column: Column): string {
  const legal = column.legal;
  if (!legal) return "";
  const from = legal.from === null ? "" : `${legal.above ? "above" : "from"} ${legal.from}`;
  const to = legal.to === null || legal.to > 1e15 ? "" : `to ${legal.to}`;
  return [from, to].filter(Boolean).join(" ");
}

function numeric(text: string, column: Column): Mark | null {
  const whole = column.kind === "count" || column.kind === "places";
  const expected = `a ${whole ? "whole " : ""}number${column.unit ? ` in ${column.unit}` : ""}`;
  if (column.kind === "places" && text.toLowerCase() === "unlimited") return null;
  const value = numberOf(text);
  if (value === null) return mark(text, expected, "type a number with a decimal point or comma");
  if (value === "with unit") return null;
  if (whole && !Number.isInteger(value)) return mark(text, expected, "round it to a whole number");
  const legal = column.legal;
  const from = legal?.from ?? null;
  const low = from !== null && (legal?.above ? value <= from : value < from);
  if (legal && (low || (legal.to !== null && value > legal.to))) {
    return mark(text, `${expected} ${range(column)}`, "bring it into the range");
  }
  return null;
}

/** What is wrong with a cell as far as its column tells; null if nothing. */
export function checkCell(
  text: string,
  column: Column,
  names: (table: string) => ReadonlySet<string> | null,
): Mark | null {
  const kind = column.kind;
  if (text === "") {
    return column.usual === "needed" ? mark(text, column.doc, "fill in a value, or delete the row") : null;
  }
  if (typeof kind === "string") {
    switch (kind) {
      case "number":
      case "count":
      case "share":
      case "places":
        return numeric(text, column);
      case "yes_no":
        return /^(yes|no)$/i.test(text) ? null : mark(text, "`yes` or `no`", "write one of the two");
      case "clock":
        return CLOCK.test(text) ? null : mark(text, "a time of day such as 06:00", "write hours, a colon, minutes");
      default:
        return null;
    }
  }
  if ("word" in kind) {
    if (kind.word.includes(text)) return null;
    const near = nearest(text, kind.word);
    return mark(text, kind.word.map((word) => `\`${word}\``).join(" or "), "write one of these words", near);
  }
  const table = "ref" in kind ? kind.ref : kind.refs;
  const known = names(table);
  if (!known) return null;
  const asked =
    "ref" in kind
      ? [text]
      : text
          .split(";")
          .map((part) => part.trim())
          .filter(Boolean);
  const unknown = asked.find((name) => !known.has(name));
  if (unknown === undefined) return null;
  const near = nearest(unknown, known);
  const whole = near === null || "ref" in kind ? near : text.replace(unknown, near);
  return mark(
    text,
    `a name of ${table}`,
    near ? `write \`${near}\`, or add it to ${table}` : `add it to ${table}`,
    whole,
  );
}

export function isNumeric(column: Column | undefined): boolean {
  const kind = column?.kind;
  return kind === "number" || kind === "count" || kind === "share" || kind === "places";
}

/** What a column holds, in words. */
export function holds(column: Column): string {
  const kind = column.kind;
  if (typeof kind !== "string") {
    if ("ref" in kind) return `a name of ${kind.ref}`;
    if ("refs" in kind) return `names of ${kind.refs}, ; between`;
    return kind.word.join(", ");
  }
  const words: Record<string, string> = {
    text: "text",
    list: "names, ; between",
    number: "number",
    count: "whole number",
    share: "share 0 to 1, or %",
    yes_no: "yes or no",
    clock: "time of day, hh:mm",
    weekdays: "days, e.g. mon-fri",
    breaks: "hh:mm+minutes, ; between",
    places: "places, or unlimited",
  };
  return words[kind] ?? kind;
}

/** What an empty cell means, in words. */
export function empty(column: Column): string {
  if (column.usual === "needed") return "must be filled";
  if (column.usual === "none") return "none";
  return column.usual.value;
}

export function columnOf(schema: TableSchema | undefined, name: string): Column | undefined {
  return schema?.columns.find((column) => column.name === name);
}
