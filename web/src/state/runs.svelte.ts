/** The two runs of the revision on screen: a quick one, then a precise one. */
import { api, Refused } from "../api/client";
import type { Answer, Id, Job, RunKind } from "../api/types";

export class Runs {
  preview: Answer | null = $state.raw(null);
  precise: Answer | null = $state.raw(null);
  job: Job | null = $state.raw(null);
  /** What went wrong, in words. */
  failed: string | null = $state(null);
  /** The revision whose answer is shown; older than the book while a run is under way. */
  of: Id | null = $state(null);
  private revision: Id | null = null;
  private unfollow: (() => void) | null = null;
  private turn = 0;

  get answer(): Answer | null {
    return this.precise ?? this.preview;
  }

  get kind(): RunKind | null {
    return this.precise ? "precise" : this.preview ? "preview" : null;
  }

  get running(): boolean {
    return this.job?.state === "queued" || this.job?.state === "running";
  }

  /** Forgets everything: another variant or revision is opened. */
  clear(): void {
    this.stop();
    this.preview = null;
    this.precise = null;
    this.of = null;
  }

  /** Leaves the answer on screen, marked as older, and ends what runs for it. */
  stop(): void {
    this.turn += 1;
    this.unfollow?.();
    this.unfollow = null;
    const job = this.job;
    if (job && this.running) api.cancel(job.id).catch(() => undefined);
    this.job = null;
    this.failed = null;
    this.revision = null;
  }

  /** Shows what is known of a revision and runs what is not. */
  async show(revision: Id): Promise<void> {
    const turn = (this.turn += 1);
    this.revision = revision;
    this.failed = null;
    try {
      const precise = await api.answer(revision, "precise");
      if (turn !== this.turn) return;
      if (precise) return this.take(revision, "precise", precise);
      const preview = await api.answer(revision, "preview");
      if (turn !== this.turn) return;
      if (preview) this.take(revision, "preview", preview);
      await this.start(preview ? "precise" : "preview");
    } catch (error) {
      if (turn === this.turn) this.failed = words(error);
    }
  }

  async start(kind: RunKind): Promise<void> {
    const revision = this.revision;
    if (revision === null) return;
    const turn = this.turn;
    this.failed = null;
    try {
      const id = await api.run(revision, kind);
      if (turn !== this.turn) return void api.cancel(id).catch(() => undefined);
      this.job = { id, revision, kind, state: "queued", done: 0, of: 0, message: "", best: [] };
      this.unfollow?.();
      this.unfollow = api.follow(
        id,
        (job) => {
          if (turn !== this.turn) return;
          this.job = job;
          if (job.state === "done") void this.finished(turn, revision, kind);
          if (job.state === "failed") this.failed = job.message || "the run failed";
        },
        () => {
          if (turn === this.turn) {
            this.job = null;
            this.failed = "the server no longer knows this run";
          }
        },
      );
    } catch (error) {
      if (turn === this.turn) this.failed = words(error);
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

  private async finished(turn: number, revision: Id, kind: RunKind): Promise<void> {
    try {
      const answer = await api.answer(revision, kind);
      if (turn !== this.turn || !answer) return;
      this.take(revision, kind, answer);
      if (kind === "preview") await this.start("precise");
    } catch (error) {
      if (turn === this.turn) this.failed = words(error);
    }
  }

  private take(revision: Id, kind: RunKind, answer: Answer): void {
    if (kind === "precise") this.precise = answer;
    else {
      this.preview = answer;
      this.precise = null;
    }
    this.of = revision;
  }
}

export function words(error: unknown): string {
  if (error instanceof Refused) return error.mend ? `${error.message}; ${error.mend}` : error.message;
  return error instanceof Error ? error.message : String(error);
}
