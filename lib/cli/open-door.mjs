import { fork } from "node:child_process";
import { Refusal } from "./refusal.mjs";

/**
 * Starts the door as a child of this process, and resolves once it listens. It answers "busy" until `letIn`.
 * @param {{ host: string, port: number, origin: string, trustsProxy: boolean, socket: string }} what
 * @returns {Promise<{ letIn(): void, close(): Promise<void>, lost: Promise<void> }>} `lost`: it ended unasked, and with it every connection
 */
export async function openDoor(what) {
  // No environment: it holds secrets, and the door needs none of them.
  const door = fork(new URL("door.mjs", import.meta.url), [JSON.stringify(what)], { env: {}, execArgv: [], stdio: ["ignore", "ignore", "inherit", "ipc"] });
  let isAsked = false;
  const ended = new Promise((resolve) => door.once("exit", resolve));
  const said = await Promise.race([new Promise((resolve) => door.once("message", resolve)), ended]);
  if (said?.refused) throw new Refusal(said.refused);
  if (!said?.isOpen) throw new Error("the door ended before it listened");
  return {
    letIn: () => void door.send("let in", ignoring),
    close() {
      isAsked = true;
      door.send("end", ignoring);
      return ended;
    },
    lost: new Promise((resolve) => void ended.then(() => isAsked || resolve())),
  };
}

/** It is gone already, which `ended` says. */
const ignoring = () => {};
