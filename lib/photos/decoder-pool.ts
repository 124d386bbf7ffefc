import { ok, refuse, type Result } from "@/lib/domain/result";
import { tally } from "@/lib/jobs/tally.mjs";
import {
  DecoderChild,
  DecoderStopped,
  type DecoderMode,
  type DecoderReply,
  type DecoderRequest,
} from "@/lib/photos/decoder-child";

export type PoolLimits = {
  /** Jobs at the same time, each in a process of its own. */
  readonly size: number;
  /** Jobs that may wait; the next one is refused. */
  readonly waiting: number;
  readonly timeLimitMs: number;
  /** The process ends itself when it holds more. */
  readonly memoryLimitMb: number;
  /** After a job, a process holding more than this is replaced: WebAssembly memory never shrinks. */
  readonly replaceAboveMb: number;
};

const LIMITS: PoolLimits = { size: 2, waiting: 20, timeLimitMs: 20_000, memoryLimitMb: 1200, replaceAboveMb: 500 };

/** A note is 6 MB at most and is never decoded: what needs more time or memory than this is not a note. */
const VOICE_LIMITS: PoolLimits = { ...LIMITS, timeLimitMs: 10_000, memoryLimitMb: 400, replaceAboveMb: 250 };

/** A clip is 60 MB at most and is never decoded; it lies there twice, as it came and as it is kept. */
const CLIP_LIMITS: PoolLimits = { size: 1, waiting: 4, timeLimitMs: 20_000, memoryLimitMb: 600, replaceAboveMb: 250 };

const OF_MODE: Readonly<Record<DecoderMode, PoolLimits>> = { photos: LIMITS, marks: LIMITS, voice: VOICE_LIMITS, clips: CLIP_LIMITS };

/** A fair guess at one job's length, for "try again in n s". */
const USUAL_JOB_SECONDS = 1;

/** Bounded decoding: so many at once, so many waiting, so long, so much memory; past that, refused. */
export class DecoderPool {
  readonly #idle: DecoderChild[] = [];
  readonly #busy = new Set<DecoderChild>();
  readonly #queue: (() => void)[] = [];
  #isClosed = false;
  #running = 0;

  constructor(
    readonly mode: DecoderMode,
    readonly limits: PoolLimits = OF_MODE[mode],
  ) {}

  /** Ids of the processes now at work, so that a test can end one in the middle. */
  get busyPids(): number[] {
    return [...this.#busy].flatMap((child) => child.pid ?? []);
  }

  get isFull(): boolean {
    return this.#running >= this.limits.size && this.#queue.length >= this.limits.waiting;
  }

  /** Refuses with `photo-queue-full` or `photo-decoder-stopped`; a fault in the photo is a reply. */
  async run(request: DecoderRequest): Promise<Result<DecoderReply>> {
    if (this.#isClosed || this.isFull) return this.refuseFull();
    await this.#place();
    try {
      return ok(await this.#runNow(request));
    } catch (error) {
      if (error instanceof DecoderStopped) {
        tally("decoder-stopped");
        return refuse("photo-decoder-stopped");
      }
      throw error;
    } finally {
      this.#passPlaceOn();
    }
  }

  refuseFull() {
    const seconds = Math.max(2, Math.ceil((this.#queue.length / this.limits.size) * USUAL_JOB_SECONDS));
    return refuse("photo-queue-full", { values: { seconds } });
  }

  /** Starts the processes before the first photo needs them. Throws when they do not start. */
  async warm(): Promise<void> {
    const request = { header: { operation: "warm" }, parts: [] };
    const started = await Promise.all(Array.from({ length: this.limits.size }, () => this.run(request)));
    if (started.some((one) => !one.ok)) throw new Error("The photo decoder does not start.");
  }

  /** Ends every process; jobs in hand are refused, later ones too. */
  async close(): Promise<void> {
    this.#isClosed = true;
    const children = [...this.#idle, ...this.#busy];
    for (const child of children) child.kill();
    await Promise.all(children.map((child) => child.gone));
  }

  async #place(): Promise<void> {
    if (this.#running >= this.limits.size) await new Promise<void>((resolve) => this.#queue.push(resolve));
    else this.#running += 1;
  }

  /** The place goes straight to whoever waits, so that no newcomer can slip in between. */
  #passPlaceOn(): void {
    const next = this.#queue.shift();
    if (next) next();
    else this.#running -= 1;
  }

  async #runNow(request: DecoderRequest): Promise<DecoderReply> {
    if (this.#isClosed) throw new DecoderStopped();
    const child = this.#takeChild();
    this.#busy.add(child);
    const clock = setTimeout(() => child.kill(), this.limits.timeLimitMs);
    try {
      const reply = await child.run(request);
      if (Number(reply.header.rss) > this.limits.replaceAboveMb * 1024 * 1024) child.kill();
      else this.#idle.push(child);
      return reply;
    } finally {
      clearTimeout(clock);
      this.#busy.delete(child);
    }
  }

  #takeChild(): DecoderChild {
    for (let child = this.#idle.pop(); child; child = this.#idle.pop()) {
      if (!child.isGone) return child;
    }
    return new DecoderChild(this.mode, this.limits.memoryLimitMb);
  }
}

// One pool a process, whichever of the framework's bundles asks.
const shared = globalThis as typeof globalThis & { truesideDecoders?: Partial<Record<DecoderMode, DecoderPool>> };

export function decoderPool(mode: DecoderMode): DecoderPool {
  shared.truesideDecoders ??= {};
  return (shared.truesideDecoders[mode] ??= new DecoderPool(mode));
}

export async function closeDecoders(): Promise<void> {
  const pools = Object.values(shared.truesideDecoders ?? {});
  shared.truesideDecoders = {};
  await Promise.all(pools.map((pool) => pool.close()));
}
