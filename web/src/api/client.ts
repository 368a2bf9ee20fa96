/** The one door to the server. */
import type {
  Answer,
  BookProblems,
  BookReply,
  CartPlan,
  Compare,
  Conflict,
  EditReply,
  Figure,
  Formula,
  HandOrder,
  HandPlaces,
  Id,
  Job,
  Patch,
  Problem,
  RatePlan,
  Revision,
  RunKind,
  Schema,
  Today,
  Variant,
  Working,
} from "./types";

/** The server answered, but not with what was asked. */
export class Refused extends Error {
  constructor(
    readonly status: number,
    readonly code: string,
    message: string,
    /** The way out. */
    readonly mend: string,
    readonly problems: Problem[],
    readonly conflicts: Conflict[],
  ) {
    super(message);
  }
}

/** Nobody answered. */
export class Gone extends Error {}

export const revisionPath = (revision: Id): string => `/api/revisions/${encodeURIComponent(String(revision))}`;
const variantPath = (variant: Id): string => `/api/variants/${encodeURIComponent(String(variant))}`;

/** The question's end for another rate than the book's. */
export const atRate = (cars: string, first = "?"): string =>
  cars === "" ? "" : `${first}cars=${encodeURIComponent(cars)}`;

/** Which build order: the week and how many times the usual moves are searched, as an address has them; "" for the usual. */
export const whichOrder = (week: string, effort: string): string =>
  String(new URLSearchParams({ ...(week === "" ? {} : { week }), ...(effort === "" ? {} : { effort }) }));

/** The question's end for a build order, with what was moved by hand. */
export const ofOrder = (which: string, moves = ""): string =>
  `?${new URLSearchParams([...new URLSearchParams(which), ...(moves === "" ? [] : [["moves", moves]])])}`;

/** By what money is told what ideas give; by runs where nothing is said. */
export const byIdeas = (what: string): string => (what === "" ? "" : `?ideas=${encodeURIComponent(what)}`);

/** What a shop's plan is for: which build order, what ideas go by, a rate of all others. */
const planFor = (shop: string, what: string): string =>
  shop === "order" ? ofOrder(what) : shop === "money" ? byIdeas(what) : atRate(what);

interface ErrorBody {
  error?: { code?: string; message?: string; mend?: string; problems?: Problem[]; conflicts?: Conflict[] };
  problems?: Problem[];
  conflicts?: Conflict[];
}

export async function ask<T>(path: string, init: RequestInit = {}): Promise<T> {
  let response: Response;
  try {
    response = await fetch(path, { credentials: "same-origin", ...init });
  } catch (error) {
    if (error instanceof DOMException && error.name === "AbortError") throw error;
    throw new Gone("the server does not answer");
  }
  // Other machines need the store's token; the server has a form of its own for it.
  if (response.status === 401) window.location.assign("/login");
  const text = await response.text();
  let body: unknown = null;
  try {
    body = text === "" ? null : JSON.parse(text);
  } catch {
    throw new Refused(
      response.status,
      "not-json",
      `the server answered with something unreadable (${response.status})`,
      "load the page again",
      [],
      [],
    );
  }
  if (response.ok) return body as T;
  const said = (body ?? {}) as ErrorBody;
  throw new Refused(
    response.status,
    said.error?.code ?? String(response.status),
    said.error?.message ?? `the server answered ${response.status}`,
    said.error?.mend ?? "",
    said.problems ?? said.error?.problems ?? [],
    said.conflicts ?? said.error?.conflicts ?? [],
  );
}

export function send<T>(method: string, path: string, body: unknown): Promise<T> {
  return ask<T>(path, { method, headers: { "content-type": "application/json" }, body: JSON.stringify(body) });
}

/** A list, whether it comes bare or under a name. */
function listed<T>(body: T[] | Record<string, T[]>, name: string): T[] {
  return Array.isArray(body) ? body : (body[name] ?? []);
}

export const api = {
  schema: async (): Promise<Schema> => ({ tables: listed(await ask<Schema["tables"]>("/api/schema"), "tables") }),
  formulas: async (): Promise<Formula[]> => listed(await ask<Formula[]>("/api/formulas"), "formulas"),
  compute: (name: string, values: Record<string, string>): Promise<Working> =>
    send("POST", `/api/formulas/${encodeURIComponent(name)}`, values),

  variants: async (): Promise<Variant[]> => listed(await ask<Variant[]>("/api/variants"), "variants"),
  /** A variant that begins at a revision, or with an empty book. */
  branch: (name: string, from_revision: Id | null, author: string): Promise<Variant> =>
    send("POST", "/api/variants", { name, from_revision, author }),
  revisions: async (variant: Id): Promise<Revision[]> =>
    listed(await ask<Revision[]>(`${variantPath(variant)}/revisions`), "revisions"),
  restore: (variant: Id, revision: Id, author: string, note: string): Promise<Revision> =>
    send("POST", `${variantPath(variant)}/restore`, { revision, author, note }),
  /** Answered with the new plan, so that a key costs one way to the server and back. */
  edit: (variant: Id, base: Id, author: string, note: string, patches: Patch[]): Promise<EditReply> =>
    send("POST", `${variantPath(variant)}/edits?outcome=plan`, { base, author, note, patches }),
  takeBack: (variant: Id, revision: Id, author: string, note: string): Promise<EditReply> =>
    send("POST", `${variantPath(variant)}/take-back`, { revision, author, note }),
  import: async (variant: Id, file: File, author: string, table: string | null): Promise<Revision> => {
    const query = new URLSearchParams({ author, note: `import of ${file.name}` });
    if (table !== null) query.set("table", table);
    const reply = await ask<Revision | { revision: Revision }>(`${variantPath(variant)}/import?${query}`, {
      method: "POST",
      headers: { "content-type": contentType(file.name) },
      body: file,
    });
    return "revision" in reply ? reply.revision : reply;
  },

  book: (revision: Id): Promise<BookReply> => ask(`${revisionPath(revision)}/book`),
  /** All that is wrong with it, as tables and as a plant. */
  problems: (revision: Id): Promise<BookProblems> => ask(`${revisionPath(revision)}/problems`),
  /** The plan without its workings, which weigh ten times as much as the rest. */
  plan: (revision: Id): Promise<RatePlan> => ask(`${revisionPath(revision)}/plan?workings=none`),
  figures: async (revision: Id): Promise<Record<string, Figure>> =>
    (await ask<RatePlan>(`${revisionPath(revision)}/plan?workings=all`)).figures ?? {},
  answer: async (revision: Id, kind: RunKind): Promise<Answer | null> => {
    try {
      return await ask<Answer>(`${revisionPath(revision)}/answer?kind=${kind}`);
    } catch (error) {
      if (error instanceof Refused && error.status === 404) return null;
      throw error;
    }
  },
  compare: (a: Id, b: Id): Promise<Compare> => ask(`${revisionPath(a)}/compare/${encodeURIComponent(String(b))}`),

  run: async (revision: Id, kind: RunKind): Promise<Id> => {
    const reply = await send<{ job: Id | Job }>("POST", `${revisionPath(revision)}/runs`, { kind });
    return typeof reply.job === "object" ? reply.job.id : reply.job;
  },
  /** The plan of a shop, for a rate or a week of its own; none before it was made. */
  shopPlan: async <T>(revision: Id, shop: string, what: string): Promise<T | null> => {
    try {
      return await ask<T>(`${revisionPath(revision)}/shops/${shop}${planFor(shop, what)}`);
    } catch (error) {
      if (error instanceof Refused && error.status === 404) return null;
      throw error;
    }
  },
  planShop: async (revision: Id, shop: string, what: string): Promise<Id> =>
    (await ask<{ job: Id }>(`${revisionPath(revision)}/shops/${shop}${planFor(shop, what)}`, { method: "POST" })).job,
  /** The planned order of a week with cars moved by hand, computed while one waits. */
  moved: (revision: Id, which: string, moves: string): Promise<HandOrder> =>
    ask(`${revisionPath(revision)}/shops/order/hand${ofOrder(which, moves)}`),
  /** What putting some cars at each place would do. */
  placesFor: (revision: Id, which: string, moves: string, from: number, cars: number): Promise<HandPlaces> =>
    ask(`${revisionPath(revision)}/shops/order/places${ofOrder(which, moves)}&from=${from}&cars=${cars}`),
  /** The assembly lines as the book has them, computed while one waits. */
  linesToday: (revision: Id, cars: string): Promise<Today[]> =>
    ask(`${revisionPath(revision)}/shops/assembly/today${atRate(cars)}`),
  /** The carts by formula. */
  fleets: (revision: Id): Promise<CartPlan> => ask(`${revisionPath(revision)}/shops/carts/plan`),
  /** What was found, if it was: `next/improve`, `next/reach?cars=…`, `logs/3/day?day=…`. */
  found: async <T>(revision: Id, path: string): Promise<T | null> => {
    try {
      return await ask<T>(`${revisionPath(revision)}/${path}`);
    } catch (error) {
      if (error instanceof Refused && error.status === 404) return null;
      throw error;
    }
  },
  findOut: async (revision: Id, path: string): Promise<Id> =>
    (await ask<{ job: Id }>(`${revisionPath(revision)}/${path}`, { method: "POST" })).job,
  job: (id: Id): Promise<Job> => ask(`/api/jobs/${encodeURIComponent(String(id))}`),
  cancel: (id: Id): Promise<unknown> => ask(`/api/jobs/${encodeURIComponent(String(id))}`, { method: "DELETE" }),
  follow,
};

function contentType(name: string): string {
  const lower = name.toLowerCase();
  if (lower.endsWith(".csv")) return "text/csv";
  if (lower.endsWith(".zip")) return "application/zip";
  return "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet";
}

const over = (job: Job): boolean => job.state !== "queued" && job.state !== "running";

/** Follows a job until it ends or the caller stops listening. */
function follow(id: Id, seen: (job: Job) => void, lost: () => void): () => void {
  const events = new EventSource(`/api/jobs/${encodeURIComponent(String(id))}/events`);
  let timer: ReturnType<typeof setTimeout> | null = null;
  let stopped = false;
  const stop = (): void => {
    stopped = true;
    events.close();
    if (timer !== null) clearTimeout(timer);
  };
  const take = (job: Job): void => {
    if (stopped) return;
    if (over(job)) stop();
    seen(job);
  };
  const read = (event: Event): void => {
    try {
      take(JSON.parse((event as MessageEvent<string>).data) as Job);
    } catch {
      // A line that is no job is a comment to keep the connection open.
    }
  };
  events.onmessage = read;
  for (const name of ["job", "progress", "state", "done"]) events.addEventListener(name, read);
  // Where events do not get through (a proxy, a server that starts anew), asking does.
  events.onerror = () => {
    events.close();
    if (timer !== null || stopped) return;
    const poll = async (): Promise<void> => {
      try {
        take(await api.job(id));
        if (!stopped) timer = setTimeout(() => void poll(), 1000);
      } catch {
        stop();
        lost();
      }
    };
    void poll();
  };
  return stop;
}
