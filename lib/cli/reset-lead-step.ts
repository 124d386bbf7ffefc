/** What `npm run reset-lead` does once it holds the folder: writes the lead's new address, or nothing when there is no such lead. */
import { database } from "@/db/client";
import { migrateDatabase } from "@/db/migrate";
import { resetLostLead } from "@/lib/cli/lost-lead";

const db = database();
migrateDatabase(db);
const address = resetLostLead(db, process.argv[2] ?? "", new Date());
if (address) process.stdout.write(`${address}\n`);
db.$client.close();
