import { randomInt } from "node:crypto";
import { createServer } from "node:net";

/** Below those that systems give to connections going out (Linux: from 32768): a browser beside this would take one of them before its server does. */
const [FIRST, END] = [20_000, 32_000];

/** A port that nobody listens on at this moment. */
export async function freePort(): Promise<number> {
  const port = randomInt(FIRST, END);
  return (await isFree(port)) ? port : freePort();
}

function isFree(port: number): Promise<boolean> {
  return new Promise((resolve, reject) => {
    const probe = createServer();
    probe.once("error", (error: NodeJS.ErrnoException) => (error.code === "EADDRINUSE" ? resolve(false) : reject(error)));
    probe.listen(port, "127.0.0.1", () => probe.close(() => resolve(true)));
  });
}
