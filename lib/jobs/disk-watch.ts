import "server-only";
import { dataDir, onFullDisk } from "@/db/client";
import { isLow } from "@/lib/domain/upkeep/space";
import { runEvery } from "@/lib/jobs/run-every";
import { giveHalf, keepReserve } from "@/lib/media/reserve";
import { DISK } from "@/lib/media/space";

const LOOK_MS = 30_000;

/** Keeps the reserve, has it given up when a write finds the disk full, and says so when there comes to be too little room, and enough again. */
export function startDiskWatch(): void {
  onFullDisk(giveHalf);
  runEvery("disk-watch", LOOK_MS, diskLook());
}

export function diskLook(): () => Promise<void> {
  let wasLow = false;
  return async () => {
    const space = DISK.space(dataDir());
    if (isLow(space) !== wasLow) {
      wasLow = !wasLow;
      const line = { at: new Date().toISOString(), event: wasLow ? "disk-low" : "disk-well", freeMb: Math.floor(space.freeBytes / 1e6), totalMb: Math.floor(space.totalBytes / 1e6) };
      process.stderr.write(`${JSON.stringify(line)}\n`);
    }
    await keepReserve(dataDir());
  };
}
