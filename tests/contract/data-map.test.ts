import { readdirSync } from "node:fs";
import { is } from "drizzle-orm";
import { getTableConfig, SQLiteTable } from "drizzle-orm/sqlite-core";
import { afterEach, expect, test } from "vitest";
import { database } from "@/db/client";
import { unlisted } from "@/e2e/walk/canaries";
import { root, read } from "@/tests/contract/sources";
import { FILES, listedColumns, renderDataMap } from "@/lib/trust/data-map";
import { keepFiles } from "@/tests/records/kept-files";
import { addFamilyOf, addPerson, makeWorld } from "@/tests/records/world";

// GDPR Art. 30(1)(c) and (f): categories of data and their time limits; ASVS 5.0, 14.1.1: all of it is identified and classified.

const schema = await Promise.all(readdirSync(`${root}/db/schema`).map((file) => import(`@/db/schema/${file.replace(/\.ts$/, "")}.ts`) as Promise<Record<string, unknown>>));
const tables = schema.flatMap((module) => Object.values(module)).filter((value): value is SQLiteTable => is(value, SQLiteTable));

test("every column of the database is in the data map once, and nothing that is gone", () => {
  const columns = tables.flatMap((table) => {
    const config = getTableConfig(table);
    return config.columns.map(({ name }) => `${config.name}.${name}`);
  });
  expect(columns).toContain("children.given_name");
  expect([...listedColumns()].sort()).toEqual([...new Set(columns)].sort());
});

test("the page says what the list says; npm run data-map writes it", () => {
  expect(read("lib/trust/data-map.md")).toBe(renderDataMap());
});

let world: ReturnType<typeof makeWorld> | null = null;
afterEach(() => world?.close());

test("of every text column it is said who may read it on a page, for the search of all pages", () => {
  world = makeWorld();
  expect(unlisted(database().$client)).toEqual([]);
});

test("every file that a used data folder holds is of a listed kind", async () => {
  world = makeWorld();
  addPerson("lead", "lead");
  addPerson("mother", "guardian");
  addFamilyOf("family", ["child"], { mother: ["child"] });
  await keepFiles(world.dir, "family", "child", 1);
  const files = readdirSync(world.dir, { recursive: true, withFileTypes: true }).filter((entry) => entry.isFile())
    .map(({ parentPath, name }) => `${parentPath}/${name}`.slice((world?.dir.length ?? 0) + 1));
  expect(files.filter((path) => path.startsWith("media/"))).toHaveLength(1);
  expect(files.filter((path) => !FILES.some(({ matches }) => matches.test(path)))).toEqual([]);
});
