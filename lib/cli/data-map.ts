/** npm run data-map: writes lib/trust/data-map.md anew from its lists, and lib/trust/parts.md from the lockfile. */
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { root } from "@/lib/cli/ready.mjs";
import { renderDataMap } from "@/lib/trust/data-map";
import { renderParts, type Lockfile } from "@/lib/trust/parts";

writeFileSync(join(root, "lib/trust/data-map.md"), renderDataMap());
const lock = JSON.parse(readFileSync(join(root, "package-lock.json"), "utf8")) as Lockfile; // npm's own form, version 3
writeFileSync(join(root, "lib/trust/parts.md"), renderParts(lock));
