/**
 * npm run affected -- --person ID-OR-ADDRESS | --session HASH  --since DATE  [--json]
 *
 * After a theft or a wrong sign-in: which families and children somebody's acts touched since then, and which
 * they could have read of. Random ids and no names; the lead sees on the desk whose they are. Changes nothing.
 */
import { parseArgs } from "node:util";
import { Refusal, run } from "./refusal.mjs";
import { readSettings } from "./settings.mjs";
import { refuseEmpty, runCommand } from "./step.mjs";

const USE = "npm run affected -- --person ID-OR-ADDRESS (or --session HASH) --since 2026-03-27T18:00Z [--json]";

await run(async () => {
  const { values, isWhole } = read();
  const since = Date.parse(values.since ?? "");
  if (!isWhole || (values.person === undefined) === (values.session === undefined)) throw new Refusal(USE);
  // A bare local time would mean another instant on another machine.
  if (Number.isNaN(since) || !/^\d{4}-\d\d-\d\d(?:T[\d:.]+(?:Z|[+-]\d\d:\d\d))?$/.test(values.since)) throw new Refusal(`--since is a date, or a time with its zone: ${USE}`);
  const { dataDir } = readSettings(process.env);
  refuseEmpty(dataDir);
  await runCommand("affected-step.ts", [values.person === undefined ? "session" : "person", values.person ?? values.session, String(since), values.json ? "--json" : ""], { DATA_DIR: dataDir });
});

function read() {
  try {
    const { values } = parseArgs({ options: { person: { type: "string" }, session: { type: "string" }, since: { type: "string" }, json: { type: "boolean" } } });
    return { values, isWhole: true };
  } catch {
    return { values: {}, isWhole: false };
  }
}
