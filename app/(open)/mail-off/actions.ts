"use server";

import { z } from "zod";
import { openAction } from "@/lib/access/open-action";
import { ok, refuse } from "@/lib/domain/result";
import { switchOffByKey } from "@/lib/records/notice-choices";

export const switchOffAction = openAction(z.strictObject({ key: z.string().max(400) }), async ({ key }, now) =>
  (await switchOffByKey(key, now)) ? ok({}) : refuse("link-incomplete"));
