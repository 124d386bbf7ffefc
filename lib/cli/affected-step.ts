/** What `npm run affected` does: says whom it concerns, a line each. Exits with 1 when the suspect is not known here. */
import { join } from "node:path";
import { dataDir, openToRead } from "@/db/client";
import { affectedBy } from "@/lib/audit/affected";
import { affectedInWords } from "@/lib/cli/affected-said";

const [kind, whose = "", since, form] = process.argv.slice(2);
const client = openToRead(join(dataDir(), "trueside.db"));
const affected = affectedBy(client, kind === "person" ? { person: whose } : { sessionHash: whose }, Number(since));
client.close();
if (form === "--json") process.stdout.write(`${JSON.stringify(affected)}\n`);
else process.stdout.write(`${affectedInWords(affected).join("\n")}\n`);
if (affected.personId === null) process.exitCode = 1;
