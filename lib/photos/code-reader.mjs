/**
 * Looks for QR codes in a grey picture, in a thread of its own so that a search without an end can be
 * ended. Nothing it does can refuse a photo: a fault, or too long a search, is no code found. One file
 * for both sides: imported it gives `CodeReader`, started as a worker it reads.
 */
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import { fileURLToPath } from "node:url";
import { parentPort, Worker, workerData } from "node:worker_threads";
import { foundCodes, greyMap, READ_OPTIONS } from "./found-codes.mjs";

/** A photo of 12 megapixels takes under a tenth of a second. */
const PATIENCE_MS = 3000;
const IS_WORKER = "trueside code reader";

if (workerData === IS_WORKER) serve();

export class CodeReader {
  #worker = null;
  #patienceMs;

  /** @param {number} patienceMs */
  constructor(patienceMs = PATIENCE_MS) {
    this.#patienceMs = patienceMs;
  }

  /** Begins the thread before the first photo needs it. */
  async start() {
    await this.read({ pixels: Buffer.alloc(64 * 64, 255), width: 64, height: 64 });
  }

  /**
   * @param {{ pixels: Uint8Array, width: number, height: number, channels?: number }} picture one byte a pixel and channel
   * @param {import("zxing-wasm/reader").ReaderOptions} options
   * @returns {Promise<{ codes: { text: string, mirrored: boolean, corners: { x: number, y: number }[] }[], width: number, height: number }>} corners in pixels of that size
   */
  async read(picture, options = READ_OPTIONS) {
    const worker = (this.#worker ??= this.#begin());
    const codes = await new Promise((resolve) => {
      const clock = setTimeout(() => settle(null), this.#patienceMs);
      const settle = (found) => {
        clearTimeout(clock);
        worker.off("message", settle);
        worker.off("exit", gone);
        resolve(found);
      };
      const gone = () => settle(null);
      worker.on("message", settle);
      worker.on("exit", gone);
      const map = greyMap(picture);
      worker.postMessage({ map, options }, [map.buffer]);
    });
    // What is said after its time would be taken for the next photo's answer.
    if (codes === null) await this.#end(worker);
    return { codes: codes ?? [], width: picture.width, height: picture.height };
  }

  #begin() {
    const worker = new Worker(fileURLToPath(import.meta.url), { workerData: IS_WORKER, stdout: true, stderr: true });
    // A thread that fails also exits, and that is listened to.
    worker.on("error", () => {});
    worker.on("exit", () => this.#forget(worker));
    worker.unref();
    return worker;
  }

  async #end(worker) {
    this.#forget(worker);
    await worker.terminate();
  }

  #forget(worker) {
    if (this.#worker === worker) this.#worker = null;
  }
}

async function serve() {
  const require = createRequire(import.meta.url);
  // The library would fetch these bytes from the network when it is not handed them.
  const wasm = readFileSync(require.resolve("zxing-wasm/reader/zxing_reader.wasm"));
  const { prepareZXingModule, readBarcodes } = require("zxing-wasm/reader");
  await prepareZXingModule({ overrides: { wasmBinary: wasm.buffer.slice(wasm.byteOffset, wasm.byteOffset + wasm.length) }, fireImmediately: true });
  parentPort.on("message", async ({ map, options }) => {
    try {
      parentPort.postMessage(foundCodes(await readBarcodes(map, options)), []);
    } catch {
      parentPort.postMessage(null, []);
    }
    // The decoder's processes have it: each map is megabytes outside the heap, where nothing presses to have it back.
    globalThis.gc?.();
  });
}
