import { randomUUID } from "node:crypto";
import type { Cast } from "@/e2e/walk/people";

/** The door's path with the ids of the cast, or with ids of nobody. */
export function pathTo(cast: Cast, route: string, isNobody = false): string {
  const ids: Readonly<Record<string, string>> = { childId: cast.childId, familyId: cast.familyId, photoId: cast.photoId, photoSetId: cast.photoSetId, exerciseKey: cast.exerciseKey, voiceNoteId: cast.voiceNoteId, uploadId: cast.uploadId, questionId: cast.questionId, sessionId: cast.sessionId, exportId: cast.exportId };
  return route.replace(/\[(?:\.\.\.)?(\w+)\]/g, (_whole, name: string) => {
    if (name === "kind") return "320";
    if (name === "icon") return "512.png";
    const id = ids[name];
    if (id === undefined) throw new Error(`the walk knows no ${name} for ${route}`);
    return isNobody ? randomUUID() : id;
  });
}
