import "server-only";
import { spawn } from "node:child_process";
import { constants, setPriority } from "node:os";
import { join } from "node:path";

/**
 * Runs a command of ours in a process of its own, after everybody else's turn on the machine, and gives its exit
 * code. It says nothing here, and ends with this process.
 */
export async function runCommand(file: string, args: readonly string[]): Promise<number> {
  const root = process.cwd();
  const child = spawn(process.execPath, ["--import", join(root, "lib/cli/runner.mjs"), join(root, "lib/cli", file), ...args], { stdio: "ignore" });
  const end = (): void => void child.kill();
  process.once("exit", end);
  if (child.pid !== undefined) lower(child.pid);
  const code = await new Promise<number>((resolve) => {
    child.once("error", () => resolve(1));
    child.once("close", (ended) => resolve(ended ?? 1));
  });
  process.off("exit", end);
  return code;
}

function lower(pid: number): void {
  try {
    setPriority(pid, constants.priority.PRIORITY_LOW);
  } catch {
    // Ended already, or not ours to lower: it runs as it is.
  }
}
