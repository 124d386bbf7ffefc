import { spawn, type ChildProcess } from "node:child_process";
import { join } from "node:path";
import { Socket } from "node:net";
import type { Readable } from "node:stream";
import { encodeFrame, frameReader } from "@/lib/photos/frames.mjs";

/** `photos` reads what families send; `marks` only our own JPEG and our own drawing; `voice` what a therapist recorded; `clips` what a family filmed. */
export type DecoderMode = "photos" | "marks" | "voice" | "clips";

const FILES: Readonly<Record<DecoderMode, readonly [string, string]>> = {
  photos: ["photos", "decoder.mjs"],
  marks: ["photos", "decoder.mjs"],
  voice: ["voice", "remuxer.mjs"],
  clips: ["clips", "remuxer.mjs"],
};

export type DecoderRequest = {
  readonly header: { readonly operation: string } & Readonly<Record<string, unknown>>;
  readonly parts: readonly Uint8Array[];
};

export type DecoderReply = { readonly header: Readonly<Record<string, unknown>>; readonly parts: readonly Buffer[] };

/** The child ended, was ended, or broke the format before it replied. */
export class DecoderStopped extends Error {}

type Waiting = { resolve: (reply: DecoderReply) => void; reject: (error: DecoderStopped) => void };

/** One decoder process with at most one job in hand, so that ending it costs one photo. */
export class DecoderChild {
  readonly #process: ChildProcess;
  readonly #pipes: readonly Socket[];
  #waiting: Waiting | null = null;
  #isGone = false;
  readonly gone: Promise<void>;

  constructor(mode: DecoderMode, memoryLimitMb: number) {
    // Found from where the app was started: a bundle's own place says nothing about the source tree.
    const file = join(/* turbopackIgnore: true */ process.cwd(), "lib", ...FILES[mode]);
    const args = ["--max-old-space-size=256", "--expose-gc", file, mode, `--memory-mb=${memoryLimitMb}`];
    this.#process = spawn(process.execPath, args, {
      stdio: ["pipe", "ignore", "ignore", "pipe"],
      // None of the app's secrets; and the library's own switch against loaders it does not trust.
      env: {
        NODE_ENV: "production",
        // glibc would keep a heap for each thread, and give back to the system of none what lies under something small: one heap,
        // and what has the size of a picture beside it.
        MALLOC_ARENA_MAX: "1",
        MALLOC_MMAP_THRESHOLD_: String(4 * 1024 * 1024),
        ...keepFromEnv("SystemRoot", "LD_LIBRARY_PATH", "FONTCONFIG_PATH"),
        ...(mode === "photos" ? { VIPS_BLOCK_UNTRUSTED: "1" } : {}),
      },
    });
    const replies = this.#process.stdio[3] as Readable; // a "pipe" above is always a readable here
    const read = frameReader((header, parts) => this.#deliver(header, parts));
    replies.on("data", (chunk: Buffer) => {
      try {
        read(chunk);
      } catch {
        this.kill();
      }
    });
    this.#process.stdin?.on("error", () => this.kill());
    this.#pipes = [this.#process.stdin, replies].filter((pipe) => pipe instanceof Socket);
    this.gone = new Promise((resolve) => {
      const leave = () => {
        this.#isGone = true;
        this.#waiting?.reject(new DecoderStopped());
        this.#waiting = null;
        resolve();
      };
      this.#process.once("exit", leave);
      this.#process.once("error", leave);
    });
    this.#hold(false);
  }

  get pid(): number | undefined {
    return this.#process.pid;
  }

  get isGone(): boolean {
    return this.#isGone;
  }

  /** Rejects with `DecoderStopped` alone; a fault in the photo is a reply. */
  run(request: DecoderRequest): Promise<DecoderReply> {
    return new Promise((resolve, reject) => {
      if (this.#isGone || this.#waiting) {
        reject(new DecoderStopped());
        return;
      }
      this.#waiting = { resolve, reject };
      this.#hold(true);
      for (const piece of encodeFrame(request.header, request.parts)) this.#process.stdin?.write(piece);
    });
  }

  kill(): void {
    // Whoever waits for it to be gone must not be left waiting by an emptied event loop.
    this.#process.ref();
    this.#process.kill("SIGKILL");
  }

  #deliver(header: Record<string, unknown>, parts: Buffer[]): void {
    const waiting = this.#waiting;
    this.#waiting = null;
    this.#hold(false);
    waiting?.resolve({ header, parts });
  }

  /** An idle decoder does not keep a finished command or test alive. */
  #hold(isBusy: boolean): void {
    for (const handle of [this.#process, ...this.#pipes]) {
      if (isBusy) handle.ref();
      else handle.unref();
    }
  }
}

function keepFromEnv(...names: readonly string[]): Record<string, string> {
  return Object.fromEntries(names.flatMap((name) => (process.env[name] ? [[name, process.env[name]]] : [])));
}
