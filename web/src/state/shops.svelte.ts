/** The plan of a shop, made by a job when its page is opened and kept up while it stays open. */
import { tick } from "svelte";
import { api, Refused } from "../api/client";
import type {
  Assembly,
  Body,
  BuildOrder,
  CarMoney,
  Carts,
  Coil,
  Growth,
  Id,
  Job,
  Paint,
  Press,
  Problem,
} from "../api/types";
import { words } from "./runs.svelte";

export const SHOP_KINDS = ["coil", "press", "body", "paint", "assembly", "carts", "order", "money", "growth"] as const;
export type ShopKind = (typeof SHOP_KINDS)[number];
interface Plans {
  coil: Coil;
  press: Press;
  body: Body;
  paint: Paint;
  assembly: Assembly;
  carts: Carts;
  order: BuildOrder;
  money: CarMoney;
  growth: Growth;
}

/** A plan waits this long for the next key: it costs seconds of both processors. */
const CALM_MS = 700;

export class ShopPlan<K extends ShopKind> {
  plan: Plans[K] | null = $state.raw(null);
  /** The revision that the plan is of; older than the book while a new one is made. */
  of: Id | null = $state(null);
  /** The cars a week that it is for, where they are not the book's; for the build order which one; for money what ideas go by. */
  cars = $state("");
  job: Job | null = $state.raw(null);
  /** What went wrong, in words. */
  failed: string | null = $state(null);
  /** What is to mend in the book before there can be a plan. */
  problems: Problem[] | null = $state.raw(null);
  private revision: Id | null = null;
  private wanted: string = $state("");
  private unfollow: (() => void) | null = null;
  private calm: ReturnType<typeof setTimeout> | null = null;
  private turn = 0;

  /** `usual` is what it is for until something else is chosen. */
  constructor(
    readonly kind: K,
    usual = "",
  ) {
    this.wanted = usual;
  }

  get running(): boolean {
    return this.job?.state === "queued" || this.job?.state === "running";
  }

  /** What was asked for last. */
  get asked(): string {
    return this.wanted;
  }

  /** Whether what is shown is not what is asked for. */
  isOlder(revision: Id | undefined): boolean {
    return this.plan !== null && (String(this.of) !== String(revision) || this.cars !== this.wanted);
  }

  /** Forgets everything: another variant or revision is opened. */
  clear(): void {
    this.stop();
    this.plan = null;
    this.of = null;
  }

  /** Ends what is under way for a book that is no more; the older plan stays. */
  stop(): void {
    this.turn += 1;
    this.unfollow?.();
    this.unfollow = null;
    if (this.calm !== null) clearTimeout(this.calm);
    const job = this.job;
    if (job && this.running) api.cancel(job.id).catch(() => undefined);
    this.job = null;
    this.failed = null;
    this.problems = null;
    this.revision = null;
  }

  /** Shows the plan of a revision, for other cars than the book's where they are given, and has it made where there is none. */
  show(revision: Id, cars = ""): void {
    if (this.revision === revision && this.wanted === cars) return;
    const older = this.of !== null && this.of !== revision;
    this.stop();
    this.revision = revision;
    this.wanted = cars;
    if (this.of === revision && this.cars === cars) return;
    const turn = this.turn;
    this.calm = setTimeout(() => void this.find(turn, revision), older ? CALM_MS : 0);
  }

  /** Once more, after a cancel or a failure. */
  again(): void {
    const revision = this.revision;
    if (revision === null) return;
    this.stop();
    this.revision = revision;
    void this.find(this.turn, revision, true);
  }

  /** The server is back: what it did not answer is asked again. */
  back(): void {
    if (this.failed !== null) this.again();
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

  /** `anew` asks for a whole one where the server has the best of one cut short. */
  private async find(turn: number, revision: Id, anew = false): Promise<void> {
    try {
      const plan = anew ? null : await api.shopPlan<Plans[K]>(revision, this.kind, this.wanted);
      if (turn !== this.turn) return;
      if (plan) return this.take(revision, plan);
      const id = await api.planShop(revision, this.kind, this.wanted);
      if (turn !== this.turn) return void api.cancel(id).catch(() => undefined);
      this.job = { id, revision, kind: this.kind, state: "queued", done: 0, of: 0, message: "", best: [] };
      this.follow(turn, revision, id);
    } catch (error) {
      this.refused(turn, error);
    }
  }

  private follow(turn: number, revision: Id, id: Id): void {
    this.unfollow = api.follow(
      id,
      (job) => {
        if (turn !== this.turn) return;
        this.job = job;
        if (job.state === "done") void this.fetch(turn, revision);
        // An order cut short has a best so far.
        if (job.state === "cancelled" && this.kind === "order") void this.fetch(turn, revision, true);
        if (job.state === "failed") this.failed = job.message || "the planning failed";
      },
      () => {
        if (turn !== this.turn) return;
        this.job = null;
        this.failed = "the server no longer knows this job";
      },
    );
  }

  private async fetch(turn: number, revision: Id, cancelled = false): Promise<void> {
    try {
      const plan = await api.shopPlan<Plans[K]>(revision, this.kind, this.wanted);
      if (turn !== this.turn) return;
      if (plan) this.take(revision, plan);
      else if (!cancelled) this.failed = "the server made a plan and has lost it";
    } catch (error) {
      this.refused(turn, error);
    }
  }

  private take(revision: Id, plan: Plans[K]): void {
    this.plan = plan;
    this.of = revision;
    this.cars = this.wanted;
    this.job = null;
  }

  private refused(turn: number, error: unknown): void {
    if (turn !== this.turn) return;
    if (error instanceof Refused && error.problems.length > 0) this.problems = error.problems;
    else this.failed = words(error);
  }
}

/** What a shop computes while one waits: asked anew after every edit, since nothing is searched or run for it. */
export class Quick<T> {
  plan: T | null = $state.raw(null);
  of: Id | null = $state(null);
  cars = $state("");
  failed: string | null = $state(null);
  problems: Problem[] | null = $state.raw(null);
  /** Milliseconds from the last edit to its figures on the page. */
  ms: number | null = $state(null);
  private asked = "";
  private turn = 0;

  constructor(private readonly ask: (revision: Id, cars: string) => Promise<T>) {}

  clear(): void {
    this.turn += 1;
    this.asked = "";
    this.plan = null;
    this.of = null;
    this.failed = null;
    this.problems = null;
  }

  back(): void {
    this.asked = "";
  }

  /** `since` is when the edit was made that this answers. */
  async show(revision: Id, cars: string, since: number | null): Promise<void> {
    const asked = `${revision} ${cars}`;
    if (this.asked === asked) return;
    this.asked = asked;
    const turn = (this.turn += 1);
    this.failed = null;
    try {
      const plan = await this.ask(revision, cars);
      if (turn !== this.turn) return;
      this.plan = plan;
      this.of = revision;
      this.cars = cars;
      this.problems = null;
      if (since !== null) void tick().then(() => (this.ms = performance.now() - since));
    } catch (error) {
      if (turn !== this.turn) return;
      this.asked = "";
      if (error instanceof Refused && error.problems.length > 0) this.problems = error.problems;
      else this.failed = words(error);
    }
  }
}
