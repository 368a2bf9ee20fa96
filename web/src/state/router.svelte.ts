/** Every view and selection has an address: `#/v/1/r/head/flow?station=...`. */

export const VIEWS = [
  "answer",
  "improve",
  "shops",
  "order",
  "flow",
  "money",
  "growth",
  "happened",
  "book",
  "compare",
  "working",
  "report",
  "formulas",
] as const;
export type View = (typeof VIEWS)[number];

export interface Route {
  variant: string | null;
  /** A revision's id, or `head` for whatever is newest. */
  revision: string;
  view: View;
  /** What the view shows: a shop, a table, a figure, a formula. */
  arg: string;
  query: URLSearchParams;
}

export function parse(hash: string): Route {
  const [path = "", query = ""] = hash.replace(/^#\/?/, "").split("?", 2);
  const parts = path.split("/").map((part) => {
    try {
      return decodeURIComponent(part);
    } catch {
      return part;
    }
  });
  const route: Route = { variant: null, revision: "head", view: "answer", arg: "", query: new URLSearchParams(query) };
  if (parts[0] !== "v") return route;
  route.variant = parts[1] || null;
  if (parts[2] === "r" && parts[3]) route.revision = parts[3];
  const view = VIEWS.find((name) => name === parts[4]);
  if (view) route.view = view;
  // Names may hold slashes of their own.
  route.arg = parts.slice(5).join("/");
  return route;
}

export function print(route: Route): string {
  const query = route.query.toString();
  const parts = ["v", route.variant ?? "", "r", route.revision, route.view];
  if (route.arg !== "") parts.push(route.arg);
  return `#/${parts.map(encodeURIComponent).join("/")}${query ? `?${query}` : ""}`;
}

/** Choices of a query by name; an empty value takes one away. */
export type Choices = Record<string, string | null>;

function chosen(query: URLSearchParams, choices: Choices): URLSearchParams {
  const next = new URLSearchParams(query);
  for (const [name, value] of Object.entries(choices)) {
    if (value === null || value === "") next.delete(name);
    else next.set(name, value);
  }
  return next;
}

class Router {
  route: Route = $state.raw(parse(typeof location === "undefined" ? "" : location.hash));

  listen(): () => void {
    const changed = (): void => {
      this.route = parse(location.hash);
    };
    window.addEventListener("hashchange", changed);
    return () => window.removeEventListener("hashchange", changed);
  }

  /** The address of a view of the revision on screen. */
  href(view: View, arg = "", query: Record<string, string> = {}): string {
    return print({ ...this.route, view, arg, query: new URLSearchParams(query) });
  }

  /** The same, what is chosen on screen kept but for these. */
  hrefChoosing(view: View, arg: string, choices: Choices): string {
    return print({ ...this.route, view, arg, query: chosen(this.route.query, choices) });
  }

  /** The same view of another revision or variant. */
  at(variant: string, revision: string): string {
    return print({ ...this.route, variant, revision });
  }

  go(hash: string): void {
    location.hash = hash;
  }

  /** Changes the query in place: a selection, a filter. */
  choose(choices: Choices, keepInHistory = true): void {
    const hash = print({ ...this.route, query: chosen(this.route.query, choices) });
    if (keepInHistory) this.go(hash);
    else {
      history.replaceState(null, "", hash);
      this.route = parse(hash);
    }
  }
}

export const router = new Router();
