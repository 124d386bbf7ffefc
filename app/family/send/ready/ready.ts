import type { Opened } from "@/app/family/send/ready/make-ready";
import type { Cover, QuarterTurns } from "@/lib/domain/photo/cover";

export type Asked =
  | { readonly act: "open"; readonly file: Blob }
  | { readonly act: "render"; readonly turns: QuarterTurns; readonly covers: readonly Cover[] };
export type Replied = { readonly opened: Opened | null } | { readonly jpeg: Uint8Array<ArrayBuffer> } | { readonly failed: true };

/** A photo opened on this phone, off the page's own thread where the browser can. */
export type ReadyPhoto = {
  readonly opened: Opened;
  readonly render: (turns: QuarterTurns, covers: readonly Cover[]) => Promise<Uint8Array<ArrayBuffer>>;
  readonly close: () => void;
};

/** A slow phone needs some seconds for 24 megapixels; after this the original goes up. */
const PATIENCE_MS = 45_000;
const TOO_SLOW = new Error("too slow");
const FAILED = { failed: true } as const;

/** Null when this browser cannot open the photo, for whatever reason: the original goes up then. */
export async function readyPhoto(file: Blob): Promise<ReadyPhoto | null> {
  try {
    return await (typeof Worker === "function" && typeof OffscreenCanvas === "function" ? inWorker(file) : inPage(file));
  } catch {
    return null;
  }
}

async function inWorker(file: Blob): Promise<ReadyPhoto | null> {
  const worker = new Worker(new URL("./worker.ts", import.meta.url), { type: "module" });
  const post = (asked: Asked): Promise<Replied> => new Promise((resolve, reject) => {
    const clock = setTimeout(() => reject(TOO_SLOW), PATIENCE_MS);
    worker.addEventListener("message", ({ data }: MessageEvent<Replied>) => {
      clearTimeout(clock);
      resolve(data);
    }, { once: true });
    worker.addEventListener("error", () => {
      clearTimeout(clock);
      reject(new Error("no worker"));
    }, { once: true });
    worker.postMessage(asked, []);
  });
  // One question at a time: answers say nothing of which they belong to.
  let before: Promise<unknown> = Promise.resolve();
  const ask = (asked: Asked): Promise<Replied> => {
    const told = before.then(() => post(asked));
    before = told.catch(() => undefined);
    return told;
  };
  const close = () => worker.terminate();
  const reply = await ask({ act: "open", file }).catch((error: unknown) => (error === TOO_SLOW ? null : FAILED));
  if (!reply || !("opened" in reply) || !reply.opened) {
    close();
    // A worker that did not come, or broke, says nothing about the photo: the page itself can still take its metadata away.
    return reply && "failed" in reply ? inPage(file) : null;
  }
  const render: ReadyPhoto["render"] = async (turns, covers) => {
    const rendered = await ask({ act: "render", turns, covers });
    if ("jpeg" in rendered) return rendered.jpeg;
    throw new Error("not rendered");
  };
  return { opened: reply.opened, render, close };
}

/** On the page's own thread, without the code reader, which the page's policy does not allow: the server reads the card. */
async function inPage(file: Blob): Promise<ReadyPhoto | null> {
  const { openPhoto, renderPhoto } = await import("@/app/family/send/ready/make-ready");
  const found = await openPhoto(file, async () => []);
  if (!found) return null;
  return { opened: found.opened, render: (turns, covers) => renderPhoto(found.base, turns, covers), close: () => undefined };
}
