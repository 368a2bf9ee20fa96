/** What to do next: looked up when its page is opened, found by a job when it is asked for. */
import { api, Refused } from "../api/client";
import type { Id, Job, Problem } from "../api/types";
import { words } from "./runs.svelte";

export class Found<T> {
  found: T | null = $state.raw(null);
  /** The revision that it is of; older than the book where nobody asked since. */
  of: Id | null = $state(null);
  /** What it answers, as the end of its address. */
  answers = $state("");
  job: Job | null = $state.raw(null);
  failed: string | null = $state(null);
  problems: Problem[] | null = $state.raw(null);
  /** Whether the server was asked and has nothing. */
  missing = $state(false);
  private revision: Id | null = $state(null);
  private asked = $state("");
  private unfollow: (() => void) | null = null;
  private turn = 0;

  /** `root` is where its addresses begin below the revision. */
  constructor(
    readonly word: string,
    private readonly root = "next/",
  ) {}

  get running(): boolean {
    return this.job?.state === "queued" || this.job?.state === "running";
  }

  /** Whether what is shown is not what is asked for. */
  get older(): boolean {
    return this.found !== null && (this.of !== this.revision || this.answers !== this.asked);
  }

  clear(): void {
    this.stop();
    this.found = null;
    this.of = null;
  }

  /** Whether what is shown is the best so far of what was cut short. */
  get cutShort(): boolean {
    return !this.older && (this.found as { stopped?: boolean } | null)?.stopped === true;
  }

  /** Ends what is under way for a book that is no more; the older answer stays. Runs made so far are kept by the server. */
  stop(): void {
    this.turn += 1;
    this.unfollow?.();
    this.unfollow = null;
    const job = this.job;
    if (job && this.running) api.cancel(job.id).catch(() => undefined);
    this.job = null;
    this.failed = null;
    this.problems = null;
    this.missing = false;
    this.revision = null;
  }

  /** Shows what the server has found for a revision; nothing is begun. */
  show(revision: Id, path: string): void {
    if (this.revision === revision && this.asked === path) return;
    this.stop();
    this.revision = revision;
    this.asked = path;
    if (this.of === revision && this.answers === path) return;
    void this.fetch(this.turn, revision, path);
  }

  /** Has it found, or found anew after a cancel. */
  async start(): Promise<void> {
    const [revision, path] = [this.revision, this.asked];
    if (revision === null || this.running) return;
    this.failed = null;
    const turn = this.turn;
    try {
      const id = await api.findOut(revision, this.root + path);
      if (turn !== this.turn) return void api.cancel(id).catch(() => undefined);
      this.job = { id, revision, kind: "improve", state: "queued", done: 0, of: 0, message: "", best: [] };
      this.unfollow = api.follow(
        id,
        (job) => {
          if (turn !== this.turn) return;
          this.job = job;
          if (job.state === "done") void this.fetch(turn, revision, path);
          // the best so far, where it came as far as that
          if (job.state === "cancelled") void this.fetch(turn, revision, path, job);
          if (job.state === "failed") this.failed = job.message || "it failed";
        },
        () => {
          if (turn !== this.turn) return;
          this.job = null;
          this.failed = "the server no longer knows this job";
        },
      );
    } catch (error) {
      this.refused(turn, error);
    }
  }

  async cancel(): Promise<void> {
    const job = this.job;
    if (!job) return;
    try {
      await api.cancel(job.id);
    } catch (error) {
      this.failed = words(error);
    }
  }

  private async fetch(turn: number, revision: Id, path: string, cancelled: Job | null = null): Promise<void> {
    try {
      const found = await api.found<T>(revision, this.root + path);
      if (turn !== this.turn) return;
      this.job = cancelled;
      this.missing = found === null;
      if (found === null) return;
      this.found = found;
      this.of = revision;
      this.answers = path;
    } catch (error) {
      this.refused(turn, error);
    }
  }

  private refused(turn: number, error: unknown): void {
    if (turn !== this.turn) return;
    if (error instanceof Refused && error.problems.length > 0) this.problems = error.problems;
    else this.failed = error instanceof Refused && error.mend ? `${error.message}: ${error.mend}` : words(error);
  }
}
