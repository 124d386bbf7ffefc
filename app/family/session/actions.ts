"use server";

import { z } from "zod";
import { action } from "@/lib/access/action";
import { ok } from "@/lib/domain/result";
import { askToCome, giveUpPlace } from "@/lib/records/session-places";

export const askToComeAction = action("session.join", z.strictObject({ key: z.string().max(100) }), async (granted, { key }, now) => {
  const asked = await askToCome(granted, key, now);
  return asked.ok ? ok({ goTo: `/family/session?key=${key}` }) : asked;
});

export const giveUpPlaceAction = action("session.join", z.strictObject({ placeId: z.string().max(60) }), async (granted, { placeId }, now) => {
  const given = await giveUpPlace(granted, placeId, now);
  return given.ok ? ok({ goTo: "/family" }) : given;
});
