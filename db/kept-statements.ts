import type Sqlite from "better-sqlite3";

/** Texts that a practice's pages ask vary with lists of ids alone, so that this many hold all that come again. */
const MOST = 400;

/**
 * The same connection, which keeps what it compiled by its text: the builder of queries asks for each afresh and runs it at once,
 * and compiling costs many times what running does. Its owner's own `prepare` is not touched.
 */
export function withKeptStatements(client: Sqlite.Database): Sqlite.Database {
  const kept = new Map<string, Sqlite.Statement>();
  const prepare = (text: string): Sqlite.Statement => {
    const there = kept.get(text);
    const statement = there ?? client.prepare(text);
    // The builder turns rows into lists for itself, and never back.
    if (there?.reader) there.raw(false);
    // Put last again: the first of a map is the one that was not asked for the longest.
    kept.delete(text);
    kept.set(text, statement);
    if (kept.size > MOST) kept.delete(kept.keys().next().value ?? text);
    return statement;
  };
  return Object.create(client, { prepare: { value: prepare } }) as Sqlite.Database; // the connection but for one method
}
