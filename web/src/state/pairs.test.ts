import { describe, expect, it } from "vitest";
import type { Revision } from "../api/types";
import { newestPair } from "./pairs";

const revision = (id: number, parent: number | null): Revision => ({
  id,
  parent,
  variant: 1,
  author: "Mara",
  time: "2026-11-26T08:00:00Z",
  note: "",
});

describe("what a comparison begins with", () => {
  it("is the revision in hand against the one it came from", () => {
    const books = [revision(5, 2), revision(4, 3), revision(3, 2), revision(2, 1)];
    expect(newestPair(books, 5)).toEqual([2, 5]);
    expect(newestPair(books, 4)).toEqual([3, 4]);
  });
  it("is the two newest where the one in hand came from an empty book", () => {
    expect(newestPair([revision(3, 2), revision(2, 1)], 2)).toEqual([2, 3]);
  });
  it("is nothing while there is one book alone", () => {
    expect(newestPair([revision(2, 1)], 2)).toBeNull();
  });
});
