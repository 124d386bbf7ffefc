import { CLIP_FAULTS, type ClipFault } from "@/lib/domain/clip/faults";
import type { ClipContainer } from "@/lib/domain/clip/limits";
import type { ProblemCode } from "@/lib/domain/problem";
import type { Cover } from "@/lib/domain/photo/cover";

export type Asked =
  | { readonly act: "bare"; readonly kind: ClipContainer; readonly bytes: ArrayBuffer }
  | { readonly act: "cover"; readonly covers: readonly Cover[] };
/** A film in a container that says nothing else, without sound. */
export type Bare = { readonly kind: ClipContainer; readonly bytes: ArrayBuffer };
export type Replied = { readonly share: number } | { readonly clip: Bare; readonly mayCover: boolean } | { readonly fault: ClipFault };

/** Without a word for this long, a worker counts as stuck; a film that is written anew tells of each frame. */
const PATIENCE_MS = 45_000;

export type PhoneClip = {
  readonly clip: Bare;
  /** Whether parts of it can be painted over here. */
  readonly mayCover: boolean;
  /** The whole clip with these parts painted over. Rejects where that did not succeed: then nothing of it may go. */
  readonly covered: (covers: readonly Cover[], progress: (share: number) => void) => Promise<Bare>;
  readonly close: () => void;
};

/**
 * The clip without its sound and without what its phone wrote into it, made in a worker that is fetched only now. A code: what the
 * server would refuse it for. Null where this browser cannot; the server does all this anyway.
 */
export async function phoneClip(kind: ClipContainer, bytes: ArrayBuffer): Promise<PhoneClip | ProblemCode | null> {
  if (typeof Worker !== "function") return null;
  const worker = new Worker(new URL("./worker.ts", import.meta.url), { type: "module" });
  const close = () => worker.terminate();
  const replied = await asked(worker, { act: "bare", kind, bytes }, () => undefined).catch(() => null);
  if (replied && "clip" in replied) {
    // One question at a time: answers say nothing of which they belong to.
    let before: Promise<unknown> = Promise.resolve();
    const covered: PhoneClip["covered"] = async (covers, progress) => {
      const told = before.then(() => asked(worker, { act: "cover", covers }, progress));
      before = told.catch(() => undefined);
      const made = await told;
      if ("clip" in made) return made.clip;
      throw new Error("not covered");
    };
    return { ...replied, covered, close };
  }
  close();
  // "Damaged" is whatever the worker did not understand: the server may, and says so if it does not.
  return replied && replied.fault !== "damaged" ? CLIP_FAULTS[replied.fault] : null;
}

function asked(worker: Worker, question: Asked, progress: (share: number) => void): Promise<Exclude<Replied, { readonly share: number }>> {
  return new Promise((resolve, reject) => {
    const ended = new AbortController();
    let clock = 0;
    const end = (settle: () => void) => {
      clearTimeout(clock);
      ended.abort();
      settle();
    };
    const wait = () => {
      clearTimeout(clock);
      clock = window.setTimeout(() => end(() => reject(new Error("stuck"))), PATIENCE_MS);
    };
    worker.addEventListener("message", ({ data }: MessageEvent<Replied>) => {
      if ("share" in data) {
        wait();
        progress(data.share);
      } else end(() => resolve(data));
    }, { signal: ended.signal });
    worker.addEventListener("error", () => end(() => reject(new Error("no worker"))), { signal: ended.signal });
    wait();
    worker.postMessage(question, []);
  });
}
