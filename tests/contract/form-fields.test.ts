import { beforeAll, expect, test, vi } from "vitest";
import type { z } from "zod";
import { filesUnder, read, root } from "@/tests/contract/sources";

// ASVS 5.0, 15.3.3 (mass assignment): a request sets only the fields that its act is for. OWASP Mass Assignment Cheat Sheet.

type Taken = { readonly ability: string; readonly schema: z.ZodType };
const made = vi.hoisted(() => ({ forms: [] as { ability: string; schema: unknown }[] }));
vi.mock("@/lib/access/action", async (original) => ({
  ...(await original<object>()),
  action: (ability: string, schema: unknown) => (made.forms.push({ ability, schema }), () => undefined),
}));
vi.mock("@/lib/access/open-action", () => ({ openAction: (schema: unknown) => (made.forms.push({ ability: "of strangers", schema }), () => undefined) }));

/** What the server alone says: whose, who, when, how far, which right. */
const SERVERS_OWN = /^(?:id|practiceId|familyId|childId|personId|user|userId|author|status|state|isAdmin|isDisabled|once|hash|sha256|provedAt|mailProvedAt|__proto__|constructor|prototype|.*By|(?!lookAt).*At)$/;
/** A form that says such a thing because that is what it is for. */
const MEANT: Readonly<Record<string, readonly string[]>> = {
  // Which row the act is about; it is looked up within what the grant reaches.
  "cues.write": ["id"],
  "practice.settings": ["id"],
  "family.invite": ["personId"],
  "staff.manage": ["personId"],
};
/** Forms whose names of fields depend on an exercise's items, photos or days; what is read of them is read by name. */
const BY_NAME = ["answer.write", "seen-live.record", "curve-record.write", "setup.confirm", "exercise.write", "practice.settings"];

const forms: Taken[] = [];
beforeAll(async () => {
  const files = filesUnder(["app"], /\.tsx?$/).filter((path) => /^["']use server["']/m.test(read(path)));
  for (const path of files) await import(/* @vite-ignore */ `${root}/${path}`);
  forms.push(...(made.forms as Taken[])); // captured from the calls themselves
});

type Def = { readonly type: string; readonly shape?: Record<string, z.ZodType>; readonly catchall?: z.ZodType; readonly [part: string]: unknown };
const defOf = (schema: z.ZodType): Def => schema.def as unknown as Def; // how zod keeps a schema

/** Every object in a schema, however deep it lies. */
function objectsIn(schema: z.ZodType): readonly Def[] {
  const def = defOf(schema);
  const parts = [...Object.values(def.shape ?? {}), ...["innerType", "element", "in", "out", "valueType", "left", "right"].flatMap((name) => def[name] as z.ZodType | undefined ?? []), ...((def["options"] ?? []) as readonly z.ZodType[])]; // parts of a schema are schemas
  return [...(def.type === "object" ? [def] : []), ...parts.filter((part) => typeof part === "object" && "def" in part).flatMap(objectsIn)];
}
const isRecord = (schema: z.ZodType): boolean => defOf(schema).type === "record" || ["innerType", "in"].some((name) => defOf(schema)[name] !== undefined && isRecord(defOf(schema)[name] as z.ZodType));

test("every act takes the fields it is for and no other", () => {
  expect(forms.length).toBeGreaterThan(90);
  const open = forms.filter(({ ability, schema }) => !(BY_NAME.includes(ability) && isRecord(schema)) && (objectsIn(schema).length === 0 || objectsIn(schema).some(({ catchall }) => catchall === undefined || defOf(catchall).type !== "never")));
  expect(open.map(({ ability }) => ability)).toEqual([]);
  expect(BY_NAME.filter((ability) => !forms.some((form) => form.ability === ability && isRecord(form.schema)))).toEqual([]);
});

test("no act takes a field that the server alone says", () => {
  const taken = forms.flatMap(({ ability, schema }) => objectsIn(schema).flatMap(({ shape = {} }) => Object.keys(shape)).filter((name) => SERVERS_OWN.test(name) && !MEANT[ability]?.includes(name)).map((name) => `${ability}: ${name}`));
  expect([...new Set(taken)]).toEqual([]);
});

test("the rule itself refuses what it should", async () => {
  const { z: zod } = await import("zod");
  expect(objectsIn(zod.strictObject({ one: zod.array(zod.object({ two: zod.string() })).default([]) })).map(({ catchall }) => catchall === undefined)).toEqual([false, true]);
  for (const name of ["practiceId", "answeredBy", "sentAt", "status", "userId", "id"]) expect(name).toMatch(SERVERS_OWN);
  for (const name of ["note", "reason", "version", "typedName"]) expect(name).not.toMatch(SERVERS_OWN);
});
