import { execFileSync } from "node:child_process";
import { existsSync, readdirSync, readFileSync } from "node:fs";

type Process = { readonly pid: number; readonly parent: number; readonly command: string };

/** The photo decoders that a server has started. */
export const decodersOf = (server: number): readonly number[] =>
  processes().filter(({ parent, command }) => parent === server && /decoder\.mjs\0? ?photos/.test(command)).map(({ pid }) => pid);

/** The process that takes a server's connections. */
export function doorOf(server: number): number {
  const door = processes().find(({ parent, command }) => parent === server && command.includes("door.mjs"));
  if (!door) throw new Error("the server has no door");
  return door.pid;
}

/** Every process that this one started, and those that these started. */
export function familyOf(pid: number, all = processes()): readonly number[] {
  return all.filter(({ parent }) => parent === pid).flatMap((child) => [child.pid, ...familyOf(child.pid, all)]);
}

/** The processor's time in ms of a process and all it started, those that ended too; steps of 10 ms. NaN where there is no /proc. */
export const processorOf = (pid: number): number => [pid, ...familyOf(pid)].reduce((sum, each) => sum + busyOf(each), 0);

/** proc(5), `stat`: fields 14 to 17, its own time and that of its ended children, in hundredths of a second. */
function busyOf(pid: number): number {
  try {
    const fields = readFileSync(`/proc/${pid}/stat`, "latin1").replace(/^.*\)/s, "").trim().split(" ");
    return fields.slice(11, 15).reduce((sum, ticks) => sum + Number(ticks) * 10, 0);
  } catch {
    return existsSync("/proc/self/stat") ? 0 : Number.NaN;
  }
}

export function isAlive(pid: number): boolean {
  return processes().some((each) => each.pid === pid && each.command.includes("decoder.mjs"));
}

/** Sends a signal; false when the process has gone meanwhile. */
export function signal(pid: number, name: "SIGKILL" | "SIGSTOP"): boolean {
  try {
    return process.kill(pid, name);
  } catch {
    return false;
  }
}

function processes(): readonly Process[] {
  if (!existsSync("/proc/self/stat")) {
    return execFileSync("ps", ["-A", "-o", "pid=,ppid=,args="], { encoding: "utf8" }).split("\n").map((line) => {
      const [pid, parent, ...command] = line.trim().split(/\s+/);
      return { pid: Number(pid), parent: Number(parent), command: command.join(" ") };
    });
  }
  return readdirSync("/proc").filter((name) => /^\d+$/.test(name)).flatMap((name) => {
    try {
      // The name in brackets may hold spaces; the parent is the second field after it.
      const parent = readFileSync(`/proc/${name}/stat`, "latin1").replace(/^.*\)/s, "").trim().split(" ")[1];
      return [{ pid: Number(name), parent: Number(parent), command: readFileSync(`/proc/${name}/cmdline`, "latin1") }];
    } catch {
      return []; // gone between listing and reading
    }
  });
}
