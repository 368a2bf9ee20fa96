/** What the proof says of what must hold, in words: wishes are told elsewhere. */
import type { BuildOrder } from "../../api/types";

export type MustState = "met" | "open" | "missed";

export interface MustTold {
  state: MustState;
  /** Beside the mark in the headline. */
  short: string;
  /** In a sentence. */
  told: string;
}

/** The proof is of all orders of these cars; `holds` is of the order shown, which a hand may have moved. */
export function mustTold(order: Pick<BuildOrder, "holds"> & { proof: { must_hold: string } }): MustTold {
  if (order.holds)
    return { state: "met", short: "✓ keeps all that must hold", told: "All that must hold is kept in this order." };
  switch (order.proof.must_hold) {
    case "impossible":
      return {
        state: "missed",
        short: "✗ breaks what must hold, as every order does: proven",
        told: "Broken, and proven: no order of these cars keeps all that must hold.",
      };
    case "kept":
      return {
        state: "missed",
        short: "✗ breaks what must hold; as planned it is kept",
        told: "Broken by the moves made by hand; the planned order keeps all that must hold.",
      };
    default:
      return {
        state: "missed",
        short: "✗ breaks what must hold, not proven of every order",
        told: "Broken, and not proven either way: another order may keep it. Give the search more moves.",
      };
  }
}

/** What the proof says of an order that breaks nothing at all, wishes with the rest. */
export function wishesTold(proof: { without_break: string; must_hold: string }): MustTold {
  if (proof.without_break === "found")
    return { state: "met", short: "✓ kept", told: "The planned order keeps every wish as well." };
  if (proof.without_break === "impossible")
    // What clashes may be what must hold, which is no proof of wishes.
    return proof.must_hold === "impossible"
      ? {
          state: "open",
          short: "○ open",
          told: "What no order can keep must hold; of the wishes alone nothing is proven.",
        }
      : {
          state: "open",
          short: "○ proven",
          told: "No order keeps every wish: proven. Goals say how near this one comes.",
        };
  return { state: "open", short: "○ open", told: "Whether some order keeps every wish is not proven either way." };
}
