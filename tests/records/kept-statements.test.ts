import { sql } from "drizzle-orm";
import { drizzle } from "drizzle-orm/better-sqlite3";
import { integer, sqliteTable, text } from "drizzle-orm/sqlite-core";
import Sqlite from "better-sqlite3";
import { afterEach, beforeEach, expect, it } from "vitest";
import { withKeptStatements } from "@/db/kept-statements";

const things = sqliteTable("things", { id: integer("id").primaryKey(), name: text("name") });
let client: Sqlite.Database;
let compiled: string[];

beforeEach(() => {
  client = new Sqlite(":memory:");
  client.exec("create table things (id integer primary key, name text)");
  compiled = [];
  const prepare = client.prepare.bind(client);
  client.prepare = (source: string) => {
    compiled.push(source);
    return prepare(source);
  };
});
afterEach(() => client.close());

const kept = () => drizzle({ client: withKeptStatements(client) });

it("compiles a text once, however often it is asked and inside a transaction too", () => {
  const db = kept();
  for (const id of [1, 2, 3]) db.transaction((tx) => tx.insert(things).values({ id, name: `n${id}` }).run());
  for (const id of [1, 2, 3]) expect(db.select().from(things).where(sql`${things.id} = ${id}`).get()).toEqual({ id, name: `n${id}` });
  expect(compiled.filter((source) => source.startsWith("insert"))).toHaveLength(1);
  expect(compiled.filter((source) => source.startsWith("select"))).toHaveLength(1);
});

it("gives rows as it would afresh, whichever shape the same text was asked for in before", () => {
  const db = kept();
  db.insert(things).values({ id: 1, name: "one" }).run();
  const source = db.select().from(things).toSQL().sql;
  const asked = () => [db.select().from(things).all(), db.all(sql.raw(source)), db.values(sql.raw(source))];
  const one = [{ id: 1, name: "one" }];
  expect([asked(), asked()]).toEqual([[one, one, [[1, "one"]]], [one, one, [[1, "one"]]]]);
});

it("sees a table that was changed after it was compiled", () => {
  const db = kept();
  db.insert(things).values({ id: 1, name: "one" }).run();
  expect(db.all(sql`select * from things`)).toEqual([{ id: 1, name: "one" }]);
  client.exec("alter table things add column more text default 'x'");
  expect(db.all(sql`select * from things`)).toEqual([{ id: 1, name: "one", more: "x" }]);
});

it("lets go of the text that was not asked for the longest", () => {
  const db = kept();
  db.all(sql.raw("select 0"));
  for (let at = 1; at < 400; at += 1) db.all(sql.raw(`select ${at}`));
  db.all(sql.raw("select 0"));
  db.all(sql.raw("select 400"));
  compiled = [];
  expect([db.all(sql.raw("select 0")), db.all(sql.raw("select 1"))]).toEqual([[{ 0: 0 }], [{ 1: 1 }]]);
  expect(compiled).toEqual(["select 1"]);
});

it("keeps nothing that does not compile, and goes on after one that fails", () => {
  const db = kept();
  expect(() => db.all(sql`select nothing from nowhere`)).toThrow();
  db.insert(things).values({ id: 1, name: "one" }).run();
  expect(() => db.insert(things).values({ id: 1, name: "again" }).run()).toThrow();
  db.insert(things).values({ id: 2, name: "two" }).run();
  expect(db.select({ id: things.id }).from(things).all()).toEqual([{ id: 1 }, { id: 2 }]);
});
