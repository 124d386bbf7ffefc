import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { fileURLToPath } from "node:url";
import { startOwn } from "@/e2e/own-server";
import { freePort } from "@/e2e/walk/port";
import { runStep } from "@/lib/cli/run-step.mjs";

const root = fileURLToPath(new URL("../..", import.meta.url));
const NEXT = join(root, "node_modules/next/dist/bin/next");

/** A page with one button that counts: the least that a page of this framework with one client island weighs. */
const FILES: Readonly<Record<string, string>> = {
  "package.json": `{ "private": true, "type": "module" }\n`,
  "next.config.mjs": `export default { poweredByHeader: false, turbopack: { root: ${JSON.stringify(root)} } };\n`,
  "app/layout.jsx": `export const dynamic = "force-dynamic";\nexport default function Layout({ children }) {\n  return <html lang="en"><body>{children}</body></html>;\n}\n`,
  "app/page.jsx": `import { Island } from "./island";\nexport default function Page() {\n  return <main><h1>Empty</h1><Island /></main>;\n}\n`,
  "app/island.jsx": `"use client";\nimport { useState } from "react";\nexport function Island() {\n  const [count, setCount] = useState(0);\n  return <button onClick={() => setCount(count + 1)}>{count}</button>;\n}\n`,
};

/**
 * Builds and serves the empty page while `work` runs, with `more` files of the same app beside it. It stands beside the app's own build,
 * where the same packages are found.
 */
export async function withEmptyPage<T>(work: (origin: string, pid: number) => Promise<T>, more: Readonly<Record<string, string>> = {}): Promise<T> {
  mkdirSync(join(root, ".next"), { recursive: true });
  const place = mkdtempSync(join(root, ".next", "empty-page-"));
  const logs = mkdtempSync(join(tmpdir(), "trueside-bench-"));
  try {
    for (const [path, text] of Object.entries({ ...FILES, ...more })) {
      mkdirSync(join(place, path, ".."), { recursive: true });
      writeFileSync(join(place, path), text);
    }
    const env = { ...process.env, NODE_ENV: "production", NEXT_TELEMETRY_DISABLED: "1" } as const;
    await runStep({ name: "empty-page", logs, command: process.execPath, args: [NEXT, "build", place], env, sentence: "The empty page could not be built: the lines above say why." });
    const port = String(await freePort());
    const server = startOwn({ NODE_ENV: "production" }, process.execPath, [NEXT, "start", place, "-p", port, "-H", "127.0.0.1"]);
    try {
      if (!(await server.ready)) throw new Error(`the empty page is not served: ${(await server.ended).err}`);
      return await work(`http://127.0.0.1:${port}`, server.process.pid ?? 0);
    } finally {
      server.process.kill("SIGTERM");
      await server.ended;
    }
  } finally {
    for (const folder of [place, logs]) rmSync(folder, { recursive: true, force: true });
  }
}
