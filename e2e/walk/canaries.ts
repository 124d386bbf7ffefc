import { randomBytes } from "node:crypto";
import type Database from "better-sqlite3";
import { SEARCHED, type Readers } from "@/e2e/walk/canary-columns";

type Row = Readonly<Record<string, unknown>>;
type Owner = { readonly childId: string | null; readonly personId: string | null; readonly practiceId: string | null };
export type Canary = { readonly run: string; readonly column: string; readonly readers: Readers; readonly owner: Owner };

/** Who reads, as the database says: a practice, a role, the children within reach. A stranger is nobody. */
export type Reader = { readonly personId: string; readonly practiceId: string; readonly isStaff: boolean; readonly childIds: readonly string[] } | null;

const WORD = /cany[a-z]{12}/gi;
/** What a random value can look like in a page: a run of letters and digits, a UUID or a hash within a longer one. */
const RUNS = [/[A-Za-z0-9_-]{16,}/g, /[0-9a-f]{8}-(?:[0-9a-f]{4}-){3}[0-9a-f]{12}/g, /[0-9a-f]{32,}/g];

/** Letters alone, so that no escaping of markup, JSON, addresses or CSV changes one. */
const newWord = (): string => `cany${[...randomBytes(12)].map((byte) => String.fromCharCode(97 + (byte % 26))).join("")}`;

/** The part of a value that no escaping changes and no line is broken in. */
const runOf = (value: string): string | null => value.match(/[A-Za-z0-9_-]{16,}/g)?.sort((one, other) => other.length - one.length)[0] ?? null;

/** Every text column of a database that the list says nothing about, or that is in the list and gone. */
export function unlisted(db: Database.Database): readonly string[] {
  const there = tablesOf(db).flatMap((table) => textColumns(db, table).filter((name) => !isId(name)).map((name) => `${table}.${name}`));
  const listed = SEARCHED.flatMap(({ table, words = {}, json = {}, values = {}, closed = "" }) =>
    [...Object.keys(words), ...Object.keys(json), ...Object.keys(values), ...closed.split(" ").filter(Boolean)].map((name) => `${table}.${name}`));
  return [...there.filter((each) => !listed.includes(each)), ...listed.filter((each) => !isId(each.split(".")[1] ?? "") && !there.includes(each))];
}

export type Planted = { readonly canaries: ReadonlyMap<string, Canary>; readonly columns: ReadonlySet<string> };

/** Puts a canary into every cell of free words and notes every random value, with whom it belongs to. */
export function plant(db: Database.Database): Planted {
  const found = new Map<string, Canary>();
  const columns = new Set<string>();
  const note = (canary: Canary): void => {
    columns.add(canary.column);
    found.set(canary.run, canary);
  };
  const ownerOf = owners(db);
  // Writes from the start: what only reads at first cannot wait for a server that writes meanwhile.
  db.transaction(() => {
    for (const { table, words = {}, json = {}, values = {} } of SEARCHED) {
      const rows = db.prepare(`select rowid as _row, * from "${table}"`).all() as readonly Row[]; // a row is an object of columns
      const isOfChild = textColumns(db, table).includes("child_id");
      for (const row of rows) {
        const owner = ownerOf(table, row);
        const word = (column: string, readers: Readers): string => {
          const canary = newWord();
          note({ run: canary, column: `${table}.${column}`, readers, owner });
          return canary;
        };
        const set = (column: string, value: string): void => void db.prepare(`update "${table}" set "${column}" = ? where rowid = ?`).run(value, row["_row"]);
        for (const [column, readers] of Object.entries(words)) {
          const text = row[column];
          if (typeof text === "string" && text !== "") set(column, column === "email" ? `${word(column, readers)}@people.example` : `${text} ${word(column, readers)}`);
        }
        for (const [column, [readers, ...names]] of Object.entries(json)) {
          const body = row[column];
          if (typeof body === "string") set(column, JSON.stringify(marked(JSON.parse(body), names, () => word(column, readers))));
        }
        for (const [column, readers] of Object.entries(isOfChild ? { ...values, id: "child" as const } : values)) {
          const value = row[column];
          const run = typeof value === "string" ? runOf(value) : null;
          if (run !== null) note({ run, column: `${table}.${column}`, readers, owner });
        }
      }
    }
  }).immediate();
  return { canaries: found, columns };
}

/** Columns of which nothing was planted and nothing is random: the search would be blind there. */
export const unplanted = ({ columns }: Planted): readonly string[] => searchedColumns().filter(([column]) => !columns.has(column)).map(([column]) => column);

/** Columns that are searched for, and who may read them. */
export const searchedColumns = (): readonly (readonly [column: string, Readers])[] => SEARCHED.flatMap(({ table, words = {}, json = {}, values = {} }) => [
  ...Object.entries({ ...words, ...values }), ...Object.entries(json).map(([name, [readers]]) => [name, readers] as const),
].map(([name, readers]) => [`${table}.${name}`, readers] as const));

/** Every canary that stands in a text, of whatever case. */
export function canariesIn(text: string, canaries: ReadonlyMap<string, Canary>): readonly Canary[] {
  const runs = new Set([...(text.match(WORD) ?? []).map((each) => each.toLowerCase()), ...RUNS.flatMap((run) => text.match(run) ?? [])]);
  return [...runs].flatMap((run) => canaries.get(run) ?? []);
}

/** Whether this reader may see it. */
export function mayRead(reader: Reader, { readers, owner }: Canary, db: Database.Database): boolean {
  if (readers === "everyone") return true;
  if (reader === null || readers === "nobody") return false;
  const isOwn = owner.personId !== null && owner.personId === reader.personId;
  const isColleague = reader.isStaff && owner.practiceId === reader.practiceId;
  switch (readers) {
    case "practice": return owner.practiceId === reader.practiceId;
    case "staff": return isColleague;
    case "child": return isColleague || (owner.childId !== null && reader.childIds.includes(owner.childId));
    case "oneself": return isOwn;
    case "oneself and staff": return isOwn || isColleague;
    case "known": return isOwn || isColleague || isKnown(reader.childIds, owner, reader.practiceId, db);
  }
}

/** Their practice's staff, and whoever is or was there for one of their children. */
function isKnown(childIds: readonly string[], { personId, practiceId }: Owner, own: string, db: Database.Database): boolean {
  const isStaff = practiceId === own && db.prepare("select 1 from people where id = ? and role in ('lead', 'therapist')").get(personId) !== undefined;
  const theirs = db.prepare("select child_id from care_links where person_id = ?").pluck().all(personId) as readonly string[]; // ids
  return isStaff || theirs.some((each) => childIds.includes(each));
}

/** The reader with this name, before names were changed; reach is what care links say that have not ended. */
export function readerNamed(db: Database.Database, name: string): Reader {
  const row = db.prepare("select id, practice_id as practice, role, disabled_at as disabled from people where name = ?").get(name) as { id: string; practice: string; role: string; disabled: number | null } | undefined; // as selected
  if (!row || row.disabled !== null) return null;
  const childIds = db.prepare("select child_id from care_links where person_id = ? and ended_at is null").pluck().all(row.id) as readonly string[]; // ids
  return { personId: row.id, practiceId: row.practice, isStaff: row.role === "lead" || row.role === "therapist", childIds };
}

const isId = (column: string): boolean => column === "id" || /_(?:id|by)$/.test(column) && !/^(?:file_id|credential_id|key_id|request_id|mirror_settled_by|reassess_by)$/.test(column);
const tablesOf = (db: Database.Database): readonly string[] => db.prepare("select name from sqlite_master where type = 'table' and name not like 'sqlite_%' and name not like '\\_\\_%' escape '\\'").pluck().all() as string[]; // names
const textColumns = (db: Database.Database, table: string): readonly string[] =>
  (db.prepare(`pragma table_info("${table}")`).all() as { readonly name: string; readonly type: string }[]).filter(({ type }) => /text|blob/i.test(type)).map(({ name }) => name); // SQLite's own columns

function owners(db: Database.Database): (table: string, row: Row) => Owner {
  const pairs = (sql: string): ReadonlyMap<unknown, string> => new Map(db.prepare(sql).raw().all() as [string, string][]); // two columns of text
  const practiceOfPerson = pairs("select id, practice_id from people");
  const practiceOfFamily = pairs("select id, practice_id from families");
  const practiceOfSession = pairs("select id, practice_id from group_sessions");
  const textOf = (value: unknown): string | null => (typeof value === "string" ? value : null);
  return (table, row) => {
    const own = textOf(row["id"]);
    const personId = table === "people" ? own : textOf(row["person_id"]);
    const familyId = table === "families" ? own : textOf(row["family_id"]);
    const practiceId = table === "practices" ? own : textOf(row["practice_id"]);
    return {
      childId: table === "children" ? own : textOf(row["child_id"]), personId,
      practiceId: practiceId ?? practiceOfFamily.get(familyId) ?? practiceOfPerson.get(personId) ?? practiceOfSession.get(row["session_id"]) ?? null,
    };
  };
}

/** The same JSON with a canary behind each text under these names, or behind every one. */
function marked(value: unknown, names: readonly string[], word: () => string, isNamed = names.includes("*")): unknown {
  if (typeof value === "string") return isNamed && value !== "" ? `${value} ${word()}` : value;
  if (Array.isArray(value)) return value.map((each) => marked(each, names, word, isNamed));
  if (typeof value !== "object" || value === null) return value;
  return Object.fromEntries(Object.entries(value).map(([name, each]) => [name, marked(each, names, word, isNamed || names.includes(name))]));
}
