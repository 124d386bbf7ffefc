/** A length of time as a player shows it: minutes and two digits of seconds, cut and not rounded. */
export function clock(ms: number): string {
  const seconds = Math.floor(Math.max(ms, 0) / 1000);
  return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, "0")}`;
}
