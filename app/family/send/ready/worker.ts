import { readCodes } from "@/app/family/send/ready/code-wasm";
import { openPhoto, renderPhoto } from "@/app/family/send/ready/make-ready";
import type { Asked, Replied } from "@/app/family/send/ready/ready";

let base: Parameters<typeof renderPhoto>[0] | null = null;

async function answer(asked: Asked): Promise<Replied> {
  if (asked.act === "open") {
    const found = await openPhoto(asked.file, readCodes);
    base = found?.base ?? null;
    return { opened: found?.opened ?? null };
  }
  if (!base) throw new Error("nothing opened");
  return { jpeg: await renderPhoto(base, asked.turns, asked.covers) };
}

const reply = (replied: Replied) => self.postMessage(replied, { transfer: [] });

self.addEventListener("message", (event: MessageEvent<Asked>) => {
  void answer(event.data).then(reply, () => reply({ failed: true }));
});
