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
