/** Numbers and times as the reader's locale writes them. */
import type { Interval } from "../api/types";
import type { DecimalMark } from "../sheet/numbers";

/** Some systems report languages that no formatter knows (`en-US@posix`). */
function usable(languages: readonly string[]): string {
  for (const language of languages) {
    try {
      return new Intl.NumberFormat(language).resolvedOptions().locale;
    } catch {
      continue;
    }
  }
  return "en";
}

export const locale = usable(typeof navigator === "undefined" ? [] : navigator.languages);

const formats = new Map<string, Intl.NumberFormat>();

function format(options: Intl.NumberFormatOptions): Intl.NumberFormat {
  const key = JSON.stringify(options);
  let made = formats.get(key);
  if (!made) formats.set(key, (made = new Intl.NumberFormat(locale, options)));
  return made;
}

export const decimalMark: DecimalMark =
  format({})
    .formatToParts(1.5)
    .find((part) => part.type === "decimal")?.value === ","
    ? ","
    : ".";

export function num(value: number | null | undefined, decimals = 0): string {
  if (value === null || value === undefined || !Number.isFinite(value)) return "–";
  return format({ minimumFractionDigits: decimals, maximumFractionDigits: decimals }).format(value);
}

/** As many digits as tell something, for values of unknown size. */
export function figure(value: number | null | undefined): string {
  if (value === null || value === undefined || !Number.isFinite(value)) return "–";
  return format({ maximumSignificantDigits: 6 }).format(value);
}

export function percent(share: number | null | undefined, decimals = 0): string {
  if (share === null || share === undefined || !Number.isFinite(share)) return "–";
  const text = format({
    style: "percent",
    minimumFractionDigits: decimals,
    maximumFractionDigits: decimals,
  }).format(share);
  // With a space before the sign, as the sentences of the server, the report and the command line have it.
  return text.replace(/\s*%$/u, "\u00a0%");
}

export function signed(value: number, decimals = 0): string {
  return format({ signDisplay: "exceptZero", minimumFractionDigits: decimals, maximumFractionDigits: decimals }).format(
    value,
  );
}

export function interval(seen: Interval, decimals = 0): string {
  return seen.half_width === null
    ? num(seen.mean, decimals)
    : `${num(seen.mean, decimals)} ± ${num(seen.half_width, decimals)}`;
}

export function shareInterval(seen: Interval, decimals = 1): string {
  return seen.half_width === null
    ? percent(seen.mean, decimals)
    : `${percent(seen.mean, decimals).replace(/\s%$/u, "")} ± ${percent(seen.half_width, decimals)}`;
}

const clock = new Intl.DateTimeFormat(locale, { dateStyle: "medium", timeStyle: "short" });

export function time(text: string): string {
  const at = new Date(text);
  return Number.isNaN(at.getTime()) ? text : clock.format(at);
}

/** A sentence of the server's, begun as a sentence. */
export function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/** What a look at a book found, in words: `No errors; 5 notes`. */
export function found(errors: number, notes: number): string {
  const count = (of: number, one: string): string => `${of === 0 ? "no" : num(of)} ${one}${of === 1 ? "" : "s"}`;
  return capital(`${count(errors, "error")}; ${count(notes, "note")}`);
}
