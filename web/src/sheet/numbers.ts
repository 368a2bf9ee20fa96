/**
 * Numbers between the reader's locale and the book.
 *
 * The book writes `1234.5`. A reader with a decimal comma sees and copies
 * `1234,5`, and whatever they paste is turned back before it reaches the book.
 */

export type DecimalMark = "." | ",";

/** The part of a cell that is a number, and what stands behind it (`12,5 min`). */
const NUMBER = /^([-+\u2212]?)(\d[\d.,\u00a0\u202f ']*|[.,]\d+)(.*)$/s;

/** `1,234` or `1.234`: a comma or a point, both could be meant. */
const TWO_MEANINGS = /^\d{1,3}[.,]\d{3}$/;

interface Reading {
  decimal: DecimalMark | null;
}

/** Which decimal mark a text shows without doubt; null when it shows none. */
function evidence(digits: string): Reading | "both" {
  const text = digits.replace(/[\u00a0\u202f ']/g, "");
  const comma = text.lastIndexOf(",");
  const point = text.lastIndexOf(".");
  if (comma < 0 && point < 0) return { decimal: null };
  if (comma >= 0 && point >= 0) return { decimal: comma > point ? "," : "." };
  const mark: DecimalMark = comma >= 0 ? "," : ".";
  const other: DecimalMark = mark === "," ? "." : ",";
  const pieces = text.split(mark);
  if (pieces.length > 2) {
    return pieces.slice(1).every((piece) => piece.length === 3) ? { decimal: other } : { decimal: null };
  }
  if (TWO_MEANINGS.test(text) && pieces[0] !== "0") return "both";
  return { decimal: mark };
}

function digitsOf(text: string): string | null {
  const match = NUMBER.exec(text.trim());
  return match ? (match[2] ?? null) : null;
}

/**
 * The decimal mark of a pasted block: what its unambiguous cells show, else the
 * reader's own. Null when the cells contradict each other.
 */
export function markOfBlock(cells: Iterable<string>, readers: DecimalMark): DecimalMark | null {
  const seen = new Set<DecimalMark>();
  for (const cell of cells) {
    const digits = digitsOf(cell);
    if (digits === null) continue;
    const shown = evidence(digits);
    if (shown !== "both" && shown.decimal) seen.add(shown.decimal);
  }
  if (seen.size > 1) return null;
  return seen.values().next().value ?? readers;
}

/**
 * A number as the book writes it, whatever stands behind it kept. Text that is
 * no number, or whose meaning stays open, comes back as it was: the book's
 * check then says what is wrong with it. A table that came from a file with
 * decimal commas keeps them (`books`).
 */
export function toBook(text: string, mark: DecimalMark | null, books: DecimalMark = "."): string {
  const match = NUMBER.exec(text.trim());
  if (!match) return text.trim();
  const [, sign = "", digits = "", rest = ""] = match;
  const bare = digits.replace(/[\u00a0\u202f ']/g, "");
  const shown = evidence(digits);
  const decimal = shown === "both" ? mark : (shown.decimal ?? mark ?? ".");
  if (decimal === null) return text.trim();
  const thousands = decimal === "," ? "." : ",";
  const plain = bare.split(thousands).join("").replace(decimal, ".");
  if (!/^(\d+(\.\d*)?|\.\d+)$/.test(plain)) return text.trim();
  const blank = /\s$/.test(digits) && rest ? " " : "";
  return (sign === "\u2212" ? "-" : sign === "+" ? "" : sign) + plain.replace(".", books) + blank + rest;
}

/** A number of the book as the reader writes it. */
export function toReader(text: string, mark: DecimalMark, books: DecimalMark = "."): string {
  return mark !== books && /^-?\d+[.,]\d+(\s|%|$)/.test(text) ? text.replace(books, mark) : text;
}
