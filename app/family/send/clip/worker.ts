import { coveredClip, mayCover } from "@/app/family/send/clip/cover-clip";
import type { Asked, Bare, Replied } from "@/app/family/send/clip/phone-clip";
import { faultOf, NOT_STATED, rewrite } from "@/lib/clips/rewrite.mjs";
import type { ClipContainer } from "@/lib/domain/clip/limits";

Date.now = () => NOT_STATED;

/** The film as it is without a cover: every cover is painted on this one. */
let bare: { readonly kind: ClipContainer; readonly bytes: Uint8Array } | null = null;

async function answer(asked: Asked): Promise<Replied> {
  if (asked.act === "bare") {
    const { made, ...said } = await rewrite(asked.kind, new Uint8Array(asked.bytes));
    bare = { kind: asked.kind, bytes: made };
    const clip: Bare = { kind: asked.kind, bytes: made.buffer };
    return { clip, mayCover: !said.mirroredFlag && await mayCover(asked.kind, made) };
  }
  if (!bare) throw new Error("nothing opened");
  const { kind, bytes } = await coveredClip(bare.kind, bare.bytes, asked.covers, (share) => reply({ share }));
  // By the server's own rules once more, so that it is not sent for nothing.
  return { clip: { kind, bytes: (await rewrite(kind, bytes)).made.buffer }, mayCover: true };
}

const reply = (replied: Replied) => self.postMessage(replied, { transfer: [] });

self.addEventListener("message", (event: MessageEvent<Asked>) => {
  void answer(event.data).then(reply, (error: unknown) => reply({ fault: faultOf(error) }));
});
