import ts from "typescript";
import { describe, expect, test } from "vitest";
import { filesUnder, parsed, read, valueExports, walk } from "@/tests/contract/sources";

const SOURCES = filesUnder(["app", "lib", "db"], /\.(ts|tsx|mjs)$/);
const ACTION_MAKERS = ["action", "openAction"];
const HANDLER_MAKERS = ["handler", "openHandler"];

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
  "act.act": "the transaction of an act: takes what any grant offers",
  "answering.readSet": "reads inside another record's transaction",
  "calendar.readCalendar": "the practice's hours for records that hold a grant",
  "carers.readCarers": "whom to tell, for records that hold a grant",
  "carers.tellCarers": "notices inside another act",
  "child-facts.own": "the filter by child that every query of a child uses",
  "child-facts.readFacts": "what the go-ahead is computed from",
  "child-facts.readRecord": "what the go-ahead is computed from",
  "child-facts.readSetup": "what the go-ahead is computed from",
  "child-facts.readPhotoConsent": "what the go-ahead is computed from",
  "claims.claimOn": "who is answering, for the queue and the answering desk",
  "clearances.readOpenSymptoms": "open symptoms, for the queue",
  "judgements.insertVerdicts": "verdicts inside another act",
  "marked-pictures.makeMarkedPictures": "pictures before the act that stores them",
  "marked-pictures.insertMarkedPicture": "pictures inside another act",
  "media.mediaStore": "the store itself, for records that hold a grant",
  "standing.standingFor": "the standing, for the queue and the acts",
  "read-backs.readOpenReadBacks": "what is still to be read back, for a flag of the queue",
  "standing.childName": "a name, for records that hold a grant",
  "symptoms.insertSetReport": "a report inside the act of sending",
  "symptoms.noticedIn": "reads answers, not the database",
  "tell-staff.tellStaff": "notices inside another act",
  "stops.hasUnreadStop": "a flag of the queue",
};
const FOR_PAGES: Readonly<Record<string, string>> = {
  "exercises.exerciseKeys": "the taught exercises are the same for everyone",
  "exercises.exerciseOf": "the taught exercises are the same for everyone",
  "exercises.isExerciseKey": "the taught exercises are the same for everyone",
  "standing.personName": "takes the actor's practice: who decided, never anybody of another practice",
  "family-home.openingFor": "takes the actor: when their own practice opens",
  "families.childrenOf": "takes the actor: it is how a carer's own children become known",
};
const GRANTS = ["PracticeGrant", "FamilyGrant", "ChildGrant", "GrantOf"];

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
    const minting = filesUnder(["app", "lib"], /\.tsx?$/).filter((path) => /as unknown as (GrantOf|PracticeGrant|FamilyGrant|ChildGrant)/.test(read(path)));
    expect(minting).toEqual(["lib/access/grant.ts"]);
  });
});
