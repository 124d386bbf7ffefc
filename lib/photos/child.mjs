/**
 * How every child process that opens untrusted bytes behaves: requests come on standard input one after the
 * other, replies leave on file descriptor 3, as `frames.mjs` describes; past its memory it ends itself, it
 * gives way to the app, and it ends when the app does. It holds no secrets. Standard output and error lead
 * nowhere: libraries write there, and nothing of a photo or a note may.
 */
import { Socket } from "node:net";
import os from "node:os";
import { Worker } from "node:worker_threads";
import { encodeFrame, frameReader } from "./frames.mjs";

/**
 * @param {string} memory as the child was started with, `--memory-mb=400`
 * @param {(request: any, parts: Buffer[]) => Promise<{ header?: object, parts: readonly Uint8Array[] }>} work
 * @param {(error: unknown) => string} faultOf our own name for what went wrong: a library's words may quote the file
 */
export function serveParent(memory, work, faultOf) {
  watchMemory(Number(memory.split("=")[1]) * 1024 * 1024);
  os.setPriority(os.constants.priority.PRIORITY_BELOW_NORMAL);
  // Ctrl-C reaches the whole process group; the app decides when its children go.
  process.on("SIGINT", () => {});
  const replies = new Socket({ fd: 3, readable: false, writable: true });
  const send = (header, parts) => {
    const usage = { rss: process.memoryUsage.rss(), peakRss: process.resourceUsage().maxRSS * 1024 };
    for (const piece of encodeFrame({ ...header, ...usage }, parts)) replies.write(piece);
  };
  const answer = async (request, given) => {
    try {
      const { header, parts } = await work(request, given);
      send({ ok: true, ...header }, parts);
    } catch (error) {
      send({ ok: false, fault: faultOf(error) }, []);
    }
  };
  let queue = Promise.resolve();
  process.stdin.on("data", frameReader((request, parts) => {
    // What a picture took lies outside the heap, where nothing presses to have it back before the next one comes.
    queue = queue.then(() => answer(request, parts)).then(() => globalThis.gc?.());
  }));
  process.stdin.on("end", () => process.exit(0));
}

/** A thread of its own, because decoding, or a container that lies about its sizes, keeps the main one busy for seconds. */
function watchMemory(bytes) {
  const source = `setInterval(() => {
    if (process.memoryUsage.rss() > ${bytes}) process.kill(process.pid, "SIGKILL");
  }, 25);`;
  new Worker(source, { eval: true, resourceLimits: { maxOldGenerationSizeMb: 8 } }).unref();
}
