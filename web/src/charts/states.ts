/** The states of a station in the order in which they are stacked. */
import type { StationStates } from "../api/types";

export type StateName = "working" | "changeover" | "stopped" | "blocked" | "starved";

export const STATES: { name: StateName; word: string; fill: string; meaning: string }[] = [
  { name: "working", word: "working", fill: "#2f8f83", meaning: "in its cycle" },
  {
    name: "changeover",
    word: "changing over",
    fill: "url(#state-changeover)",
    meaning: "changing over to another part",
  },
  {
    name: "stopped",
    word: "stopped",
    fill: "url(#state-stopped)",
    meaning: "down: under repair or waiting for a crew",
  },
  { name: "blocked", word: "blocked", fill: "url(#state-blocked)", meaning: "finished work has no place to go" },
  { name: "starved", word: "starved", fill: "url(#state-starved)", meaning: "nothing to work on, or no carrier" },
];

export interface Part {
  name: StateName;
  fill: string;
  at: number;
  share: number;
}

export function stack(station: StationStates): Part[] {
  let at = 0;
  return STATES.map(({ name, fill }) => {
    const part = { name, fill, at, share: station[name].mean };
    at += part.share;
    return part;
  });
}
