import { database } from "@/db/client";
import type { Actor } from "@/lib/access/actor";
import type { CalendarHistory } from "@/lib/domain/time/working-week";
import { addDays, DAY_MS, instantOf, localDate } from "@/lib/domain/time/local";
import { addWorkingMs } from "@/lib/domain/time/working-time";
import { readCalendar } from "@/lib/records/calendar";
import { EXERCISES, KINDS, MARKED, type Kind } from "@/tests/bench/practice-kinds";
import { rowsInto } from "@/tests/bench/practice-rows";
import { between, chance, oneOf } from "@/tests/proofs/random";
import { addPerson } from "@/tests/records/world";

/** `waiting`: how many sets are not answered at `now`, whatever the size. */
export type Size = { readonly families: number; readonly sets: number; readonly waiting: number };

/** Who looks, and at whom: a child with many sets, one of which waits. */
export type Grown = { readonly lead: Actor; readonly therapist: Actor; readonly guardian: Actor; readonly childId: string; readonly photoSetId: string; readonly sessionId: string };

const ZONE = "Europe/London";
const HOUR_MS = 3_600_000;
const YEARS = 5;
const COLLEAGUES = ["therapist-0", "therapist-1", "therapist-2", "therapist-3", "therapist-4"] as const;
/** One child in so many has an item that never comes right, was stopped by staff, sends no photo for months, reported a symptom, withdrew consent. */
const [STUCK, STOPPED, SILENT, HURT, WITHDRAWN] = [40, 100, 25, 30, 50];
/** What is open at one time does not grow with the practice, or nobody could work there. */
const [OPEN_SYMPTOMS, UNREAD_STOPS, IN_SESSION, ASKED] = [3, 5, 8, 6];

type Child = { readonly childId: string; readonly familyId: string; readonly guardian: string; readonly kind: Kind; readonly setups: readonly { readonly key: string; readonly id: string }[]; readonly begun: number; readonly until: number };

/**
 * Fills the migrated, empty practice of `makeWorld` as if it had grown for five years: one child a family, seldom
 * two; several patterns and exercises; few sets of most children and many of some, sent in the evenings and at
 * weekends, most answered within a day of working time and some much later; photos with their files, marks, mails,
 * questions, stops, symptoms and a group session. The same seed gives the same practice. Straight into the tables,
 * which the app's acts would take hours to fill; the rows are such as those acts write, without audit and sign-ins.
 */
export function growPractice({ families, sets, waiting }: Size, now: number, seed = 7): Grown {
  const db = database();
  const random = chance(seed);
  const lead = addPerson("lead", "lead");
  const [therapist] = COLLEAGUES.map((id) => addPerson(id, "therapist"));
  const guardian = addPerson(idOf("gua", 0), "guardian");
  if (!therapist) throw new Error("somebody answers");
  const calendar = readCalendar("practice");
  const into = rowsInto(db);
  // What is written here has no one to lose it, and its references are made in order.
  db.$client.pragma("synchronous = OFF");
  db.$client.pragma("foreign_keys = OFF");
  // Those by which the triggers of the tables find their way stay.
  const indexes = db.$client.prepare<[], { readonly name: string; readonly sql: string }>("select name, sql from sqlite_master where type = 'index' and sql is not null and name not like 'answers%' and name <> 'verdicts_item'").all();
  for (const { name } of indexes) db.$client.exec(`drop index ${name}`);
  const grown = db.$client.transaction(() => {
    for (const exercise of EXERCISES.slice(1)) into.exercise.run(`version-${exercise.key}`, exercise.key, JSON.stringify(exercise), JSON.stringify({ form: 1, title: exercise.key, items: {}, cautions: [] }));
    const children = Array.from({ length: families }, (_, at) => fillFamily(at)).flat();
    // The first child, whose pages are looked at, is an average one.
    const shares = children.map((_, at) => (at === 0 ? 1.15 : 0.15 - Math.log(1 - random())));
    const whole = shares.reduce((sum, share) => sum + share, 0);
    const waits = new Set(Array.from({ length: waiting }, (_, nth) => Math.floor((nth * children.length) / waiting)));
    let [share, done] = [0, 0];
    for (const [at, child] of children.entries()) {
      share += shares[at] ?? 0;
      const n = Math.round((share / whole) * sets) - done;
      const sent = Math.max(n, waits.has(at) ? 1 : 0);
      fillSets(at, child, sent, waits.has(at), done);
      done += sent;
    }
    return { childId: idOf("chi", 0), sessionId: fillSession(children) };
  })();
  // Made at once over all rows, which takes a third of the time.
  for (const { sql } of indexes) db.$client.exec(sql);
  db.$client.pragma("synchronous = FULL");
  db.$client.pragma("foreign_keys = ON");
  const photoSetId = db.$client.prepare<[string], string>("select id from photo_sets where child_id = ? order by sent_at desc limit 1").pluck().get(grown.childId);
  if (!photoSetId) throw new Error("the first child has sent nothing");
  return { lead, therapist, guardian, ...grown, photoSetId };

  function fillFamily(at: number): readonly Child[] {
    const familyId = idOf("fam", at);
    const mother = idOf("gua", at);
    const began = now - between(random, 40, 365 * YEARS) * DAY_MS;
    into.family.run(familyId, `${oneOf(random, NAMES)} ${String(at).padStart(5, "0")}`, began);
    if (at > 0) into.person.run(mother, `g${at}@families.example`, `Guardian ${at}`, began);
    return Array.from({ length: between(random, 1, 8) === 1 ? 2 : 1 }, (_, nth) => fillChild(at + nth * families, familyId, mother, at === 0 ? now - 365 * YEARS * DAY_MS : began));
  }

  function fillChild(at: number, familyId: string, mother: string, begun: number): Child {
    const childId = idOf("chi", at);
    const own = [childId, familyId];
    const kind = at === 0 ? KINDS[0] ?? common(KINDS) : common(KINDS);
    const until = at > 0 && between(random, 1, SILENT) === 1 ? Math.max(begun + DAY_MS, now - between(random, 60, 300) * DAY_MS) : now - between(random, 1, 14) * DAY_MS;
    into.child.run(...own, oneOf(random, NAMES), `20${between(random, 9, 17).toString().padStart(2, "0")}-0${between(random, 1, 9)}`, begun);
    into.link.run(idOf("lnk", at), ...own, mother, begun);
    into.consent.run(idOf("con", at), ...own, mother, "given", begun, 1);
    if (at > 0 && between(random, 1, WITHDRAWN) === 1) into.consent.run(idOf("cow", at), ...own, mother, "withdrawn", begun + DAY_MS, 2);
    const isRerecorded = between(random, 1, 10) === 1;
    if (isRerecorded) into.record.run(idOf("reo", at), ...own, common(KINDS).record, localDate(now, ZONE), common(KINDS).patternKey, begun, 1);
    into.record.run(idOf("rec", at), ...own, kind.record, addDays(localDate(now, ZONE), between(random, at === 0 ? 30 : -20, 200)), kind.patternKey, begun, isRerecorded ? 2 : 1);
    const setups = EXERCISES.flatMap(({ key }, nth) => {
      if (nth > 0 && random() < 0.6) return [];
      const id = idOf(`su${nth}`, at);
      into.setup.run(id, ...own, key, idOf("rec", at), kind.setup.kind, kind.setup.resolution, kind.setup.sidesKey, begun);
      into.opening.run(idOf(`op${nth}`, at), ...own, key, begun);
      return [{ key, id }];
    });
    const isOpen = at > 0 && at <= OPEN_SYMPTOMS;
    if (isOpen || between(random, 1, HURT) === 1) {
      const at0 = isOpen ? now - at * HOUR_MS : Math.round(begun + random() * (until - begun));
      into.symptom.run(idOf("sym", at), ...own, mother, at0);
      if (!isOpen) into.clearance.run(idOf("cle", at), ...own, idOf("sym", at), at0 + HOUR_MS);
    }
    if (between(random, 1, STOPPED) === 1) into.staffStop.run(idOf("sst", at), ...own, begun, begun + DAY_MS);
    return { childId, familyId, guardian: mother, kind, setups, begun, until };
  }

  function fillSets(at: number, child: Child, n: number, waits: boolean, first: number): void {
    const { childId, familyId, kind, begun, until } = child;
    const days = Array.from({ length: n }, () => begun + random() * (until - begun)).sort((a, b) => a - b);
    const stuckOn = between(random, 1, STUCK) === 1 ? oneOf(random, kind.items).key : null;
    const isStopped = at > OPEN_SYMPTOMS && at <= OPEN_SYMPTOMS + UNREAD_STOPS;
    for (const [nth, day] of days.entries()) {
      const isLast = nth === n - 1;
      const [id, own] = [first + nth, [childId, familyId]];
      const setup = child.setups[Math.min(child.setups.length - 1, Math.floor(-Math.log2(1 - random())))];
      const sentAt = isLast && waits ? now - between(random, 1, 30) * HOUR_MS : instantOf(localDate(day, ZONE), between(random, 15 * 60, 22 * 60), ZONE) + between(random, 0, 59_999);
      into.set.run(idOf("set", id), ...own, setup?.key, setup?.id, child.guardian, sentAt, sentAt, sentAt - 60_000, random() < 0.004 ? sentAt + HOUR_MS : null);
      const photos = Math.min(4, 1 + Math.floor(-Math.log2(1 - random()) / 1.5));
      for (let ordinal = 1; ordinal <= photos; ordinal += 1) {
        const photo = idOf(`ph${ordinal}`, id);
        into.photo.run(photo, ...own, idOf("set", id), ordinal, ordinal === 1 ? "behind" : "front", hashOf(random), ordinal === 1 ? "looks-right-not-proven" : "cannot-tell", sentAt);
        for (const size of ["2048", "1024", "320"]) into.file.run(`${photo}-${size}`, ...own, photo, size, null, sentAt);
      }
      // A family in twenty is asked something first, and says it within two days.
      if (!(isLast && waits) && random() < 0.05) into.backQuestion.run(idOf("baq", id), ...own, idOf("set", id), sentAt + HOUR_MS, sentAt + between(random, 2, 48) * HOUR_MS, child.guardian);
      if (isLast && waits) continue;
      fillAnswer(child, id, sentAt, nth, setup?.key, stuckOn, isLast && isStopped);
    }
  }

  function fillAnswer(child: Child, id: number, sentAt: number, nth: number, exerciseKey: string | undefined, stuckOn: string | null, isStopped: boolean): void {
    const own = [child.childId, child.familyId];
    const answer = idOf("ans", id);
    const answeredAt = Math.max(sentAt + 60_000, Math.min(now - HOUR_MS, answeredFor(calendar, sentAt, random)));
    const isAgain = random() < 0.06;
    into.answer.run(answer, ...own, idOf("set", id), isAgain ? "take-again" : "answer", random() < 0.3 ? "new-photo" : "keep-going", oneOf(random, COLLEAGUES), answeredAt, answeredAt);
    into.notice.run(idOf("not", id), `answer:${answer}:${child.guardian}`, child.guardian, answeredAt, answeredAt, answeredAt);
    if (isAgain) return;
    for (const item of child.kind.items) {
      const isFault = item.isStop ? isStopped || (nth < 3 && between(random, 1, 30) === 1) : item.key === stuckOn || random() < 0.5 * 0.8 ** nth + 0.04;
      const verdict = isFault ? "fix" : between(random, 1, 8) === 1 && !item.isStop ? "not-visible" : "in-place";
      into.verdict.run(...own, answer, exerciseKey, item.key, item.isStop ? 1 : 0, verdict, isFault ? "Do it this way." : null, child.kind.setup.sidesKey, sentAt - 60_000, answeredAt);
      if (isFault && item.isStop && !isStopped) for (const question of ["side", "prop"]) into.readBack.run(`${answer}-${item.key}-${question}`, ...own, answer, child.guardian, question, answeredAt + HOUR_MS);
    }
    if (random() < 0.2) {
      into.mark.run(idOf("mar", id), ...own, answer, idOf("ph1", id), MARKED);
      into.file.run(`${idOf("ph1", id)}-marked`, ...own, idOf("ph1", id), "marked", answer, answeredAt);
    }
    if (random() < 0.01) {
      into.question.run(idOf("que", id), ...own, answer, child.guardian, answeredAt + HOUR_MS);
      into.reply.run(idOf("rep", id), ...own, idOf("que", id), answeredAt + 9 * HOUR_MS);
    }
  }

  /** A session of the commonest pattern with a few children in it. */
  function fillSession(children: readonly Child[]): string {
    const [kind] = KINDS;
    const startsAt = now - 2 * DAY_MS;
    into.session.run("session", kind?.patternKey, startsAt, startsAt - 9 * DAY_MS);
    for (const [at, { childId, familyId }] of children.filter((child) => child.kind === kind).slice(0, IN_SESSION).entries()) {
      into.place.run(idOf("pla", at), childId, familyId, startsAt - 5 * DAY_MS, startsAt - 4 * DAY_MS);
      if (at < ASKED) into.ask.run(idOf("ask", at), childId, familyId, idOf("pla", at), addDays(localDate(now, ZONE), 3), startsAt + DAY_MS);
    }
    return "session";
  }

  function common<T>(list: readonly T[]): T {
    return list[Math.min(list.length - 1, Math.floor(-Math.log2(1 - random())))] ?? oneOf(random, list);
  }
}

/** As long as the app's own ids, and in the order they were made. */
const idOf = (kind: string, at: number): string => `${kind}-${String(at).padStart(8, "0")}-0000-4000-8000-000000000000`;

/** Log-normal: half within three working hours, one in twenty later than thirteen. */
function answeredFor(calendar: CalendarHistory, sentAt: number, random: () => number): number {
  const normal = Math.sqrt(-2 * Math.log(1 - random())) * Math.cos(2 * Math.PI * random());
  return addWorkingMs(calendar, sentAt, 3 * HOUR_MS * Math.exp(0.9 * normal)) ?? sentAt + DAY_MS;
}

const hashOf = (random: () => number): string => Array.from({ length: 16 }, () => between(random, 0, 15).toString(16)).join("");

/** Given names and family names alike; invented, in no order. */
const NAMES = ["Ada", "Bo", "Cleo", "Dara", "Emil", "Fia", "Gus", "Hana", "Ivo", "Jun", "Kim", "Lou", "Mika", "Noa", "Ola", "Pim", "Quin", "Ray", "Sol", "Tove", "Uma", "Vito", "Wen", "Xia", "Yuki", "Zoe"] as const;
