/** Edits that the server has not acknowledged yet; they outlive a reload. */
import type { Id, Patch } from "../api/types";

export interface Waiting {
  note: string;
  patches: Patch[];
}
interface Stored {
  base: Id;
  waiting: Waiting[];
}

const key = (variant: string): string => `linewright.unsent.${variant}`;

export function store(variant: string, base: Id, waiting: Waiting[]): void {
  try {
    if (waiting.length === 0) localStorage.removeItem(key(variant));
    else localStorage.setItem(key(variant), JSON.stringify({ base, waiting }));
  } catch {
    // A full or forbidden storage only costs the safety of a reload.
  }
}

export function stored(variant: string): Stored | null {
  try {
    const text = localStorage.getItem(key(variant));
    return text === null ? null : (JSON.parse(text) as Stored);
  } catch {
    return null;
  }
}

const AUTHOR = "linewright.author";

export function author(): string {
  try {
    return localStorage.getItem(AUTHOR) ?? "";
  } catch {
    return "";
  }
}

export function rememberAuthor(name: string): void {
  try {
    localStorage.setItem(AUTHOR, name);
  } catch {
    // As above.
  }
}
