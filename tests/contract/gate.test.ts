import ts from "typescript";
import { describe, expect, test } from "vitest";
import { filesUnder, parsed, read, valueExports, walk } from "@/tests/contract/sources";

const SOURCES = filesUnder(["app", "lib", "db"], /\.(ts|tsx|mjs)$/);
const ACTION_MAKERS = ["action", "openAction"];
const HANDLER_MAKERS = ["handler", "openHandler", "oneClickHandler", "unreadHandler"];

const isActionFile = (path: string): boolean => /^\s*(?:\/\*[\s\S]*?\*\/\s*|\/\/.*\n\s*)*["']use server["']/.test(read(path));

/** What in a module of actions or handlers did not come from their makers. */
function notMadeBy(path: string, file: ts.SourceFile, makers: readonly string[]): readonly string[] {
  const imported = new Set<string>();
  for (const statement of file.statements) {
    const names = ts.isImportDeclaration(statement) && (statement.moduleSpecifier as ts.StringLiteral).text.startsWith("@/lib/access/")
      ? statement.importClause?.namedBindings : undefined;
    if (names && ts.isNamedImports(names)) for (const { name, propertyName } of names.elements) if (!propertyName) imported.add(name.text);
  }
  return valueExports(file)
    .filter(({ maker }) => maker === null || !makers.includes(maker) || !imported.has(maker))
    .map(({ name }) => `${path}: ${name}`);
}

describe("the gate is the only maker", () => {
  test("of server actions: every export of a module of actions", () => {
    const actions = SOURCES.filter(isActionFile);
    expect(actions.length).toBeGreaterThan(0);
    expect(actions.flatMap((path) => notMadeBy(path, parsed(path), ACTION_MAKERS))).toEqual([]);
  });

  test("of server actions: none is written inside another function", () => {
    const inline: string[] = [];
    for (const path of SOURCES) {
      walk(parsed(path), (node) => {
        if (ts.isBlock(node) && node.statements[0]?.getText().match(/^["']use server["']/)) inline.push(path);
      });
    }
    expect(inline).toEqual([]);
  });

  test("of route handlers: every export of every route.ts", () => {
    const routes = filesUnder(["app"], /(^|\/)route\.tsx?$/);
    expect(routes.length).toBeGreaterThan(0);
    expect(routes.flatMap((path) => notMadeBy(path, parsed(path), HANDLER_MAKERS))).toEqual([]);
  });

  test("the rule itself refuses what it should", () => {
    const look = (text: string) => notMadeBy("x", ts.createSourceFile("x.ts", text, ts.ScriptTarget.Latest, true), ACTION_MAKERS);
    const imported = `import { action } from "@/lib/access/action";\n`;
    expect(look(`${imported}export const send = action("a", b, c);`)).toEqual([]);
    expect(look(`const action = () => {};\nexport const send = action();`)).toEqual(["x: send"]);
    expect(look(`import { other as action } from "@/lib/access/action";\nexport const send = action();`)).toEqual(["x: send"]);
    expect(look(`${imported}export async function send() {}`)).toEqual(["x: send"]);
    expect(look(`${imported}export const send = async () => {};`)).toEqual(["x: send"]);
    expect(look(`${imported}export default action("a", b, c);`)).toEqual(["x: default"]);
    expect(look(`${imported}export { send } from "./other";`)).toHaveLength(1);
    expect(look(`${imported}export type Sent = string;`)).toEqual([]);
  });
});

/**
 * Functions of lib/records that take no grant, and why. They serve other records, inside an act or a
 * read that holds one; pages may call the last group only.
 */
const INSIDE_RECORDS: Readonly<Record<string, string>> = {
  "child-exercises.childExercises": "which exercises a child has, for records that hold a grant",
  "child-exercises.knownExercises": "exercises of the practice, for records that hold a grant",
  "child-exercises.offeredKeys": "which exercises may be confirmed, inside the acts that confirm",
  "exercise-names.naming": "the same words, kept for the rows of one read; for records that hold a grant",
  "exercise-names.writtenWords": "words of a version, for records that hold a grant",
  "names-in.translationRows": "the practice's translations, for records that hold a grant",
  "names-in.namesIn": "takes the actor's practice through exerciseWords: its own words in another language",
  "exercises.exerciseKeys": "the practice's library, for records that hold a grant",
  "exercises.exerciseOf": "the practice's library, for records that hold a grant",
  "exercises.isBuiltIn": "says what ships with the product",
  "exercises.isExerciseKey": "the practice's library, for records that hold a grant",
  "exercises.taughtKeys": "the practice's library, for records that hold a grant",
  "exercises.writtenVersions": "the practice's library, for records that hold a grant",
  "act.act": "the transaction of an act: takes what any grant offers",
  "answer-openings.openedAt": "who had an answer before them, for records that hold a grant",
  "answer-content.checkAnswer": "checks what was typed; reads nothing",
  "answer-content.insertAnswer": "an answer inside another act",
  "answering.readSet": "reads inside another record's transaction",
  "calendar.readCalendar": "the practice's hours for records that hold a grant",
  "timed-sets.sentSets": "sent photo sets and when they were answered, for records that hold a grant",
  "timed-sets.patternsByKey": "patterns of this practice, for records that hold a grant",
  "kind-times.readKindTimes": "answer times of questions and symptom flags, for records that hold a grant",
  "carers.readCarers": "whom to tell, for records that hold a grant",
  "question-threads.questionsOf": "what was asked about one child, for records that hold a grant",
  "questions.measuredWords": "measures what was typed; reads nothing",
  "back-question-reads.askedAbout": "what a family was asked about a photo set, for records that hold a grant",
  "back-question-reads.askedAboutEach": "the same of several sets of one child",
  "back-question-reads.isOpenQuestion": "the condition of which questions still wait for the family",
  "back-question-reads.readAskedTimes": "when photo sets waited on their families, for records that hold a grant",
  "back-question-reads.readAskedTimesIn": "the same for what was sent in a time",
  "waiting.readAsked": "the same for what waits",
  "answer-clock.timing": "a clock over rows that a grant filtered; reads nothing itself",
  "figures-by.keysBy": "names groups; reads nothing",
  "settled-times.readSettled": "answer times that are known for good, for records that hold a grant",
  "settled-times.settleWeeks": "looks through the whole database beside the requests",
  "settled-times.startSettling": "looks through the whole database beside the requests",
  "timed-sets.setsWaiting": "photo sets of this practice, for records that hold a grant",
  "back-questions.endByNewPhoto": "inside the act that sends a photo set, which holds a grant",
  "questions.readOpenQuestions": "what waits for a reply, for records that hold a grant",
  "carers.readCarersOf": "the same for the children of a practice, whose rows its grant filtered",
  "caseload-items.readOpenItems": "items of a practice that may be open, for the caseload's grant",
  "caseload-items.readStoppedItems": "items of a practice that may hold an open stop, for the queue's grant",
  "caseload-stops.readOpenStops": "open stops of a practice, for the caseload's grant",
  "caseload-stops.exercisesIn": "names what was read; reads nothing",
  "caseload-stops.readUnreadSince": "which of them nobody read back, for the caseload's grant",
  "grouped.grouped": "sorts rows into groups; reads nothing itself",
  "in-chunks.inChunks": "cuts a list; reads nothing itself",
  "consent-in-force.isInForce": "what a decision and an age come to; reads nothing",
  "exercises.exerciseVersionsOf": "the practice's library, for records that hold a grant",
  "carers.tellCarers": "notices inside another act",
  "child-facts.own": "the filter by child that every query of a child uses",
  "child-facts.readFacts": "what the go-ahead is computed from",
  "child-facts.readRecord": "what the go-ahead is computed from",
  "child-facts.readSetup": "what the go-ahead is computed from",
  "child-facts.keyOf": "joins two keys; reads nothing",
  "child-facts.readSetupsOf": "set-ups of many children, whose rows a grant filtered",
  "clearances.readOpenSymptomsOf": "open symptoms of a practice, for the queue's grant",
  "consent-in-force.readConsenting": "whose photos may be looked at, of children whose rows a grant filtered",
  "read-backs.isUnreadByAny": "whether a stop was read back, for records that hold a grant",
  "read-once.readOnce": "keeps what was read of a text; reads no database",
  "same-pictures.readSamePictures": "pictures of a practice that may be the same, for the queue's grant",
  "child-facts.setupFrom": "what the go-ahead is computed from",
  "child-facts.readPhotoConsent": "what the go-ahead is computed from",
  "consent-in-force.readConsent": "what the go-ahead is computed from",
  "cut-off.cutOff": "what ends with a person's reach, inside the act that ends it",
  "claims.claimOn": "who is answering, for the queue and the answering desk",
  "clearances.readOpenSymptoms": "open symptoms, for the queue",
  "answer-spans.spansOf": "which parts of clips an answer has repeated, for records that hold a grant",
  "sent-photos.isForFamily": "the condition of which pictures a family may see",
  "sent-photos.isHeldBy": "the condition of which moments an answer holds",
  "clips.clipsOf": "which photos are frames of a clip, for records that hold a grant",
  "played.recordPlayed": "the audit of a playing, for records that hold a grant",
  "voice-notes.attachVoiceNote": "a spoken note inside the act that sends its answer",
  "voice-notes.voicesOf": "spoken notes of one child's answers, for records that hold a grant",
  "in-force.inForce": "the condition of which answers count",
  "in-force.firstAnswer": "the condition of which answer stopped the clock",
  "in-force.newestVersion": "the condition of which version the next builds on",
  "judged.readJudged": "which verdicts count, for records that hold a grant",
  "judged.readJudgedWhere": "the same for lists of a practice, whose rows its grant filtered",
  "judgements.insertVerdicts": "verdicts inside another act",
  "kept-pictures.filesOf": "which files a photo's pictures are, for records that hold a grant",
  "kept-pictures.storePictures": "files before the act that gives them rows",
  "kept-pictures.insertPictures": "rows of pictures inside another act",
  "kept-pictures.replacePictureRows": "rows of pictures inside another act",
  "marked-pictures.makeMarkedPictures": "pictures before the act that stores them",
  "marked-pictures.insertMarkedPicture": "pictures inside another act",
  "marked-pictures.photosWithMarkedPicture": "which photos have one, for records that hold a grant",
  "erased-people.erasePersonLeftOver": "a carer with no link left, inside the act that erases a child",
  "erased-people.forgetMentions": "notices and remembered answers, inside the act that erases what they name",
  "erased-tables.idsIn": "what one child's rows are called, inside the act that erases it",
  "erasing.eraseRows": "an erasure inside another act",
  "erasures.carryOutErasures": "does what was asked for, through the whole database beside the requests",
  "erasing-job.startErasing": "looks through the whole database beside the requests",
  "left-overs.leftOvers": "looks through the whole database beside the requests",
  "left-overs.sweepLeftOvers": "tidies the whole database beside the requests",
  "quarantines.setAsideIn": "how many photos are out of sight, for records that hold a grant",
  "retention.isRetentionDue": "when a practice was last looked through, beside the requests",
  "retention.runRetention": "looks through a practice beside the requests",
  "tell-staff.tellLeads": "notices inside another act",
  "tombstones.readTombstones": "ids and dates of what was erased, for backups",
  "tombstones.applyTombstones": "erases again in a restored folder, before it is served",
  "tombstones.finishErasing": "takes files of erased rows off the disk, after the act and at start",
  "media.eraseUnclaimed": "pictures that no row took up, for records that hold a grant",
  "media.mediaStore": "the store itself, for records that hold a grant",
  "pairs.attachPairs": "pairs inside the act that sends their answer",
  "standing.standingFor": "the standing, for the queue and the acts",
  "read-backs.readOpenReadBacks": "what is still to be read back, for a flag of the queue",
  "standing.childName": "a name, for records that hold a grant",
  "symptoms.insertSetReport": "a report inside the act of sending",
  "symptoms.noticedIn": "reads answers, not the database",
  "sent-drafts.keepSentDraft": "a draft inside the act of sending",
  "sent-drafts.reopenDraft": "a draft inside the act of taking back",
  "sent-drafts.forgetSentDrafts": "tidies the whole database beside the requests",
  "sent-drafts.startForgettingDrafts": "tidies the whole database beside the requests",
  "export-files.exportStore": "the folder of archives; what is in it is read with a grant",
  "export-files.endExports": "what ends with access, consent or a photo, inside the act that ends it",
  "export-files.letGo": "one archive's end, inside an act or beside the requests",
  "export-files.dropParts": "the parts of an archive, inside the act that ends it",
  "export-files.partsOf": "where an archive lies, for records that hold a grant",
  "export-files.readParts": "bytes of what a record found with its grant",
  "export-files.sweepExports": "files without a row, beside the requests",
  "export-making.startExports": "makes beside the requests what was asked for with a grant",
  "export-making.tendExports": "asks for the grant of who asked anew, beside the requests",
  "alarms.startAlarms": "looks at the server beside the requests",
  "alarms.alarmLook": "looks at the server beside the requests",
  "reminders.repeatAlarms": "looks through the whole database beside the requests",
  "reminders.remindOfQuestions": "looks through the whole database beside the requests",
  "reminders.remindOfPhotos": "looks through the whole database beside the requests",
  "reminders.startReminding": "looks through the whole database beside the requests",
  "tell-staff.tellStaff": "notices inside another act",
  "group-sessions.readSession": "a session, for records that hold a grant or the key of an invitation",
  "reminded-today.remindedToday": "who was mailed today, for records that hold a grant",
  "session-invitations.readInvited": "what an invitation's key opens, for records that hold a grant or the actor",
  "session-photos.readAsked": "what became of a photo, for records that hold a grant",
  "session-places.namedExercise": "picks from what was read; reads no database",
  "session-fit.readFit": "whether a session fits a child, for records that hold a grant",
  "session-fit.readFits": "the same of many children, whose rows a grant filtered",
  "session-places.endRequests": "what ends with a person's care, inside the act that ends it",
  "unread-stops.unreadStopIds": "which stops are unread, for records that hold a grant",
  "rotate-key.keyRefused": "whether the practice's key is the one of this folder, asked by lib/cli at the start",
  "rotate-key.rotateKey": "an act of whoever holds the machine, for lib/cli",
  "side-cards.cardSaid": "whose a card is, for records that hold a grant",
  "side-cards.settledByCard": "what a card's finding settles: reads no database",
  "side-cards.needsEye": "whether a therapist has cleared a card, for records that hold a grant",
  "stops.hasUnreadStop": "a flag of the queue",
};
const FOR_PAGES: Readonly<Record<string, string>> = {
  "notice-choices.switchOffByKey": "holds its own proof: the sealed key of a mail, good for this one act",
  "exercise-names.exerciseWords": "takes the actor's practice: names of its own exercises",
  "standing.personName": "takes the actor's practice: who decided, never anybody of another practice",
  "family-home.practiceClock": "takes the actor: when their own practice opens, and what it promises",
  "family-home.practiceFor": "takes the actor: what their own practice is called",
  "family-home.practiceToCall": "the same, for a sentence that says to call it",
  "session-photos.mayBeAsked": "compares what a record read; reads no database",
  "session-photos.mayBeReminded": "compares what a record read; reads no database",
  "session-invitations.invitedTo": "takes the actor and holds its own proof: the key of an invitation of their practice, good for its date alone",
  "families.closedChildrenOf": "takes the actor: whom their own care links show no longer, or not yet",
  "families.childrenOf": "takes the actor: it is how a carer's own children become known",
};
const GRANTS = ["SelfGrant", "PracticeGrant", "FamilyGrant", "ChildGrant", "GrantOf"];

type RecordFunction = { readonly key: string; readonly name: string; readonly takesGrant: boolean };

function recordFunctions(): readonly RecordFunction[] {
  return filesUnder(["lib/records"], /\.ts$/).flatMap((path) =>
    valueExports(parsed(path)).flatMap(({ name, node }) => {
      if (!ts.isFunctionDeclaration(node) && !ts.isArrowFunction(node) && !ts.isFunctionExpression(node)) return [];
      const type = node.parameters[0]?.type;
      const takesGrant = type !== undefined && ts.isTypeReferenceNode(type) && GRANTS.includes(type.typeName.getText());
      const file = path.replace(/^lib\/records\//, "").replace(/\.ts$/, "");
      return [{ key: `${file}.${name}`, name, takesGrant }];
    }),
  );
}

describe("records", () => {
  test("every function takes a grant first, or is named here with its reason", () => {
    const without = recordFunctions().filter(({ takesGrant }) => !takesGrant).map(({ key }) => key);
    expect(without.filter((key) => !(key in INSIDE_RECORDS) && !(key in FOR_PAGES))).toEqual([]);
    expect(recordFunctions().filter(({ takesGrant }) => takesGrant).length).toBeGreaterThan(20);
  });

  test("no name stands here that is gone or has come to take a grant", () => {
    const without = new Set(recordFunctions().filter(({ takesGrant }) => !takesGrant).map(({ key }) => key));
    expect([...Object.keys(INSIDE_RECORDS), ...Object.keys(FOR_PAGES)].filter((key) => !without.has(key))).toEqual([]);
  });

  test("no page, action or handler reaches a function that takes no grant", () => {
    const reached: string[] = [];
    for (const path of filesUnder(["app"], /\.tsx?$/)) {
      for (const statement of parsed(path).statements) {
        if (!ts.isImportDeclaration(statement) || statement.importClause?.isTypeOnly) continue;
        const from = (statement.moduleSpecifier as ts.StringLiteral).text.match(/^@\/lib\/records\/(.+)$/)?.[1];
        const names = statement.importClause?.namedBindings;
        if (!from) continue;
        if (!names || !ts.isNamedImports(names)) reached.push(`${path}: all of ${from}`);
        else for (const { name, propertyName } of names.elements) {
          const key = `${from}.${(propertyName ?? name).text}`;
          if (key in INSIDE_RECORDS) reached.push(`${path}: ${key}`);
        }
      }
    }
    expect(reached).toEqual([]);
  });

  test("no transaction is asynchronous: it would commit before its work is done", () => {
    expect(filesUnder(["lib", "db", "demo-data"], /\.ts$/).filter((path) => /transaction\(\s*async/.test(read(path)))).toEqual([]);
  });

  test("grants are made in one place", () => {
    const minting = filesUnder(["app", "lib"], /\.tsx?$/).filter((path) => /as unknown as (GrantOf|SelfGrant|PracticeGrant|FamilyGrant|ChildGrant)/.test(read(path)));
    expect(minting).toEqual(["lib/access/grant.ts"]);
  });
});
