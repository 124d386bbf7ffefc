import { patternOf } from "@/lib/domain/curve/record";
import { resolve } from "@/lib/domain/setup/resolve";
import { sidesKey } from "@/lib/domain/setup/setup-sides";
import { SIDE_LYING } from "@/lib/domain/setup/side-lying";
import { RECORD } from "@/tests/domain/curve-record-scene";

const resolution = resolve(SIDE_LYING, RECORD);
if (resolution.coverage === "not-covered") throw new Error("the record must be covered");

/** The common double pattern's set-up as its rows hold it, and the items that a photo of the position can show. */
export const RULED = {
  record: JSON.stringify(RECORD), patternKey: patternOf(RECORD).key, resolution: JSON.stringify(resolution), sidesKey: sidesKey(resolution.setup),
  items: resolution.items.filter((item) => item.phase === "position"),
} as const;
