import type { World } from "@/app/family/queue/pass";
import type { WaitingClip } from "@/lib/domain/sending/entry";
import { outcomeOf, type Outcome } from "@/lib/domain/sending/reply";

/** Small enough that little is sent twice over a line that breaks. */
const PIECE = 1_000_000;
/** Times that the server may say in one pass that it has another part than it was told; more is a fault of its own. */
const MOST_MOVES = 3;

/**
 * A clip in pieces, after the tus protocol 1.0.0. Beginning it again under the same key says how much has arrived, whether the line
 * broke, the app was closed or the answer was lost; nothing counts but the server's own word for it. Done once the server has opened
 * and kept it.
 */
export async function sendClip(
  world: World, { personId, childId, photoId, clip: { key, takenAt, turns } }: { readonly personId: string; readonly childId: string; readonly photoId: string; readonly clip: Pick<WaitingClip, "key" | "takenAt" | "turns"> },
  bytes: ArrayBuffer, progress: (share: number) => void,
): Promise<Outcome> {
  const headers = { "Tus-Resumable": "1.0.0", "Idempotency-Key": key, "X-Person": personId };
  const length = bytes.byteLength;
  // When it was filmed went from the file with its other metadata, before it was kept here; the turn is its photo's.
  const facts = Object.entries({ taken: takenAt, turns }).flatMap(([name, value]) => (value === undefined ? [] : [`${name} ${btoa(String(value))}`]));
  const said = { ...headers, "Upload-Length": String(length), ...(facts.length === 0 ? {} : { "Upload-Metadata": facts.join(",") }) };
  const begin = () => world.ask({ path: `/api/clips/${childId}?photo=${photoId}`, headers: said, body: "" }, () => undefined);
  for (let moves = 0; moves < MOST_MOVES; moves += 1) {
    const begun = await begin();
    if (begun?.status !== 201 || typeof begun.offset !== "number") return failed(outcomeOf(begun));
    let offset = begun.offset;
    let isMoved = false;
    while (offset < length && !isMoved) {
      const [from, body] = [offset, bytes.slice(offset, offset + PIECE)];
      const sent = await world.ask({
        path: `/api/clips/${childId}/${key}`, method: "PATCH", body,
        headers: { ...headers, "Upload-Offset": String(from), "Content-Type": "application/offset+octet-stream" },
      }, (share) => progress((from + share * body.byteLength) / length));
      if (sent?.status === 204 && typeof sent.offset === "number" && sent.offset > from) offset = sent.offset;
      // It has another part than this, or none: a server that was started anew forgets what had not arrived as a whole.
      else if (sent?.status === 409 || sent?.status === 404) isMoved = true;
      else return failed(outcomeOf(sent));
    }
    if (offset >= length) return { kind: "done", photoId: null };
  }
  return { kind: "server" };
}

/** These answers hold no words of ours when all went well: what looks done by its words alone came from somebody between. */
const failed = (outcome: Outcome): Outcome => (outcome.kind === "done" ? { kind: "line" } : outcome);
