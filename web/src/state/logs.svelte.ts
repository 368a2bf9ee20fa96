/** The logs of the store and what was found in them; only the pages about them fetch this. */
import { Refused } from "../api/client";
import { logsApi } from "../api/logs";
import type { Believed, Id, LogEntry, Reading, Rehearsed, RoleColumns, ToldDay } from "../api/types";
import { Found } from "./next.svelte";
import { words } from "./runs.svelte";

/** What the server said, with the way out. */
export const told = (error: unknown): string =>
  error instanceof Refused && error.mend ? `${error.message}; ${error.mend}` : words(error);

class Logs {
  list: LogEntry[] | null = $state.raw(null);
  roles: RoleColumns[] = $state.raw([]);
  failed: string | null = $state(null);

  async load(): Promise<void> {
    try {
      if (this.roles.length === 0) this.roles = await logsApi.columns();
      this.list = await logsApi.list();
      this.failed = null;
    } catch (error) {
      this.failed = told(error);
    }
  }
}

export const logs = new Logs();
export const found = {
  reading: new Found<Reading>("reading of the log", ""),
  day: new Found<ToldDay>("replay of the day", ""),
  believed: new Found<Believed>("run against the log", ""),
  rehearsal: new Found<Rehearsed>("log of the plant’s own run", ""),
};

/** A part of a reading that is there already: fetched, never begun. */
export class Part<T> {
  value: T | null = $state.raw(null);
  failed: string | null = $state(null);
  waiting = $state(false);
  private asked = "";

  show(revision: Id, path: string): void {
    const asked = `${revision} ${path}`;
    if (this.asked === asked) return;
    this.asked = asked;
    this.failed = null;
    this.waiting = true;
    logsApi.part<T>(revision, path).then(
      (value) => {
        if (this.asked !== asked) return;
        this.value = value;
        this.waiting = false;
      },
      (error: unknown) => {
        if (this.asked !== asked) return;
        this.failed = told(error);
        this.waiting = false;
      },
    );
  }

  /** What was shown is of another log or book. */
  clear(): void {
    this.asked = "";
    this.value = null;
  }
}
