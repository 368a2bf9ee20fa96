import { describe, expect, it } from "vitest";
import { mustTold, wishesTold } from "./must";

const order = (holds: boolean, must_hold: string) => ({ holds, proof: { must_hold } });

describe("what must hold", () => {
  it("is kept where the order keeps it, whatever is proven of others", () => {
    expect(mustTold(order(true, "kept")).state).toBe("met");
    expect(mustTold(order(true, "unknown")).short).toBe("✓ keeps all that must hold");
  });

  it("that no order keeps is told as proven", () => {
    expect(mustTold(order(false, "impossible")).short).toContain("as every order does: proven");
  });

  it("that a search cut short broke is not told as proven", () => {
    const told = mustTold(order(false, "unknown"));
    expect(told.short).toContain("not proven");
    expect(told.told).toContain("more moves");
  });

  it("that only the hand breaks leads back to the planned order", () => {
    expect(mustTold(order(false, "kept")).told).toContain("the planned order keeps");
  });
});

describe("wishes", () => {
  const proof = { must_hold: "kept" };

  it("that no order keeps together are a proof, not a fault", () => {
    const told = wishesTold({ ...proof, without_break: "impossible" });
    expect([told.state, told.told.includes("proven")]).toEqual(["open", true]);
  });

  it("are not proven broken by what must hold", () => {
    const told = wishesTold({ ...proof, must_hold: "impossible", without_break: "impossible" });
    expect(told.told).toContain("nothing is proven");
  });

  it("are kept where an order without a break was found", () => {
    expect(wishesTold({ ...proof, without_break: "found" }).state).toBe("met");
  });
});
