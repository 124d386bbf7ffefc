import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { serveApp } from "./app-server.mjs";
import { openDoor } from "./open-door.mjs";
import { Refusal } from "./refusal.mjs";

/** The shortest that a system allows (macOS); Linux has four more. */
const LONGEST_SOCKET = 103;

/**
 * Serves the built app until `stop` is called: this process answers, and the door, a child of it, listens on the settings' host and port.
 * @param {{ root: string, settings: import("./settings.mjs").Settings }} what
 * @returns {Promise<{ stop(): Promise<void>, lost: Promise<void> }>} `stop` finishes the work in hand, up to `TIME.drain`; `lost`: the door is gone unasked
 */
export async function serve({ root, settings: { host, port, publicUrl, trustsProxy } }) {
  const socket = makePlace();
  // The port first: a busy one should be said before the app is loaded.
  const door = await openDoor({ host, port, origin: publicUrl.origin, trustsProxy, socket });
  const app = await serveApp({ root, publicUrl, socket });
  door.letIn();
  return {
    lost: door.lost,
    async stop() {
      await door.close();
      await app.stop();
    },
  };
}

/**
 * Where the app listens for the door: a folder that this account alone can open (0700), as whoever reaches the socket is believed. Not the data folder: its path may be too long for
 * a socket, its disk may know none, and nothing of ours is left in it by a killed process.
 */
function makePlace() {
  const folder = mkdtempSync(join(tmpdir(), "trueside-"));
  process.once("exit", () => rmSync(folder, { recursive: true, force: true }));
  const socket = join(folder, "app");
  if (Buffer.byteLength(socket) > LONGEST_SOCKET) throw new Refusal(`${tmpdir()} is too long a path for a socket: set TMPDIR to a shorter one, such as /tmp.`);
  return socket;
}
