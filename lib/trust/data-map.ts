import { KEPT, READERS, TABLES, type DataClass } from "@/lib/trust/data-map-tables";

/** A kind of file in the data folder, by what its path from there matches. */
export type FileMap = { readonly place: string; readonly matches: RegExp; readonly class: DataClass; readonly about: string; readonly kept: string; readonly readers: string };

export const FILES: readonly FileMap[] = [
  { place: "media/ab/cd/…", matches: /^media\/[0-9a-f]{2}\/[0-9a-f]{2}\/[0-9a-f]{32}$/, class: "picture", about: "photos in three sizes, marked photos, spoken notes; AES-256-GCM, a key for each file wrapped by the media key; no original is kept", kept: KEPT.photo, readers: "through the app: the child's own people and staff; consent withdrawn, nobody" },
  { place: "bucket", matches: /^bucket(?:\.new)?$/, class: "machinery", about: "only where media lie in a bucket: a random id that ties it to this folder", kept: "as long as the folder", readers: "the server" },
  { place: "media/unfinished/…", matches: /^media\/unfinished\/[0-9a-f]{32}$/, class: "picture", about: "a file being written, already encrypted", kept: "seconds; leftovers go at the next start", readers: "nobody" },
  { place: "exports/ab/cd/…", matches: /^exports\/(?:[0-9a-f]{2}\/[0-9a-f]{2}|unfinished)\/[0-9a-f]{32}$/, class: "health", about: "everything of one child, in parts, for whoever asked for it; encrypted as media are, and in no backup", kept: KEPT.export, readers: "whoever asked for it, with fresh proof" },
  { place: "trueside.db, -wal, -shm", matches: /^trueside\.db(?:-wal|-shm)?$/, class: "health", about: "every table above, not encrypted by itself: the disk has to be", kept: "as its rows; erased rows are overwritten and the log emptied", readers: "whoever holds the machine" },
  { place: "keys/…", matches: /^keys\/(?:mediaKey(?:-before)?(?:-[0-9a-f]{16})?|sessionSecret|signInKey|pushKey|backupKey)$/, class: "sign-in", about: "opens media, signs sessions, seals sign-in, signs pushes, seals backups; 32 bytes each, mode 0600", kept: "as long as the folder; a media key until `npm run rotate-key` has wrapped every file by the next one", readers: "the server, and whoever holds the machine" },
  { place: "key-change", matches: /^\.?key-change$/, class: "machinery", about: "the name of the practice key that a change is on its way to, where keys are kept outside the folder", kept: "until the change is done", readers: "`npm run rotate-key`" },
  { place: "outbox/…", matches: /^outbox\/[\w-]+\.eml(?:\.part)?$/, class: "identity", about: "mails as files, only while SMTP_URL is not set: addresses, codes, links", kept: "until somebody deletes them", readers: "whoever holds the machine" },
  { place: "logs/…", matches: /^logs\/[\w-]+\.log$/, class: "machinery", about: "what the last install, build and start wrote; no names, no words", kept: "until the next start writes over them", readers: "whoever holds the machine" },
  { place: "audit-mark", matches: /^\.?audit-mark$/, class: "machinery", about: "number and hash of the newest audit entry", kept: "written over with each act", readers: "the server" },
  { place: "backup-state.json, check-state.json", matches: /^(?:backup|check)-state\.json(?:\.new)?$/, class: "machinery", about: "when the last backup and check ran and what they found, in numbers", kept: "written over", readers: "the server" },
  { place: "reserve", matches: /^reserve(?:\.new)?$/, class: "machinery", about: "64 MB of noise, given up when the disk is full", kept: "as long as there is room", readers: "nobody" },
  { place: "backup-work/…", matches: /^backup-work\//, class: "health", about: "a copy of the database while a backup is made", kept: "seconds; leftovers go with the next backup", readers: "whoever holds the machine" },
  { place: "kind, demo-seeded, lock, lock.pid", matches: /^(?:\.?kind|demo-seeded|lock|lock-journal|lock\.pid)$/, class: "machinery", about: "what the folder is, and who has it open", kept: "as long as the folder; the lock while served", readers: "the server" },
];

/** What leaves the data folder, and what lies on people's own devices. */
const ELSEWHERE: readonly (readonly [place: string, string, kept: string])[] = [
  ["a bucket, where one is set instead of `media/`", "the same files, sealed before they leave: whoever keeps the bucket sees random ids, lengths and times", "as in `media/`; a bucket that keeps older versions is refused"],
  ["the backup folder", "the database, every file and the keys but the backups' own, sealed as a whole; the list of what was erased", "the newest of seven days and four weeks, none longer than 35 days"],
  ["a family's phone: what waits to be sent", "photos, note, symptoms of a set not yet sent", "until the server has it; signing out asks first, then clears it"],
  ["a family's phone: \"Before you start\"", "today's go-ahead and open points, only when the family said yes", "taken anew on each visit; says go for at most 21 days; cleared at sign-out"],
  ["a family's phone: shared photos", "up to four photos from the gallery", "one day"],
  ["any browser: its cache", "photos and spoken notes that were looked at; shown again only after the server was asked", "until sign-out clears it, or the browser does"],
  ["staff's browser", "a draft answer and a spoken note not yet sent", "until sent; cleared at sign-out"],
  ["mail and push on their way", "one neutral sentence; no name, no word of health. Codes and invitations carry their link", "with the mail provider and the push service, by their own rules"],
];

/** Every table and column as one list. */
export const listedColumns = (): readonly string[] =>
  TABLES.flatMap(({ table, columns }) => columns.flatMap(([, names]) => names.split(" ").map((name) => `${table}.${name}`)));

/** The document. A contract test holds the file to it. */
export function renderDataMap(): string {
  const code = (names: string) => names.split(" ").map((name) => `\`${name}\``).join(" ");
  const rows = TABLES.flatMap(({ table, about, kept, readers, columns }) =>
    columns.map(([kind, names, purpose]) => `| \`${table}\`: ${about} | ${code(names)} | ${kind} | ${purpose} | ${KEPT[kept]} | ${READERS[readers]} |`));
  return [
    "# Data map", "",
    "Every column of the database and every kind of file in the data folder. Written by `npm run data-map` from `lib/trust/data-map-tables.ts` and",
    "`lib/trust/data-map.ts`; `tests/contract/data-map.test.ts` fails on a column that is not listed, or listed and gone. Change the lists, not this page.", "",
    "Classes: **identity** says who somebody is or did something; **health** is health data (GDPR Art. 9); **picture** shows a child or carries a voice; **sign-in** opens a door;",
    "**machinery** is needed to work and says little by itself. A random id beside a health column makes it somebody's all the same.", "",
    "\"Staff\" are the practice's lead and therapists: each of them sees every family of the practice. Whoever holds the machine and the data folder can read all of it.", "",
    "## The database", "", "| table | columns | class | what for | kept how long, what ends it | who reads it |", "|---|---|---|---|---|---|", ...rows, "",
    "## Files in the data folder", "", "| place | class | what | kept how long | who reads it |", "|---|---|---|---|---|",
    ...FILES.map((file) => `| \`${file.place}\` | ${file.class} | ${file.about} | ${file.kept} | ${file.readers} |`), "",
    "## Elsewhere", "", "| place | what | kept how long |", "|---|---|---|", ...ELSEWHERE.map((row) => `| ${row.join(" | ")} |`), "",
  ].join("\n");
}
