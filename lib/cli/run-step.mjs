import { spawn } from "node:child_process";
import { mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { Refusal } from "./refusal.mjs";

const SHOWN_LINES = 60;

/**
 * Runs one step of starting in silence. What it wrote goes to `<logs>/<name>.log`, its standard output
 * too unless `isAnswer` says that it is meant for the caller alone; when the step fails its last lines
 * are shown and the start is refused with `sentence`.
 * @param {{ name: string, command: string, args: readonly string[], env?: NodeJS.ProcessEnv, logs: string, isAnswer?: boolean, sentence: string | ((output: string) => string) }} step
 * @returns {Promise<string>} what it wrote to standard output
 */
export async function runStep({ name, command, args, env = process.env, logs, isAnswer = false, sentence }) {
  const child = spawn(command, args, { env, stdio: ["ignore", "pipe", "pipe"] });
  const stop = (signal) => child.kill(signal);
  process.once("SIGTERM", stop).once("SIGINT", stop);
  let output = "";
  let said = "";
  child.stdout.setEncoding("utf8").on("data", (text) => {
    said += text;
    if (!isAnswer) output += text;
  });
  child.stderr.setEncoding("utf8").on("data", (text) => (output += text));
  const ended = await new Promise((resolve) => {
    child.once("error", (error) => resolve(String(error)));
    child.once("close", (code, signal) => resolve(code ?? signal));
  });
  process.off("SIGTERM", stop).off("SIGINT", stop);
  mkdirSync(logs, { recursive: true, mode: 0o700 });
  writeFileSync(join(logs, `${name}.log`), output, { mode: 0o600 });
  if (ended === 0) return said;
  if (ended === "SIGTERM" || ended === "SIGINT") throw new Refusal("Stopped before serving.");
  process.stderr.write(`${output.split("\n").slice(-SHOWN_LINES).join("\n")}\n`);
  throw new Refusal(typeof sentence === "function" ? sentence(output) : sentence);
}
