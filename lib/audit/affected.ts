import "server-only";
import type Sqlite from "better-sqlite3";

/** Whose acts to look for: a person's, by id or by the address they sign in with, or those of one signed-in browser. Instants UTC ms. */
export type Suspect = { readonly person: string } | { readonly sessionHash: string };
/** A child of a family, or a family as a whole, by random ids; how often the suspect touched it, and when. */
export type Touched = { readonly familyId: string; readonly childId: string | null; readonly entries: number; readonly first: number; readonly last: number };
export type Affected = {
  /** Pages and photos opened, spoken notes heard and acts done, by the audit. */
  readonly touched: readonly Touched[];
  /** Every child that the suspect could have read of: the queue and the lists name many on one page, and carers leave no entry. */
  readonly withinReach: readonly { readonly familyId: string; readonly childId: string }[];
  /** Entries of no family, such as sign-ins and changes to the practice. */
  readonly otherActs: readonly { readonly act: string; readonly entries: number }[];
  /** The browsers it was done from, so that a stolen one can be asked for alone. */
  readonly signIns: readonly { readonly sessionHash: string; readonly entries: number; readonly first: number; readonly last: number }[];
  /** Whose acts these are; nobody when the suspect is not known here. */
  readonly personId: string | null;
};

const IS_SUSPECT = "(actor_id = @personId and (@sessionHash is null or session_hash = @sessionHash)) and at >= @since";
/** An entry names its object, which may be a child or something of one. */
const childTables = (client: Sqlite.Database): readonly string[] =>
  client.prepare<[], string>("select name from sqlite_schema t where type = 'table' and (select count(*) from pragma_table_info(t.name) where name in ('id', 'child_id')) = 2").pluck().all();

/** Which families and children are concerned, read from the audit and from who reaches whom; changes nothing. */
export function affectedBy(client: Sqlite.Database, suspect: Suspect, since: number): Affected {
  // One moment of the database: a server may be writing to it.
  return client.transaction(() => {
    const personId = personOf(client, suspect);
    if (personId === null) return { touched: [], withinReach: [], otherActs: [], signIns: [], personId };
    const asked = { personId, sessionHash: "sessionHash" in suspect ? suspect.sessionHash : null, since };
    const childOf = ["select id, id as child_id from children", ...childTables(client).map((table) => `select id, child_id from ${table}`)].join(" union all ");
    const touched = client.prepare<[typeof asked], Touched>(
      `with child_of as (${childOf}) select e.family_id as familyId, c.child_id as childId, count(*) as entries, min(e.at) as first, max(e.at) as last
      from audit_entries e left join child_of c on c.id = e.object_id where e.family_id is not null and ${IS_SUSPECT} group by 1, 2 order by 1, 2`,
    ).all(asked);
    const otherActs = client.prepare<[typeof asked], Affected["otherActs"][number]>(
      `select act, count(*) as entries from audit_entries where family_id is null and ${IS_SUSPECT} group by act order by act`,
    ).all(asked);
    const signIns = client.prepare<[typeof asked], Affected["signIns"][number]>(
      `select session_hash as sessionHash, count(*) as entries, min(at) as first, max(at) as last
      from audit_entries where session_hash is not null and ${IS_SUSPECT} group by 1 order by first`,
    ).all(asked);
    return { touched, withinReach: reachOf(client, personId, since), otherActs, signIns, personId };
  })();
}

function personOf(client: Sqlite.Database, suspect: Suspect): string | null {
  if ("person" in suspect) return client.prepare<[string, string], string>("select id from people where id = ? or email = ?").pluck().get(suspect.person, suspect.person.trim().toLowerCase()) ?? null;
  return client.prepare<[string], string>("select person_id from sessions where token_hash = ?").pluck().get(suspect.sessionHash) ?? null;
}

/** Staff read of every child of the practice; carers of those they had a link to at any time since. */
function reachOf(client: Sqlite.Database, personId: string, since: number): Affected["withinReach"] {
  return client.prepare<[{ personId: string; since: number }], Affected["withinReach"][number]>(
    `select c.family_id as familyId, c.id as childId from children c join families f on f.id = c.family_id join people p on p.practice_id = f.practice_id
    where p.id = @personId and (p.role in ('lead', 'therapist') or exists (
      select 1 from care_links l where l.person_id = p.id and l.child_id = c.id and (l.ended_at is null or l.ended_at >= @since)
    )) order by 1, 2`,
  ).all({ personId, since });
}
