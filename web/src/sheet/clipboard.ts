/** Blocks of cells as spreadsheets put them on the clipboard. */

/** Reads tab-separated text; quoted cells may hold tabs, newlines and quotes. */
export function readBlock(text: string): string[][] {
  const rows: string[][] = [];
  let row: string[] = [];
  let cell = "";
  let quoted = false;
  const source = text.replace(/\r\n?/g, "\n");
  for (let i = 0; i < source.length; i += 1) {
    const letter = source[i];
    if (quoted) {
      if (letter !== '"') cell += letter;
      else if (source[i + 1] === '"') {
        cell += '"';
        i += 1;
      } else quoted = false;
    } else if (letter === '"' && cell === "") quoted = true;
    else if (letter === "\t") {
      row.push(cell);
      cell = "";
    } else if (letter === "\n") {
      row.push(cell);
      rows.push(row);
      row = [];
      cell = "";
    } else cell += letter;
  }
  if (cell !== "" || row.length > 0) rows.push([...row, cell]);
  return rows;
}

/** Writes tab-separated text. */
export function writeBlock(block: string[][]): string {
  const cell = (text: string): string => (/["\t\n\r]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text);
  return block.map((row) => row.map(cell).join("\t")).join("\n");
}

const asName = (text: string): string =>
  text
    .trim()
    .toLowerCase()
    .replace(/[\s-]+/g, "_");

/**
 * A block whose first row names columns, taken along with the cells as whoever
 * copies a table from a spreadsheet does. It does where it has no empty and no
 * double name and at least half of them, and two where there are two, are names
 * that the table knows; the others are columns of the reader's own. Null for a
 * block of cells alone.
 */
export function withHeads(
  block: readonly string[][],
  known: readonly string[],
): { columns: string[]; rows: string[][] } | null {
  const [first, ...rows] = block;
  if (!first || rows.length === 0) return null;
  const names = new Map(known.map((name) => [asName(name), name]));
  const columns = first.map((text) => names.get(asName(text)) ?? text.trim());
  if (columns.some((name) => name === "") || new Set(columns).size < columns.length) return null;
  const familiar = first.filter((text) => names.has(asName(text))).length;
  return familiar >= Math.min(2, first.length) && 2 * familiar >= first.length ? { columns, rows } : null;
}
