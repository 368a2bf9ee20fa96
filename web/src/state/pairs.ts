import type { Revision } from "../api/types";

/**
 * The two revisions that a comparison begins with, the older first: the one in
 * hand against what it came from, else the two newest. None where there is only
 * one. The first revision of a store is an empty book; leave it out.
 */
export function newestPair(books: Revision[], inHand: number | null): [number, number] | null {
  const newest = books.toSorted((a, b) => Number(b.id) - Number(a.id));
  const here = newest.find(({ id }) => id === inHand);
  const before = here && newest.find(({ id }) => id === here.parent);
  if (here && before) return [Number(before.id), Number(here.id)];
  const [second, first] = newest;
  return first && second ? [Number(first.id), Number(second.id)] : null;
}
