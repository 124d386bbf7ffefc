import { spawn, type ChildProcess } from "node:child_process";
import { fileURLToPath } from "node:url";

const root = fileURLToPath(new URL("..", import.meta.url));

export type OwnServer = { readonly process: ChildProcess; readonly ended: Promise<{ code: number | null; out: string; err: string }>; readonly ready: Promise<boolean> };

/** The app started with settings of a test's own. `ready` is false when it ended before serving. */
export function startOwn(env: Record<string, string>, command = process.execPath, args: readonly string[] = ["lib/cli/start.mjs"], cwd = root): OwnServer {
  const child = spawn(command, args, { cwd, env: { ...process.env, ...env }, stdio: ["ignore", "pipe", "pipe"] });
  let out = "";
  let err = "";
  const ready = new Promise<boolean>((resolve) => {
    child.stdout.setEncoding("utf8").on("data", (text) => {
      out += text;
      if (out.includes("\n")) resolve(true);
    });
    child.stderr.setEncoding("utf8").on("data", (text) => (err += text));
    child.once("close", () => resolve(false));
  });
  const ended = new Promise<{ code: number | null; out: string; err: string }>((resolve) => {
    child.once("close", (code) => resolve({ code, out, err }));
  });
  return { process: child, ended, ready };
}
