/** What `npm run verify` does: says what it found in the data folder, and exits with 1 when that is anything. */
import { dataDir } from "@/db/client";
import { checkFolder, type Checked, type Found } from "@/lib/backup/check-folder";
import { writeCheckState } from "@/lib/backup/state";
import { run } from "@/lib/cli/refusal.mjs";
import { inWords, orPlaceSaid } from "@/lib/cli/said";

const HISTORY: readonly Found[] = ["audit-broken", "history-shorter", "history-other"];

const [form] = process.argv.slice(2);
const now = Date.now();
await run(async () => say(await orPlaceSaid(() => checkFolder(dataDir(), now))));

function say(checked: Checked): void {
  if (form === "--kept") writeCheckState(dataDir(), { at: now, findings: checked.findings.length, isHistoryBroken: checked.findings.some(({ found }) => HISTORY.includes(found)) });
  else if (form === "--json") process.stdout.write(`${JSON.stringify({ ok: checked.findings.length === 0, ...checked })}\n`);
  else process.stdout.write(`${inWords(checked).join("\n")}\n`);
  if (checked.findings.length > 0) process.exitCode = 1;
}
