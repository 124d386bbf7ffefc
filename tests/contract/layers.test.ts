import { spawnSync } from "node:child_process";
import { mkdirSync, mkdtempSync, rmSync, symlinkSync, copyFileSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { afterAll, beforeAll, expect, test } from "vitest";
import { root } from "@/tests/contract/sources";

/** A line in a place, and whether the folder rules let it stand there. */
const PROBES: readonly (readonly [place: string, line: string, isAllowed: boolean])[] = [
  ["app/desk/page.tsx", `export { database } from "@/db/client";`, false],
  ["app/desk/page.tsx", `export { children } from "@/db/schema/care";`, false],
  ["app/desk/page.tsx", `export { eq } from "drizzle-orm";`, false],
  ["app/desk/page.tsx", `export { default } from "better-sqlite3";`, false],
  ["app/desk/page.tsx", `export { FAMILIES } from "@/demo-data/scenario";`, false],
  ["app/desk/page.tsx", `export { readSettings } from "@/lib/cli/settings.mjs";`, false],
  ["app/desk/page.tsx", `export { queueOf } from "@/lib/records/queue";`, true],
  ["app/desk/deep/page.tsx", `export { x } from "../page";`, false],
  ["app/desk/deep/er/page.tsx", `export { x } from "../../page";`, false],
  ["app/ui/box.tsx", `export { queueOf } from "@/lib/records/queue";`, false],
  ["app/ui/box.tsx", `export { signedIn } from "@/lib/access/session";`, false],
  ["app/ui/box.tsx", `export { z } from "zod";`, false],
  ["app/ui/box.tsx", `export { opposite } from "@/lib/domain/sides";`, true],
  ["lib/domain/curve/x.ts", `export { readFileSync } from "node:fs";`, false],
  ["lib/domain/curve/x.ts", `export { useState } from "react";`, false],
  ["lib/domain/curve/x.ts", `export { database } from "@/db/client";`, false],
  ["lib/domain/curve/x.ts", `export { Button } from "@/app/ui/button";`, false],
  ["lib/domain/curve/x.ts", `export { say } from "@/lib/messages/say";`, false],
  ["lib/domain/curve/x.ts", `export { queueOf } from "@/lib/records/queue";`, false],
  ["lib/domain/curve/x.ts", `export const zone = () => new Intl.DateTimeFormat();`, false],
  ["lib/domain/curve/x.ts", `export const home = () => process.cwd();`, false],
  ["lib/domain/curve/x.ts", `export { z } from "zod";`, true],
  ["lib/access/x.ts", `export { queueOf } from "@/lib/records/queue";`, false],
  ["lib/access/x.ts", `export { receivePhoto } from "@/lib/photos/receive";`, false],
  ["lib/access/x.ts", `export { database } from "@/db/client";`, true],
  ["lib/records/x.ts", `export { redirect } from "next/navigation";`, false],
  ["lib/records/x.ts", `export { Button } from "@/app/ui/button";`, false],
  ["lib/records/x.ts", `export { database } from "@/db/client";`, true],
  ["lib/voice/x.ts", `export { queueOf } from "@/lib/records/queue";`, false],
  ["lib/clips/x.ts", `export { queueOf } from "@/lib/records/queue";`, false],
  ["lib/photos/x.ts", `export { queueOf } from "@/lib/records/queue";`, false],
  ["lib/media/x.ts", `export { queueOf } from "@/lib/records/queue";`, false],
  ["lib/backup/x.ts", `export { eraseUnclaimed } from "@/lib/records/media";`, false],
  ["lib/audit/x.ts", `export { headers } from "next/headers";`, false],
  ["lib/trust/x.ts", `export { readFileSync } from "node:fs";`, false],
  ["lib/trust/x.ts", `export { database } from "@/db/client";`, false],
  ["db/x.ts", `export { grant } from "@/lib/access/grant";`, false],
  ["db/x.ts", `export { queueOf } from "@/lib/records/queue";`, false],
  ["db/x.ts", `export { REGIONS } from "@/lib/domain/curve/region";`, true],
];

const place = mkdtempSync(join(tmpdir(), "trueside-layers-"));
let complaints: readonly { filename: string; code: string }[] = [];

beforeAll(() => {
  copyFileSync(join(root, ".oxlintrc.json"), join(place, ".oxlintrc.json"));
  symlinkSync(join(root, "node_modules"), join(place, "node_modules"));
  PROBES.forEach(([path, line], index) => {
    const file = join(place, probeName(path, index));
    mkdirSync(dirname(file), { recursive: true });
    writeFileSync(file, `${line}\n`);
  });
  const lint = spawnSync(process.execPath, [join(root, "node_modules/oxlint/bin/oxlint"), "--format=json"], { cwd: place, encoding: "utf8" });
  complaints = (JSON.parse(lint.stdout) as { diagnostics: { filename: string; code: string }[] }).diagnostics;
});
afterAll(() => rmSync(place, { recursive: true, force: true }));

const probeName = (path: string, index: number): string => path.replace(/(\.\w+)$/, `-${index}$1`);

test.each(PROBES.map((probe, index) => [...probe, index] as const))("%s: %s is allowed: %s", (path, _line, isAllowed, index) => {
  const about = complaints.filter(({ filename, code }) => filename.endsWith(probeName(path, index)) && /no-restricted-(imports|globals)/.test(code));
  expect(about.length === 0).toBe(isAllowed);
});
