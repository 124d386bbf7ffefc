import "server-only";

/** Rows by what they belong to, each group in the order of the rows. For lib/records alone. */
export function grouped<T>(rows: readonly T[], keyOf: (row: T) => string): ReadonlyMap<string, readonly T[]> {
  const by = new Map<string, T[]>();
  for (const row of rows) {
    const there = by.get(keyOf(row));
    if (there) there.push(row);
    else by.set(keyOf(row), [row]);
  }
  return by;
}
