/** Days of decision against the reader's own calendar; the server's answer holds whatever day it is. */

const DAY_MS = 86_400_000;
const DAYS_A_WEEK = 7;

const days = (date: string): number => Date.parse(`${date}T00:00:00Z`) / DAY_MS;

/** Today where the reader is, as `2026-11-26`. */
export function today(clock = new Date()): string {
  const two = (value: number): string => String(value).padStart(2, "0");
  return `${clock.getFullYear()}-${two(clock.getMonth() + 1)}-${two(clock.getDate())}`;
}

/** How many days ago a day of decision was; 0 where it is still to come, or today. */
export function daysPast(by: string, now: string): number {
  const past = days(now) - days(by);
  return Number.isFinite(past) ? Math.max(0, past) : 0;
}

/** The day from which an idea works that takes so many weeks and is decided today. */
export function worksFrom(weeks: number, now: string): string {
  const day = days(now) + Math.ceil(weeks * DAYS_A_WEEK);
  return new Date(day * DAY_MS).toISOString().slice(0, 10);
}
