/** All of what comes in lots. */
export async function allOf<T>(lots: AsyncIterable<readonly T[]>): Promise<readonly T[]> {
  const all: T[] = [];
  for await (const lot of lots) all.push(...lot);
  return all;
}
