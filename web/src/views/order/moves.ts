/**
 * Moves made by hand: a list in the address, each `from.cars.to`. The server
 * makes them; here they are only written down, taken back and done again.
 */

export interface Move {
  from: number;
  cars: number;
  to: number;
}

const whole = (word: string | undefined): number => (word !== undefined && /^\d{1,6}$/.test(word) ? Number(word) : 0);

export function readMoves(text: string | null): Move[] {
  return (text ?? "").split("_").flatMap((word) => {
    const [from, cars, to, more] = word.split(".");
    const move = { from: whole(from), cars: whole(cars), to: whole(to) };
    return more === undefined && move.from > 0 && move.cars > 0 && move.to > 0 ? [move] : [];
  });
}

/** What moves are made on, as the address has it: a revision's order, or one whose search was cut short after so many moves. */
export const nameOf = (revision: string, proof: { complete: boolean; moves: number }): string =>
  proof.complete ? revision : `${revision}.${proof.moves}`;

export const printMoves = (moves: readonly Move[]): string =>
  moves.map(({ from, cars, to }) => `${from}.${cars}.${to}`).join("_");

/** What is chosen: so many places from one on. */
export interface Chosen {
  from: number;
  cars: number;
}

export function readChosen(text: string | null, places: number): Chosen | null {
  const [from, cars] = (text ?? "").split(".");
  const chosen = { from: whole(from), cars: cars === undefined ? 1 : whole(cars) };
  return chosen.from > 0 && chosen.cars > 0 && chosen.from + chosen.cars - 1 <= places ? chosen : null;
}

/** Where cars come to stand that are put into a gap, counted by the cars before it. */
export function placeOfGap({ from, cars }: Chosen, gap: number): number {
  if (gap <= from - 1) return gap + 1;
  if (gap >= from - 1 + cars) return gap - cars + 1;
  return from;
}

/** The gap that a place lies at, for cars that are put there. */
export const gapOfPlace = ({ from, cars }: Chosen, to: number): number => (to <= from ? to - 1 : to - 1 + cars);

/** A place that cars may have: behind the frozen ones and not past the end. */
export const fit = (to: number, { cars }: Chosen, frozen: number, places: number): number =>
  Math.max(frozen + 1, Math.min(to, places - cars + 1));

/** The block that a place lies in. */
export function blockAt(blocks: readonly { place: number; cars: number }[], place: number): Chosen | null {
  const block = blocks.find((one) => one.place <= place && place < one.place + one.cars);
  return block ? { from: block.place, cars: block.cars } : null;
}
