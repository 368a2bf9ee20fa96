/** The build order under the reader's hand: the moves stand in the address, what they do comes from the server. */
import { tick } from "svelte";
import { api, Refused } from "../api/client";
import type { HandOrder, HandPlaces, Id } from "../api/types";
import { printMoves, readMoves, type Chosen, type Move } from "../views/order/moves";
import { router } from "./router.svelte";
import { words } from "./runs.svelte";

class Hand {
  /** The order after the moves that were asked for last. */
  moved: HandOrder | null = $state.raw(null);
  /** What cars could do elsewhere. */
  places: HandPlaces | null = $state.raw(null);
  failed: string | null = $state(null);
  /** Milliseconds from a move to its figures on the page. */
  ms: number | null = $state(null);
  private asked = "";
  private looked = "";
  private since: number | null = null;
  private turn = 0;
  private look = 0;

  clear(): void {
    this.turn += 1;
    this.look += 1;
    this.asked = "";
    this.looked = "";
    this.moved = null;
    this.places = null;
    this.failed = null;
  }

  /** An order after some moves; with none it makes the server ready for the first. `spent` are the moves of its search, which tell it from one cut short. */
  async show(revision: Id, which: string, spent: number, moves: string): Promise<void> {
    const asked = `${revision} ${which} ${spent} ${moves}`;
    if (this.asked === asked) return;
    this.asked = asked;
    const turn = (this.turn += 1);
    try {
      const moved = await api.moved(revision, which, moves);
      if (turn !== this.turn) return;
      this.moved = moved;
      this.failed = null;
      const since = this.since;
      this.since = null;
      if (since !== null) void tick().then(() => (this.ms = performance.now() - since));
    } catch (error) {
      if (turn !== this.turn) return;
      this.asked = "";
      // What other moves did says nothing of moves that are refused.
      if (error instanceof Refused) this.moved = null;
      this.failed = error instanceof Refused && error.mend ? `${error.message}. Way out: ${error.mend}` : words(error);
    }
  }

  /** What putting the chosen cars elsewhere would do. */
  async lookFor(revision: Id, which: string, moves: string, chosen: Chosen | null): Promise<void> {
    const looked = chosen ? `${revision} ${which} ${moves} ${chosen.from}.${chosen.cars}` : "";
    if (this.looked === looked) return;
    this.looked = looked;
    const look = (this.look += 1);
    this.places = null;
    if (!chosen) return;
    try {
      const places = await api.placesFor(revision, which, moves, chosen.from, chosen.cars);
      if (look === this.look) this.places = places;
    } catch {
      // Frozen cars have no other place; a server that is gone says so elsewhere.
      if (look === this.look) this.looked = "";
    }
  }

  /** Moves made so far, as the address has them. */
  get moves(): Move[] {
    return readMoves(router.route.query.get("moves"));
  }

  get undone(): Move[] {
    return readMoves(router.route.query.get("undone"));
  }

  /** Makes a move on an order, named by `nameOf`: one more in the address, which the browser's own way back takes away again. */
  move(move: Move, on: string): void {
    if (move.from === move.to) return;
    this.since = performance.now();
    const moves = [...this.moves, move];
    router.choose({ moves: printMoves(moves), undone: null, on, chosen: `${move.to}.${move.cars}` });
  }

  /** Takes the last move back, or does it again; false where there is none. */
  turnMove(way: "undo" | "redo"): boolean {
    const [moves, undone] = [this.moves, this.undone];
    const move = way === "undo" ? moves.pop() : undone.pop();
    if (!move) return false;
    (way === "undo" ? undone : moves).push(move);
    this.since = performance.now();
    const at = way === "undo" ? move.from : move.to;
    router.choose({ moves: printMoves(moves), undone: printMoves(undone), chosen: `${at}.${move.cars}` });
    return true;
  }

  drop(): void {
    router.choose({ moves: null, undone: null, on: null, chosen: null });
  }
}

export const hand = new Hand();
