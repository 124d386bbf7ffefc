/** npm run data-map: writes lib/trust/data-map.md anew from its lists. */
import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { root } from "@/lib/cli/ready.mjs";
import { renderDataMap } from "@/lib/trust/data-map";

writeFileSync(join(root, "lib/trust/data-map.md"), renderDataMap());
