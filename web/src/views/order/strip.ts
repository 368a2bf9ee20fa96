/** How a build order is drawn: short names, rows of cars, runs that break a rule. */

export interface Lane {
  option: string;
  rules: number[];
}
export interface Span {
  from: number;
  to: number;
}

/** Short names that differ from one another: first letters of words, or the first letters of one. */
export function codes(names: readonly string[]): Map<string, string> {
  const found = new Map<string, string>();
  const taken = new Set<string>();
  for (const name of names) {
    const words = name.split(/[\s-]+/).filter((word) => word !== "");
    const letters = [...name.replace(/\s/g, "")];
    const first =
      words.length > 1
        ? words
            .map((word) => [...word][0] ?? "")
            .join("")
            .slice(0, 2)
            .toUpperCase()
        : letters.slice(0, 2).join("");
    const others = letters.slice(1).map((letter) => `${letters[0] ?? "?"}${letter}`);
    const numbered = Array.from({ length: names.length }, (_, n) => `${letters[0] ?? "?"}${n + 1}`);
    const code = [first, ...others, ...numbered].find((one) => one !== "" && !taken.has(one)) ?? name;
    taken.add(code);
    found.set(name, code);
  }
  return found;
}

/** Shades for words that name a colour; the pattern and the letters tell colours apart, not these. */
const SHADES: readonly [RegExp, string][] = [
  [/white|ivory|cream/i, "#ffffff"],
  [/grey|gray|silver/i, "#c9ced3"],
  [/black|anthracite/i, "#8b9299"],
  [/yellow|gold/i, "#f3e3a1"],
  [/green/i, "#bfdcc3"],
  [/blue/i, "#b9cfe8"],
  [/red/i, "#eeb9b2"],
  [/orange/i, "#f5cfa3"],
  [/brown|beige/i, "#d9c7b0"],
  [/purple|violet/i, "#d3c4e3"],
];

export const shade = (name: string): string => SHADES.find(([word]) => word.test(name))?.[1] ?? "#eef1f3";

/** As many as there are patterns to tell colours apart by. */
export const SWATCHES = 8;

/** The lanes of options, each with the rules that look at it, in the order of the rules. */
export function lanesOf(rules: readonly { option: string }[]): Lane[] {
  const lanes = new Map<string, number[]>();
  rules.forEach(({ option }, at) => lanes.set(option, [...(lanes.get(option) ?? []), at]));
  return [...lanes].map(([option, own]) => ({ option, rules: own }));
}

/** Places, in spans that do not touch, that lie in runs which break any of some rules. */
export function brokenSpans(rules: readonly { broken_at: readonly number[]; in_every: number }[]): Span[] {
  const all = rules
    .flatMap(({ broken_at, in_every }) => broken_at.map((from) => ({ from, to: from + in_every - 1 })))
    .sort((a, b) => a.from - b.from);
  const spans: Span[] = [];
  for (const { from, to } of all) {
    const last = spans.at(-1);
    if (last && from <= last.to + 1) last.to = Math.max(last.to, to);
    else spans.push({ from, to });
  }
  return spans;
}

/** The part of spans that lies within a row of places. */
export const within = (spans: readonly Span[], first: number, last: number): Span[] =>
  spans
    .filter(({ from, to }) => from <= last && to >= first)
    .map(({ from, to }) => ({ from: Math.max(from, first), to: Math.min(to, last) }));

/** Boxes side by side as one path: cheap to draw by the hundred. */
export const boxes = (at: readonly number[], width: number, y: number, height: number): string =>
  at.map((x) => `M${x + 1.5} ${y}h${width - 3}v${height}h${3 - width}z`).join("");

export const ZOOMS = { far: 15, usual: 27, near: 46 } as const;
export type Zoom = keyof typeof ZOOMS;
export const isZoom = (word: string | null): word is Zoom => word !== null && word in ZOOMS;

/** Rows of places, each with as many as fit. */
export function rowsOf(places: number, perRow: number): Span[] {
  const rows: Span[] = [];
  for (let from = 1; from <= places; from += perRow) rows.push({ from, to: Math.min(places, from + perRow - 1) });
  return rows;
}

/** Where a key takes the cursor; null for keys that do not move it. */
export function stepOf(key: string, control: boolean, at: number, perRow: number, places: number): number | null {
  const row = Math.floor((at - 1) / perRow) * perRow;
  const to: Record<string, number> = {
    ArrowLeft: at - 1,
    ArrowRight: at + 1,
    ArrowUp: at - perRow,
    ArrowDown: at + perRow,
    PageUp: at - 5 * perRow,
    PageDown: at + 5 * perRow,
    Home: control ? 1 : row + 1,
    End: control ? places : row + perRow,
  };
  const wanted = to[key];
  return wanted === undefined ? null : Math.max(1, Math.min(places, wanted));
}
