import "server-only";
import { database } from "@/db/client";
import { practices } from "@/db/schema/practice";
import { runEvery } from "@/lib/jobs/run-every";
import { carryOutErasures } from "@/lib/records/erasures";
import { mediaStore } from "@/lib/records/media";
import { isRetentionDue, runRetention } from "@/lib/records/retention";
import { finishErasing } from "@/lib/records/tombstones";

const LOOK_MS = 60_000;

/** Looks every minute for erasures whose time has come, and once a day for photos that are too old. */
export function startErasing(): void {
  // A log that a reader held when something was erased is emptied later.
  let isFinished = false;
  runEvery("erasing", LOOK_MS, async (now) => {
    const [db, store] = [database(), mediaStore()];
    let done = await carryOutErasures(db, store, now);
    for (const { id } of db.select({ id: practices.id }).from(practices).all()) {
      if (!isRetentionDue(db, id, now)) continue;
      await runRetention(db, store, id, now);
      done += 1;
    }
    if (done > 0 || !isFinished) isFinished = await finishErasing(db, store);
  });
}
