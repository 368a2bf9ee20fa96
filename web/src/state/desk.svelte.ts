/** What is open: a variant at a revision, its book, its plan and its runs. */
import { tick } from "svelte";
import { api, Gone, Refused } from "../api/client";
import type {
  Banks,
  Budgeted,
  Growth,
  Conflict,
  Id,
  Improve,
  Outcome,
  Patch,
  Problem,
  RatePlan,
  Reach,
  Revision,
  TableSchema,
  Together,
  Variant,
} from "../api/types";
import { checkCell, columnOf, isNumeric, type Mark } from "../sheet/check";
import { toReader } from "../sheet/numbers";
import { Sheet, type Done } from "../sheet/sheet";
import { author, rememberAuthor, store, stored, type Waiting } from "./outbox";
import { Runs, words } from "./runs.svelte";
import { Found } from "./next.svelte";
import { Quick, ShopPlan } from "./shops.svelte";

export type Opening = "loading" | "ready" | "no-variant" | "no-revision" | "gone";
export interface Notice {
  id: number;
  text: string;
  kind: "news" | "trouble";
}

const WATCH_MS = 4_000;
const RETRY_MS = 2_000;
/** A run waits this long for the next key: about as long as a quick typist's pause. */
const CALM_MS = 180;

const place = (table: string, row: string, column: string): string => `${table}\n${row}\n${column}`;

class Desk {
  opening: Opening = $state("loading");
  schema: TableSchema[] = $state.raw([]);
  variants: Variant[] = $state.raw([]);
  variant: Variant | null = $state.raw(null);
  /** The revision on screen, as the server last acknowledged it. */
  revision: Revision | null = $state.raw(null);
  atHead = $state(true);
  /** The book's own name, for when there is no plan to name the plant. */
  bookName = $state("");
  name = $state(author());

  readonly sheet = new Sheet();
  /** Counts up whenever the sheet changes; drawing depends on it. */
  version = $state(0);
  problems: Problem[] = $state.raw([]);

  plan: RatePlan | null = $state.raw(null);
  /** Why there is no plan of this revision. */
  planProblems: Problem[] | null = $state.raw(null);
  planPending = $state(false);
  /** Milliseconds from the edit to the plan's figures, last time. */
  planMs: number | null = $state(null);
  readonly runs = new Runs();
  /** What to do next: found only when it is asked for, since it takes hundreds of runs. */
  readonly next = {
    improve: new Found<Improve>("ranking of ideas"),
    together: new Found<Together>("run with these ideas"),
    reach: new Found<Reach>("way"),
    banks: new Found<Banks>("price of the banks"),
    budget: new Found<Budgeted>("rate for the budget"),
    periods: new Found<Growth>("run of every period", "shops/"),
  };
  /** Plans of single shops, made only while their pages are open. */
  readonly shops = {
    coil: new ShopPlan("coil"),
    press: new ShopPlan("press"),
    body: new ShopPlan("body"),
    paint: new ShopPlan("paint"),
    assembly: new ShopPlan("assembly"),
    carts: new ShopPlan("carts"),
    order: new ShopPlan("order"),
    // What a car costs needs no run; what runs add to it is chosen, as on the command line.
    money: new ShopPlan("money", "plan"),
    growth: new ShopPlan("growth"),
  };
  /** The assembly lines as the book has them, and the carts by formula. */
  readonly lines = new Quick(api.linesToday);
  readonly fleets = new Quick(api.fleets);
  /** When the last edit was made whose figures are not all on screen yet. */
  lastEdit: number | null = null;

  waiting: Waiting[] = $state.raw([]);
  conflicts: Conflict[] = $state.raw([]);
  gone = $state(false);
  notices: Notice[] = $state.raw([]);

  private sending = false;
  private turning = false;
  private turnNext: "undo" | "redo" | null = null;
  private turn = 0;
  private edited = new Set<string>();
  private editedAt: number | null = null;
  /** The sheet differs from what was last loaded. */
  private touched = false;
  private calm: ReturnType<typeof setTimeout> | null = null;
  private watch: ReturnType<typeof setInterval> | null = null;
  private noticeCount = 0;

  get tables(): string[] {
    void this.version;
    const known = this.schema.map((table) => table.name);
    const own = [...this.sheet.tables.keys()].filter((name) => !known.includes(name));
    return [...known, ...own];
  }

  get isEmpty(): boolean {
    void this.version;
    return [...this.sheet.tables.values()].every((table) => table.rows.length === 0);
  }

  get editable(): boolean {
    return this.atHead && this.variant !== null;
  }

  schemaOf(table: string): TableSchema | undefined {
    return this.schema.find(({ name }) => name === table);
  }

  setName(name: string): void {
    this.name = name;
    rememberAuthor(name);
  }

  say(text: string, kind: Notice["kind"] = "news"): void {
    const id = (this.noticeCount += 1);
    this.notices = [...this.notices.slice(-3), { id, text, kind }];
    if (kind === "news") setTimeout(() => this.dismiss(id), 8_000);
  }

  dismiss(id: number): void {
    this.notices = this.notices.filter((notice) => notice.id !== id);
  }

  /** Looks for other people's edits, and for a server that came back. */
  keepWatch(): () => void {
    const look = (): void => {
      if (document.visibilityState === "visible") void this.lookAround();
    };
    this.watch = setInterval(look, WATCH_MS);
    document.addEventListener("visibilitychange", look);
    return () => {
      if (this.watch !== null) clearInterval(this.watch);
      document.removeEventListener("visibilitychange", look);
    };
  }

  /** Opens a variant at a revision; the first variant where none is named. */
  async open(variant: string | null, revision: string): Promise<void> {
    const turn = (this.turn += 1);
    this.opening = "loading";
    this.runs.clear();
    for (const shop of Object.values(this.shops)) shop.clear();
    for (const next of Object.values(this.next)) next.clear();
    this.lines.clear();
    this.fleets.clear();
    this.plan = null;
    this.planProblems = null;
    try {
      if (this.schema.length === 0) this.schema = (await api.schema()).tables;
      this.variants = await api.variants();
      if (turn !== this.turn) return;
      this.gone = false;
      const found = variant === null ? this.variants[0] : this.variants.find((v) => String(v.variant) === variant);
      if (!found) {
        this.variant = null;
        this.opening = "no-variant";
        return;
      }
      if (String(this.variant?.variant) !== String(found.variant)) {
        this.sheet.forget();
        this.waiting = [];
      }
      this.variant = found;
      this.atHead = revision === "head" || revision === String(found.head.id);
      await this.load(turn, this.atHead ? found.head.id : Number(revision));
      if (turn !== this.turn) return;
      this.opening = "ready";
      if (this.atHead) this.takeUpOutbox(String(found.variant));
      await this.compute(turn);
    } catch (error) {
      if (turn !== this.turn) return;
      if (error instanceof Gone) {
        this.gone = true;
        this.opening = "gone";
        setTimeout(() => turn === this.turn && void this.open(variant, revision), RETRY_MS);
      } else if (error instanceof Refused && (error.status === 404 || error.status === 400))
        this.opening = "no-revision";
      else {
        this.opening = "no-revision";
        this.say(words(error), "trouble");
      }
    }
  }

  /** Takes what the user did to the sheet: draws it, sends it, computes again. */
  take(done: Done | null): void {
    if (!done) return;
    if (done.skipped > 0) {
      this.say(
        `${done.skipped} of the cells to change are no longer in the book: another reader deleted their rows`,
        "trouble",
      );
    }
    this.version += 1;
    if (done.patches.length === 0) return;
    this.editedAt = performance.now();
    this.lastEdit = this.editedAt;
    this.touched = true;
    // What runs is for a book that is no more, and would keep the plan waiting.
    this.runs.stop();
    for (const shop of Object.values(this.shops)) shop.stop();
    for (const next of Object.values(this.next)) next.stop();
    for (const patch of done.patches) {
      if ("set" in patch) this.edited.add(place(patch.set.table, patch.set.row, patch.set.column));
      if ("add_row" in patch) {
        const { table, row } = patch.add_row;
        for (const column of this.sheet.table(table)?.columns ?? []) this.edited.add(place(table, row, column));
      }
    }
    this.waiting = [...this.waiting, { note: done.label, patches: done.patches }];
    this.remember();
    void this.pump();
  }

  undo(): void {
    if (!this.editable) return;
    if (this.sheet.importNext("undo")) void this.turnImport("undo");
    else this.take(this.sheet.undo());
  }

  redo(): void {
    if (!this.editable) return;
    if (this.sheet.importNext("redo")) void this.turnImport("redo");
    else this.take(this.sheet.redo());
  }

  /** An import is taken back by the server, which keeps what others have changed since. */
  private async turnImport(way: "undo" | "redo"): Promise<void> {
    const [step, variant] = [this.sheet.importNext(way), this.variant];
    if (!step || !variant) return;
    if (this.turning) {
      // Asked for before the last one is on screen: it comes next.
      this.turnNext = way;
      return;
    }
    if (this.waiting.length > 0) {
      this.say("The last changes are still on their way to the server; try again when they are saved", "trouble");
      return;
    }
    this.turning = true;
    try {
      const reply = await api.takeBack(variant.variant, step.revision, this.name || "unnamed", `${way}: ${step.label}`);
      this.sheet.importTurned(way, reply.revision.id);
      this.say(
        `${way === "undo" ? "Undone" : "Done again"}: ${step.label}${reply.merged ? "; what came in since is kept" : ""}`,
      );
      await this.open(String(variant.variant), "head");
    } catch (error) {
      const clash = error instanceof Refused && error.conflicts.length > 0;
      this.say(
        clash
          ? `Not undone: ${error.conflicts.length} of its cells were changed since; change them back first, or restore a revision`
          : `Not undone: ${words(error)}`,
        "trouble",
      );
    } finally {
      this.turning = false;
      const next = this.turnNext;
      this.turnNext = null;
      if (next) this[next]();
    }
  }

  /** Settles a conflict: my values again on top of theirs, or theirs. */
  async settle(mine: ReadonlySet<string>): Promise<void> {
    const settled = new Map(this.conflicts.map((c) => [place(c.table, c.row, c.column), c]));
    const keep = (patch: Patch): boolean =>
      !("set" in patch) ||
      !settled.has(place(patch.set.table, patch.set.row, patch.set.column)) ||
      mine.has(place(patch.set.table, patch.set.row, patch.set.column));
    const dropped = new Set(
      this.waiting.flatMap(({ patches }) =>
        patches.flatMap((p) => ("drop_column" in p ? [`${p.drop_column.table}\n${p.drop_column.column}`] : [])),
      ),
    );
    const ofDropped = (c: Conflict): boolean => c.yours === null && dropped.has(`${c.table}\n${c.column}`);
    const filled = new Set(this.conflicts.filter(ofDropped).map((c) => `${c.table}\n${c.column}`));
    const rows = new Set(
      this.conflicts
        .filter((c) => (c.theirs === null || c.yours === null) && !ofDropped(c))
        .map((c) => `${c.table}\n${c.row}`),
    );
    const stands = (patch: Patch): boolean => {
      // A column that others have filled stays.
      if ("drop_column" in patch) return !filled.has(`${patch.drop_column.table}\n${patch.drop_column.column}`);
      const of = "set" in patch ? patch.set : "remove_row" in patch ? patch.remove_row : null;
      return of === null || !rows.has(`${of.table}\n${of.row}`);
    };
    this.waiting = this.waiting
      .map((waiting) => ({ ...waiting, patches: waiting.patches.filter((patch) => keep(patch) && stands(patch)) }))
      .filter((waiting) => waiting.patches.length > 0);
    this.conflicts = [];
    const variant = this.variant;
    if (!variant) return;
    this.variants = await api.variants();
    const head = this.variants.find((v) => v.variant === variant.variant)?.head;
    if (!head) return;
    await this.load(this.turn, head.id);
    for (const { patches } of this.waiting) this.sheet.replay(patches);
    this.version += 1;
    this.remember();
    if (this.waiting.length === 0) await this.compute(this.turn);
    else await this.pump();
  }

  readonly placeOf = place;

  /** Every mark of a table by row id and column; rows by spreadsheet number come from the server. */
  marks(table: string): Map<string, Mark> {
    void this.version;
    const marks = new Map<string, Mark>();
    const rows = new Map(this.sheet.table(table)?.rows.map((row) => [row.line, row.id]));
    for (const problem of this.problems) {
      if (problem.table !== table || problem.row === null) continue;
      const row = rows.get(problem.row);
      if (row === undefined) continue;
      const at = place(table, row, problem.column ?? "");
      const held = marks.get(at);
      if (this.edited.has(at) || held?.severity === "error") continue;
      marks.set(at, {
        severity: problem.severity,
        found: problem.found,
        expected: problem.expected,
        mend: problem.mend,
        nearest: problem.nearest,
      });
    }
    for (const at of this.edited) {
      const [of = "", row = "", column = ""] = at.split("\n");
      if (of !== table || !this.sheet.row(of, row)) continue;
      const described = columnOf(this.schemaOf(of), column);
      const found = described && checkCell(this.plain(of, row, column, isNumeric(described)), described, this.namesOf);
      if (found) marks.set(at, found);
    }
    return marks;
  }

  private plain(table: string, row: string, column: string, numeric: boolean): string {
    const value = this.sheet.value(table, row, column);
    return numeric && this.sheet.table(table)?.decimalComma ? toReader(value, ".", ",") : value;
  }

  readonly namesOf = (table: string): ReadonlySet<string> | null => {
    const key = this.schemaOf(table)?.key[0];
    return key === undefined || !this.sheet.table(table) ? null : this.sheet.names(table, key);
  };

  /** The first variant of an empty store. */
  async begin(name: string): Promise<void> {
    try {
      const made = await api.branch(name, null, this.name || "unnamed");
      await this.open(String(made.variant), "head");
    } catch (error) {
      this.say(words(error), "trouble");
    }
  }

  async import(file: File, table: string | null): Promise<void> {
    const variant = this.variant;
    if (!variant) return;
    try {
      const before = this.variant?.head.id;
      const revision = await api.import(variant.variant, file, this.name || "unnamed", table);
      if (revision.id !== before) this.sheet.imported(`import of ${file.name}`, revision.id);
      this.say(`${file.name} is revision ${revision.id}`);
      await this.open(String(variant.variant), "head");
    } catch (error) {
      if (error instanceof Refused && error.problems.length > 0) this.problems = error.problems;
      this.say(`${file.name} was not imported: ${words(error)}`, "trouble");
    }
  }

  async restore(revision: Id): Promise<void> {
    const variant = this.variant;
    if (!variant) return;
    const made = await api.restore(
      variant.variant,
      revision,
      this.name || "unnamed",
      `restore of revision ${revision}`,
    );
    this.say(`Revision ${revision} is restored as revision ${made.id}`);
  }

  private async load(turn: number, revision: Id): Promise<void> {
    const reply = await api.book(revision);
    if (turn !== this.turn) return;
    this.revision = reply.revision;
    this.bookName = reply.name;
    this.problems = reply.problems;
    this.edited.clear();
    this.touched = false;
    this.sheet.load(reply.tables);
    this.version += 1;
  }

  private takeUpOutbox(variant: string): void {
    const left = stored(variant);
    if (!left || this.waiting.length > 0 || !this.revision) return;
    this.waiting = left.waiting;
    for (const { patches } of left.waiting) this.sheet.replay(patches);
    this.version += 1;
    this.say("Changes that had not reached the server are being sent now");
    // They were made on an older book; sending them against it lets the server merge.
    this.revision = { ...this.revision, id: left.base };
    void this.pump();
  }

  private remember(): void {
    if (this.variant && this.revision) store(String(this.variant.variant), this.revision.id, this.waiting);
  }

  private async pump(): Promise<void> {
    if (this.sending || this.conflicts.length > 0) return;
    this.sending = true;
    let merged = false;
    let outcome: Outcome | null = null;
    const turn = this.turn;
    try {
      while (this.waiting.length > 0 && this.variant && this.revision && turn === this.turn) {
        const batch = this.waiting;
        const notes = [...new Set(batch.map(({ note }) => note))].join(", ");
        const patches = batch.flatMap((waiting) => waiting.patches);
        const reply = await api.edit(this.variant.variant, this.revision.id, this.name || "unnamed", notes, patches);
        this.gone = false;
        this.revision = reply.revision;
        this.variant = { ...this.variant, head: reply.revision };
        this.waiting = this.waiting.slice(batch.length);
        merged ||= reply.merged;
        outcome = reply.outcome ?? null;
        // The figures first; what is behind them on the screen can follow.
        if (outcome && this.waiting.length === 0 && turn === this.turn) this.show(outcome);
        this.remember();
      }
    } catch (error) {
      this.sendingFailed(error);
      return;
    } finally {
      this.sending = false;
    }
    if (merged) this.say("Another reader's changes were merged with yours");
    if (turn !== this.turn) return;
    if (outcome && !merged) this.settled(outcome);
    await this.compute(turn, outcome !== null);
  }

  /** The plan that came with the answer to an edit. */
  private show(outcome: Outcome): void {
    this.plan = outcome.plan ?? null;
    this.planProblems = outcome.plan ? null : outcome.plan_problems;
    this.planPending = false;
    this.timed();
  }

  /** The server has the same rows as the sheet: its problems are the sheet's, and rows have numbers. */
  private settled(outcome: Outcome): void {
    const told = JSON.stringify(outcome.problems) !== JSON.stringify(this.problems);
    const marked = [...new Set([...this.edited].map((at) => at.split("\n")[0] ?? ""))].some(
      (table) => this.marks(table).size > 0,
    );
    if (told) this.problems = outcome.problems;
    this.edited.clear();
    this.touched = false;
    // Most keys change no mark and no number, and then the grid need not be drawn again.
    if (this.sheet.number() || told || marked) this.version += 1;
  }

  /** Milliseconds since the edit, when its figures have been drawn. */
  private timed(): void {
    const began = this.editedAt;
    if (began === null) return;
    this.editedAt = null;
    void tick().then(() => (this.planMs = performance.now() - began));
  }

  private sendingFailed(error: unknown): void {
    if (error instanceof Gone) {
      this.gone = true;
      setTimeout(() => void this.pump(), RETRY_MS);
    } else if (error instanceof Refused && error.conflicts.length > 0) {
      this.conflicts = error.conflicts;
    } else if (error instanceof Refused && error.status >= 500) {
      this.say(`Not saved: ${words(error)}. Trying again.`, "trouble");
      setTimeout(() => void this.pump(), RETRY_MS);
    } else {
      this.say(`The server refused the change: ${words(error)}`, "trouble");
      this.waiting = [];
      this.remember();
      void this.open(String(this.variant?.variant ?? ""), "head");
    }
  }

  /** The plan at once, the book's checks beside it, the runs when the keys rest. */
  private async compute(turn: number, planned = false): Promise<void> {
    const revision = this.revision;
    if (!revision) return;
    this.runs.stop();
    const current = (): boolean => turn === this.turn && this.revision?.id === revision.id;
    if (!planned && !(await this.askPlan(revision.id, current))) return;
    this.timed();
    void this.freshen(turn, revision.id);
    if (this.calm !== null) clearTimeout(this.calm);
    if (this.planProblems) {
      this.runs.clear();
      return;
    }
    const known = this.runs.of === null;
    this.calm = setTimeout(() => current() && void this.runs.show(revision.id), known ? 0 : CALM_MS);
  }

  /** False where something newer is asked for, or the server has no answer at all. */
  private async askPlan(revision: Id, current: () => boolean): Promise<boolean> {
    this.planPending = true;
    try {
      const plan = await api.plan(revision);
      if (!current()) return false;
      this.plan = plan;
      this.planProblems = null;
    } catch (error) {
      if (!current()) return false;
      if (!(error instanceof Refused) || error.status !== 422) {
        if (error instanceof Gone) this.gone = true;
        else this.say(words(error), "trouble");
        return false;
      }
      this.plan = null;
      this.planProblems = error.problems;
    } finally {
      if (current()) this.planPending = false;
    }
    return true;
  }

  /** Row numbers and problems of the book as it now stands on the server. */
  private async freshen(turn: number, revision: Id): Promise<void> {
    if (!this.touched) return;
    try {
      const reply = await api.book(revision);
      if (turn !== this.turn || this.waiting.length > 0 || this.revision?.id !== revision) return;
      this.problems = reply.problems;
      this.edited.clear();
      this.touched = false;
      this.sheet.load(reply.tables);
      this.version += 1;
    } catch {
      // The next edit or look around asks again.
    }
  }

  private async lookAround(): Promise<void> {
    if (this.opening !== "ready" || this.sending || this.conflicts.length > 0) return;
    try {
      const variants = await api.variants();
      const back = this.gone;
      this.gone = false;
      this.variants = variants;
      if (back) for (const shop of [...Object.values(this.shops), this.lines, this.fleets]) shop.back();
      if (back && this.waiting.length > 0) return void this.pump();
      // A server that came back has forgotten its jobs.
      if (back && this.revision && this.plan && !this.runs.running && this.runs.kind !== "precise")
        void this.runs.show(this.revision.id);
      const variant = this.variant;
      const head = variants.find((v) => v.variant === variant?.variant)?.head;
      if (!variant || !head || this.sending || this.waiting.length > 0) return;
      const moved = head.id !== variant.head.id;
      this.variant = { ...variant, head };
      if (!this.atHead || !moved || head.id === this.revision?.id) return;
      await this.load(this.turn, head.id);
      this.say(`${head.author} changed the book: revision ${head.id}`);
      await this.compute(this.turn);
    } catch (error) {
      if (error instanceof Gone) this.gone = true;
    }
  }
}

export const desk = new Desk();
